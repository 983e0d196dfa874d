package permits_test

import (
	"fmt"
	"time"

	"stillwatch/permits"
)

// A gate answers before the form is filled in: nobody signs on to a permit that does not exist, and a visitor does
// nothing.
func ExampleForesee() {
	visitor := permits.Person{ID: "vera", Name: "Vera", Roles: []permits.Role{permits.Visitor}}
	s := permits.Setting{At: time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC), By: visitor,
		Ship: permits.Ship{People: map[permits.PersonID]permits.Person{visitor.ID: visitor}}}
	no := permits.Foresee(s, permits.Permit{}, permits.KindRequest, permits.Target{})
	fmt.Println(no.What, no.Opens)
	no = permits.Foresee(s, permits.Permit{}, permits.KindSignOn, permits.Target{})
	fmt.Println(no.What)
	// Output:
	// Vera may not request a permit. That is for the technician or chief engineer.
	// There is no such permit.
}
