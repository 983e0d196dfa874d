package isolation

// Stored is one energy that remains in a machine when its sources are cut. Kind tells which fields count:
// rotation (SpeedRPM, CoastDownS), heat (TempC, MassKg, AreaM2), charge (Volt, ResistanceOhm, CapacitanceUF),
// heat also (AmbientC, ContactS, LimitC), gas (GaugeBar, VolumeL), accumulator (GaugeBar, PrechargeBar, VolumeL of
// gas), spring and weight (Restraint in words), liquid (VolumeL, GaugeBar).
type Stored struct {
	Kind          string  `yaml:"kind" json:"kind"`
	Name          string  `yaml:"name" json:"name,omitempty"`
	SpeedRPM      float64 `yaml:"speed_rpm" json:"speed_rpm,omitempty"`
	CoastDownS    float64 `yaml:"coast_down_s" json:"coast_down_s,omitempty"`
	TempC         float64 `yaml:"temp_c" json:"temp_c,omitempty"`
	MassKg        float64 `yaml:"mass_kg" json:"mass_kg,omitempty"`
	AreaM2        float64 `yaml:"area_m2" json:"area_m2,omitempty"`
	Volt          float64 `yaml:"volt" json:"volt,omitempty"`
	ResistanceOhm float64 `yaml:"resistance_ohm" json:"resistance_ohm,omitempty"`
	CapacitanceUF float64 `yaml:"capacitance_uf" json:"capacitance_uf,omitempty"`
	GaugeBar      float64 `yaml:"gauge_bar" json:"gauge_bar,omitempty"`
	PrechargeBar  float64 `yaml:"precharge_bar" json:"precharge_bar,omitempty"` // gauge, no liquid in it
	AmbientC      float64 `yaml:"ambient_c" json:"ambient_c,omitempty"`         // air about it; 0: not told
	ContactS      float64 `yaml:"contact_s" json:"contact_s,omitempty"`         // how long skin touches it; 0: 10 min
	// heat: the company's own touch limit, as for a glove, and where it stands; 0: that of bare skin
	LimitC       float64 `yaml:"limit_c" json:"limit_c,omitempty"`
	LimitBecause string  `yaml:"limit_because" json:"limit_because,omitempty"`
	VolumeL      float64 `yaml:"volume_l" json:"volume_l,omitempty"`
	Restraint    string  `yaml:"restraint" json:"restraint,omitempty"`
}

// Kinds of stored energy that a plan adds to those of the plant file: no instrument reads them, somebody looks and
// answers yes or no.
const (
	KindDry   = "dry"     // a drain, vent or bleed that no section's reading proves by itself
	KindShut  = "shut-in" // a part from which nothing lets the pressure out
	KindHeld  = "held"    // an automatic valve that is relied on
	KindEntry = "entry"   // until edition 4: the entry permit and its tested atmosphere
	// what a kind of work asks for beside the isolation: see WorkRow
	KindMeasure = "measure"
)

// IsSeen reports whether a stored energy is answered with yes or no.
func (s Stored) IsSeen() bool {
	return s.Kind == KindDry || s.Kind == KindShut || s.Kind == KindHeld || s.Kind == KindEntry || s.Kind == KindMeasure
}

// StoredCheck is one stored energy of the machine with what the program expects of it and what must be read.
type StoredCheck struct {
	ID       string  `json:"id"`                // "rotation", "heat-2": unique in the plan
	Machine  string  `json:"machine,omitempty"` // that holds it; "" for what the plan adds
	Stored   Stored  `json:"stored"`
	Name     string  `json:"name"`
	Quantity string  `json:"quantity"` // what is read, such as "shaft speed"
	Unit     string  `json:"unit"`     // of the reading and the limit: "rpm", "°C", "V", "bar", or "" for yes/no
	Now      float64 `json:"now"`      // figure when the machine stops
	Limit    float64 `json:"limit"`    // a reading at or below opens the gate
	WaitS    float64 `json:"wait_s"`   // predicted time until the limit; a waiting time, never a proof
	Source   string  `json:"source"`   // where the limit comes from
	Words    string  `json:"words"`
}
