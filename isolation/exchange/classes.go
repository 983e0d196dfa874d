package exchange

import (
	"strings"

	"stillwatch/isolation"
)

// What the classes of components are to isolation. The names of the classes are those of the DEXPI P&ID specification
// 1.3 (from memory, the ones of the published example read); what they are to isolation is common practice, no source.
// What opens or shuts by itself is no point and no barrier. A class that stands nowhere here is asked about.
var componentKinds = map[string]isolation.Kind{
	"BallValve": isolation.Valve, "ButterflyValve": isolation.Valve, "GateValve": isolation.Valve,
	"GlobeValve": isolation.Valve, "NeedleValve": isolation.Valve, "PlugValve": isolation.Valve,
	"AngleValve": isolation.Valve, "AngleBallValve": isolation.Valve, "AngleGlobeValve": isolation.Valve,
	"AnglePlugValve": isolation.Valve, "StraightwayValve": isolation.Valve,

	"CheckValve": isolation.CheckValve, "SwingCheckValve": isolation.CheckValve, "GlobeCheckValve": isolation.CheckValve,
	"CustomCheckValve": isolation.CheckValve, "SafetyValveOrFitting": isolation.CheckValve,
	"SpringLoadedGlobeSafetyValve": isolation.CheckValve, "SpringLoadedAngleGlobeSafetyValve": isolation.CheckValve,
	"BreatherValve": isolation.CheckValve, "RuptureDisc": isolation.CheckValve, "SteamTrap": isolation.CheckValve,

	"BlindFlange": isolation.Blank, "LineBlind": isolation.Blank, "PipeFlangeSpade": isolation.Blank,
	"ClosedBlind": isolation.Blank, "OpenBlind": isolation.Blank,

	"PipeTee": isolation.Junction, "PipeReducer": isolation.Junction, "Flange": isolation.Junction,
	"FlangedConnection": isolation.Junction, "PipeFlangeSpacer": isolation.Junction, "PipeCoupling": isolation.Junction,
	"ClampedFlangeCoupling": isolation.Junction, "PipeFitting": isolation.Junction, "Compensator": isolation.Junction,
	"Hose": isolation.Junction, "Strainer": isolation.Junction, "ConicalStrainer": isolation.Junction,
	"SightGlass": isolation.Junction, "IlluminatedSightGlass": isolation.Junction, "Penetration": isolation.Junction,
	"RestrictionOrifice": isolation.Junction, "InLineMixer": isolation.Junction, "Silencer": isolation.Junction,
}

// notPlant are equipment classes inside other equipment that hold nothing of their own.
var notPlant = []string{"Impeller", "Displacer", "TubeBundle", "Agitator", "Screw", "Plate"}

// isPump tells the classes that raise a pressure.
func isPump(class string) bool {
	return strings.HasSuffix(class, "Pump") || strings.HasSuffix(class, "Compressor") ||
		strings.HasSuffix(class, "Blower") || strings.HasSuffix(class, "Fan")
}

// isMotor tells the classes that drive another machine by current.
func isMotor(class string) bool {
	return strings.HasSuffix(class, "Motor") || class == "ElectricGenerator"
}

// isPassive tells the classes that hold only what the pipes around them bring. Of any other equipment it is asked
// whether energy can come out of it: a tank runs out, a boiler steams.
func isPassive(class string) bool {
	return isPump(class) || strings.HasSuffix(class, "HeatExchanger") ||
		strings.HasSuffix(class, "Filter")
}
