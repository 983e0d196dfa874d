package permits

import (
	"regexp"
	"slices"
)

// Role is what a person answers for aboard. A person may have several.
type Role string

// The roles. Anybody but a visitor is a competent crew member and may be the second person who checks a lock.
const (
	Officer       Role = "officer of the watch"
	Technician    Role = "technician"
	Crew          Role = "crew member"
	ChiefEngineer Role = "chief engineer"
	Master        Role = "master"
	Visitor       Role = "visitor"
)

// Roles returns every role, the order in which screens list them.
func Roles() []Role { return []Role{Officer, Technician, ChiefEngineer, Master, Crew, Visitor} }

// PersonID names a person for good: short, lower case, unique aboard, never used again for another.
type PersonID string

// Person is somebody aboard as the log knows them. The zero value is nobody. PINs are not here: they never enter the
// log.
type Person struct {
	ID    PersonID `json:"id"`
	Name  string   `json:"name"`
	Rank  string   `json:"rank,omitempty"`
	Roles []Role   `json:"roles"`
	Left  bool     `json:"left,omitempty"` // not on the ship's books any more: signs nothing
}

// Has reports whether the person has one of these roles.
func (p Person) Has(roles ...Role) bool {
	return !p.Left && slices.ContainsFunc(roles, func(r Role) bool { return slices.Contains(p.Roles, r) })
}

// IsCompetent reports whether the person may sign anything at all: aboard and more than a visitor.
func (p Person) IsCompetent() bool { return p.Has(Officer, Technician, Crew, ChiefEngineer, Master) }

// String returns the name with which screens and sentences call the person.
func (p Person) String() string {
	if p.Name == "" {
		return string(p.ID)
	}
	return p.Name
}

// Kinds of what happens to the list of people.
const (
	KindAddPerson    Kind = "add person"
	KindChangePerson Kind = "change person"
	KindSetPIN       Kind = "set pin"
)

// AddPerson puts somebody on the ship's books. The very first must be a chief engineer and needs no signature: nobody
// could give it.
type AddPerson struct {
	Person Person `json:"person"`
}

// Kind says which act this is.
func (AddPerson) Kind() Kind { return KindAddPerson }

func (AddPerson) rule() rule { return signedBy("add a person", ChiefEngineer, Master) }

func (a AddPerson) tell(Names, Entry) string {
	return "put " + a.Person.String() + " on the books as " + rolesInWords(a.Person.Roles)
}

func (a AddPerson) touches(Permit) Touched { return Touched{Person: a.Person.ID} }

var personIDPattern = regexp.MustCompile(`^[a-z][a-z0-9-]{0,23}$`)

func firstPerson(s Setting, a AddPerson) (Entry, error) {
	if !a.Person.Has(ChiefEngineer) {
		return Entry{}, refuse("add person", "Make the chief engineer first.",
			"The first person on the books must be the chief engineer.")
	}
	if err := checkPerson(a.Person); err != nil {
		return Entry{}, err
	}
	return Entry{At: s.At.UTC(), ActID: s.ActID, Kind: a.Kind(), By: a.Person.ID, Act: a}, nil
}

func (a AddPerson) decideShip(s Setting) error {
	if _, taken := s.Ship.People[a.Person.ID]; taken {
		return &Refusal{Kind: Conflict, Gate: "add person", Field: "id", What: "The short name " + string(a.Person.ID) +
			" is taken; it is never given twice."}
	}
	if err := checkPerson(a.Person); err != nil {
		return err
	}
	return tellApart(s, a.Person)
}

