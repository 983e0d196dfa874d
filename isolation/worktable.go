package isolation

// Where the measures come from.
const (
	entryWords    = "IMO A.1050(27), form of permit, from memory"
	hotWords      = "UK COSWP, hot work, from memory"
	heightWords   = "UK COSWP, work at height, from memory"
	electricWords = "EN 50110-1, second hand"
	practiceWords = "common practice, no source"
)

// workRows is the table of the kinds of work. HSG250 names the parts of a permit's form, second hand: title, work,
// hazards, precautions, protective equipment, authorisation, acceptance, extension, hand-back, cancellation.
var workRows = []WorkRow{
	{
		Kind: WorkEntry, Title: "Entry into an enclosed space",
		Source:  "IMO A.1050(27), read in part; MSC.581(110), second hand",
		Hazards: []string{"Too little oxygen, or gas, without any sign of it"},
		Precautions: []string{"Nobody goes in alone, and nobody goes in to help without breathing apparatus",
			"Any alarm: everybody comes out at once"},
		Protective: []string{"Gas meter on each person"},
		Measures: []Measure{
			{"ventilated", "The space was ventilated as the company's procedure says, and ventilation goes on", entryWords},
			{"access", "The way in and out is clear, lit and safe", entryWords},
			{"talk", "Voice or radio between inside, entrance and bridge was tried", entryWords},
			{"told", "The officer of the watch and the control room know who goes in and where", entryWords},
			{"meters", "Each person's gas meter was tested", "MSC.581(110), second hand"},
			{"rescue-plan", "Rescue: everybody has heard who calls, who goes in, and how a person is lifted out",
				"MSC.581(110), second hand"},
			{"rescue-air", "Rescue: breathing apparatus stands at the entrance and was tried", entryWords},
			{"rescue-line", "Rescue: harness, line and lifting gear stand at the entrance and fit through it", entryWords},
			{"rescue-aid", "Rescue: stretcher and resuscitator stand ready", entryWords},
		},
		MostHours: 8, Issuer: OfficerIssues, Post: Attendant, Levels: []string{"top", "middle", "bottom"},
	},
	{
		Kind: WorkHot, Title: "Hot work", Source: "UK COSWP and ISGOT, from memory",
		Hazards:     []string{"Fire and explosion, also behind bulkheads and in pipes", "Smouldering long after the work"},
		Precautions: []string{"The fire watch does nothing else, and stays after the work"},
		Protective:  []string{"Flame-resistant clothing, face shield, gloves"},
		Measures: []Measure{
			{"clear", "What burns is more than 11 m away, or covered against sparks", "29 CFR 1910.252(a)(2)(vii), 35 ft, " +
				"from memory"},
			{"behind", "The other side of each bulkhead, deck and pipe at the work was looked at", hotWords},
			{"openings", "Drains, gaps and openings into which sparks could fall are covered", hotWords},
			{"extinguisher", "Extinguisher and charged hose stand at the work", hotWords},
			{"main", "The fire main is under pressure", hotWords},
			{"gear", "Cables, hoses, clamps and flashback arrestors were seen in good order", hotWords},
			{"air", "Fumes are drawn off, and fresh air comes to the work", hotWords},
		},
		MostHours: 12, Master: true, Issuer: OfficerIssues, Post: FireWatch, Levels: []string{"at the work"},
		Inhibits: true,
	},
	{
		Kind: WorkElectrical, Title: "Electrical work up to 1000 V", Source: electricWords,
		Hazards:    []string{"Current from a second supply, a control circuit or a capacitor"},
		Protective: []string{"No metal on hands and neck", "Insulated tools"},
		Measures: []Measure{
			{"drawing", "The drawing was read: every supply, control and heating circuit is on the plan", practiceWords},
			{"screens", "Live parts nearby are covered, or there are none", electricWords},
		},
		Issuer: EitherIssues,
	},
	{
		Kind: WorkHighVoltage, Title: "Electrical work above 1000 V", Source: "UK COSWP, from memory; STCW, from memory",
		Hazards:     []string{"Arc and shock without touching", "Charge that comes back on cables"},
		Precautions: []string{"Test runs only by a sanction for test"},
		Protective:  []string{"Arc-rated clothing and visor for switching and testing", "Rated insulating gloves"},
		Measures: []Measure{
			{"authorised", "Everybody at the work is authorised for high voltage in writing", "STCW, from memory"},
			{"keys", "The keys of locks and earths lie where only the holder of the permit opens", practiceWords},
			{"screens", "Live parts nearby are covered and marked, and the place is fenced off", electricWords},
			{"second", "A second person stands by who can switch off, pull clear and resuscitate", practiceWords},
		},
		MostHours: 24, Issuer: EngineerIssues,
	},
	{
		Kind: WorkLive, Title: "Work on live conductors", Source: "EN 50110-1, second hand; UK COSWP, from memory",
		Hazards:     []string{"Shock and arc: the conductors are live during the work"},
		Precautions: []string{"Only what cannot be done dead, and only that", "One hand where it can be done with one"},
		Protective:  []string{"Insulating gloves of the right class, insulating mat, face shield"},
		Measures: []Measure{
			{"why", "The chief engineer has said why it cannot be done dead", "EN 50110-1, second hand"},
			{"barrier", "Mat, covers and barriers are in place", electricWords},
			{"second", "A second person stands by who can switch off, pull clear and resuscitate", practiceWords},
		},
		MostHours: 4, Master: true, Issuer: EngineerIssues,
	},
	{
		Kind: WorkAloft, Title: "Work aloft", Source: heightWords,
		Hazards:    []string{"Falling, and things that fall", "Radiation, hot gas and noise from what stands above"},
		Protective: []string{"Harness with line, helmet"},
		Measures: []Measure{
			{"radar", "Radar and aerials near the work are off, and a notice hangs at their switches", heightWords},
			{"whistle", "Whistle and funnel gas: the bridge and the engine room know, and a notice hangs", heightWords},
			{"harness", "Harness, line, ladder and staging were seen in good order", heightWords},
			{"below", "The place below is fenced off, and tools are on lanyards", heightWords},
			{"weather", "Wind, sea and ice allow it, and somebody watches them", heightWords},
		},
		MostHours: 12, Issuer: OfficerIssues,
	},
	{
		Kind: WorkOverside, Title: "Work over the side", Source: heightWords,
		Hazards:     []string{"Falling into the water", "Wash, propeller, thruster and discharge"},
		Precautions: []string{"Not under way", "Somebody on deck watches those over the side all the time"},
		Protective:  []string{"Lifejacket, harness with line"},
		Measures: []Measure{
			{"turning", "Propeller and thrusters cannot turn, and a notice hangs at their controls", heightWords},
			{"discharge", "Overboard discharges above the work are shut", heightWords},
			{"rescue", "Lifebuoy with line and a boat stand ready", heightWords},
			{"staging", "Staging, ladder and lines were seen in good order", heightWords},
		},
		MostHours: 12, Issuer: OfficerIssues,
	},
	{
		Kind: WorkPressure, Title: "Pressure test", Source: practiceWords,
		Hazards:     []string{"What bursts throws its parts; stored gas throws them far"},
		Precautions: []string{"Nobody tightens a joint under pressure", "Nobody stands before blanks, plugs and covers"},
		Protective:  []string{"Face shield"},
		Measures: []Measure{
			{"liquid", "The test is made with liquid and the air is vented out, or the plan says why with gas", practiceWords},
			{"relief", "Gauge and relief valve fit the test pressure and were tried", practiceWords},
			{"weak", "What bears less than the test pressure is taken off or blanked", practiceWords},
			{"fenced", "The place is fenced off", practiceWords},
		},
		MostHours: 12, Issuer: EngineerIssues,
	},
}
