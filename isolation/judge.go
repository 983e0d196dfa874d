package isolation

import "fmt"

// Judge holds what a technician recorded of one section against what was computed.
func (s *Section) Judge(r DrainReading) (Finding, error) {
	return Finding{}, fmt.Errorf("judge section %s: not computed", s.ID)
}

// Judge holds a reading of a stored energy against its limit.
func (c *StoredCheck) Judge(value float64) (Finding, error) {
	return Finding{}, fmt.Errorf("judge %s: not computed", c.ID)
}