func checkPerson(p Person) error {
	if !personIDPattern.MatchString(string(p.ID)) {
		return invalid("id", "The short name must begin with a letter and hold only small letters, digits and hyphens, 24 "+
			"at most.")
	}
	if err := checkName("name", p.Name, 2); err != nil {
		return err
	}
	if err := checkName("rank", p.Rank, 0); err != nil {
		return err
	}
	if len(p.Roles) == 0 {
		return invalid("roles", "At least one role is needed.")
	}
	for _, r := range p.Roles {
		if !slices.Contains(Roles(), r) {
			return invalid("roles", "%q is not a role.", r)
		}
	}
	if slices.Contains(p.Roles, Visitor) && len(p.Roles) > 1 {
		return invalid("roles", "A visitor only reads: no other role goes with it.")
	}
	return nil
}

func (a AddPerson) applyShip(_ Entry, ship *Ship) {
	ship.People = with(ship.People, a.Person.ID, a.Person)
}

// ChangePerson sets somebody's name, rank and roles anew, or says that they have left.
type ChangePerson struct {
	Person Person `json:"person"`
}

// Kind says which act this is.
func (ChangePerson) Kind() Kind { return KindChangePerson }

func (ChangePerson) rule() rule { return signedBy("change a person's roles", ChiefEngineer, Master) }

func (a ChangePerson) tell(Names, Entry) string {
	if a.Person.Left {
		return a.Person.String() + " has left the ship"
	}
	return "changed " + a.Person.String() + ": " + rolesInWords(a.Person.Roles)
}

func (a ChangePerson) touches(Permit) Touched { return Touched{Person: a.Person.ID} }

func (a ChangePerson) decideShip(s Setting) error {
	if _, known := s.Ship.People[a.Person.ID]; !known {
		return &Refusal{Kind: NotFound, Gate: "change person", What: "Nobody aboard has the short name " +
			string(a.Person.ID) + "."}
	}
	if s.Actor().ID == a.Person.ID && !a.Person.Has(ChiefEngineer, Master) {
		return refuse("change person", "Another chief engineer or the master does that.",
			"%s may not give up the last role that puts people on the books.", s.Actor())
	}
	if err := checkPerson(a.Person); err != nil {
		return err
	}
	return tellApart(s, a.Person)
}

func (a ChangePerson) applyShip(_ Entry, ship *Ship) {
	ship.People = with(ship.People, a.Person.ID, a.Person)
}

// SetPIN says that a person's PIN was set; the PIN itself, and its hash, stay out of the log. Who may set whose is the
// register's to look at, since it holds the old one.
type SetPIN struct {
	Person PersonID `json:"person"`
	// of a chief engineer, on the server's own console, by nobody who is signed in
	Rescue bool `json:"rescue,omitempty"`
}

// Kind says which act this is.
func (SetPIN) Kind() Kind { return KindSetPIN }

func (SetPIN) rule() rule { return unsignedBy("set a PIN") }

func (a SetPIN) tell(n Names, _ Entry) string {
	if a.Rescue {
		return "on the server's console: set a new PIN for " + n.Name(a.Person)
	}
	return "set the PIN of " + n.Name(a.Person)
}

func (a SetPIN) touches(Permit) Touched { return Touched{Person: a.Person} }

func (a SetPIN) decideShip(s Setting) error {
	if _, known := s.Ship.People[a.Person]; !known {
		return &Refusal{Kind: NotFound, Gate: "set pin", What: "Nobody aboard has the short name " + string(a.Person) + "."}
	}
	who := s.Actor()
	if of := s.Ship.People[a.Person]; a.Rescue {
		if who.ID != "" || !of.Has(ChiefEngineer) || of.Left {
			return refuse("set pin", "Take the short name of a chief engineer who is aboard.",
				"On the console only a chief engineer gets a new PIN.")
		}
		return nil
	}
	if who.ID != a.Person && !who.Has(ChiefEngineer, Master) {
		return &Refusal{Kind: Forbidden, Gate: "set pin", What: who.String() + " may set only their own PIN."}
	}
	return nil
}

func (a SetPIN) applyShip(e Entry, ship *Ship) {
	ship.PINs = with(ship.PINs, a.Person, PINSet{Entry: e.N, ByOwner: e.By == a.Person})
}
