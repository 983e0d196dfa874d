package screens

import "stillwatch/permits"

// PeoplePage shows who is on the ship's books; the chief engineer and the master change it here.
type PeoplePage struct {
	Frame
	Aboard []permits.Person
	Gone   []permits.Person
	Roles  []permits.Role
	May    bool
}

// HasRole is for the boxes of the form.
func (p PeoplePage) HasRole(who permits.Person, role permits.Role) bool {
	for _, r := range who.Roles {
		if r == role {
			return true
		}
	}
	return false
}
