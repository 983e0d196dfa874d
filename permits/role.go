package permits

import "slices"

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
