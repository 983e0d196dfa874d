package permits

// BeginKey names one thing that a new register needs before its first machine can be isolated.
type BeginKey string

// The things, in the order in which they are done.
const (
	BeginCrew   BeginKey = "crew"
	BeginPINs   BeginKey = "PINs"
	BeginFile   BeginKey = "plant file"
	BeginForce  BeginKey = "plant in force"
	BeginLabels BeginKey = "labels"
	BeginPermit BeginKey = "first permit"
)

// BeginStep is one of them: whether it is done, and what is to be done in words.
type BeginStep struct {
	Key   BeginKey
	Done  bool
	Words string
}

// ToBegin returns what a register needs before its first permit, and what of it is done; nil once a permit was
// requested. Fewer people than it asks for could not take one permit to its end: who proves is not who accepts, a
// second person checks what one fitted, and an officer authorises.
func (s Setting) ToBegin() []BeginStep {
	if s.Next > 1 {
		return nil
	}
	crew := map[Role]int{}
	own := true
	for id, p := range s.Ship.People {
		if p.Left || !p.IsCompetent() {
			continue
		}
		own = own && s.Ship.PINs[id].ByOwner
		for _, r := range []Role{ChiefEngineer, Officer, Technician} {
			if p.Has(r) {
				crew[r]++
			}
		}
	}
	_, proposed := s.Ship.Proposed[PlantFile]
	force := s.Ship.PlantSHA256 != ""
	enough := crew[ChiefEngineer] > 0 && crew[Officer] > 0 && crew[Technician] > 1
	return []BeginStep{
		{BeginCrew, enough, "Add the crew: at least an officer of the watch and two technicians."},
		{BeginPINs, enough && own, "Each of them signs in once and chooses an own PIN."},
		{BeginFile, proposed || force, "Somebody fills in the template workbook and proposes the plant."},
		{BeginForce, force, "The chief engineer reads what it says and puts it in force."},
		{BeginLabels, force && len(s.Ship.Labels) > 0, "Print the labels and fix one to each point."},
		{BeginPermit, false, "Request the first permit: machine, job, and the plan is there."},
	}
}
