package web

import (
	"fmt"

	"stillwatch/permits"
)

// section returns the name of a section to drain; its id where the permit cannot be read.
func (t *teller) section(id permits.PermitID, section string) string {
	for _, d := range t.permitFor(id).Drains() {
		if d.Section.ID == section {
			return d.Section.Name
		}
	}
	return section
}

// read says what was read of a stored energy: a figure with its unit, or yes or no.
func (t *teller) read(id permits.PermitID, a permits.RecordStored) string {
	for _, s := range t.permitFor(id).Stored() {
		switch {
		case s.Check.ID != a.Check:
		case s.Check.Unit == "":
			return fmt.Sprintf("recorded of %s: %s: %s", s.Check.Name, s.Check.Quantity, yesNo(a.Value != 0))
		default:
			return fmt.Sprintf("read %s of %s: %s %s", s.Check.Quantity, s.Check.Name, figure(a.Value), s.Check.Unit)
		}
	}
	return fmt.Sprintf("read %s of %s", figure(a.Value), a.Check)
}

// deadTest returns the name of the part that is tested dead.
func (t *teller) deadTest(id permits.PermitID, test string) string {
	for _, d := range t.permitFor(id).Dead() {
		if d.Test.ID == test {
			return d.Test.Name
		}
	}
	return test
}

// changedSince says what was done since a record that was not right.
func changedSince(words string) string {
	if words == "" {
		return ""
	}
	return "; changed since the record before: " + words
}
