package screens

import (
	"time"

	"stillwatch/permits"
)

// EmergencyPage is the page of an emergency: where it is declared, who is not out, what is not accounted for after it.
type EmergencyPage struct {
	Frame
	On      permits.Emergency // the zero value: none is declared
	NotOut  []notOutLine
	Permits []emergencyLine // those that it stopped and that are not accounted for
	Sheet   bool            // one was declared, now or before, so that there is a sheet of it
}

// notOutLine is somebody who is signed on somewhere.
type notOutLine struct {
	Person permits.PersonID
	Permit permits.PermitID
	Job    string
	Since  time.Time
	Form   string
}

// emergencyLine is a permit that is to be accounted for.
type emergencyLine struct {
	ID      permits.PermitID
	State   permits.State
	Job     string
	Under   permits.PermitID // 0: it has locks of its own
	LocksOn int
	Opened  []permits.Lock // taken off at once
}

// EmergencyOf makes the page.
func EmergencyOf(b Frame, set permits.Setting) EmergencyPage {
	page := EmergencyPage{Frame: b, On: set.Ship.Emergency, NotOut: notOut(set)}
	for _, id := range set.Unaccounted() {
		p := *set.Open[id]
		l := emergencyLine{ID: id, State: p.State(), Job: JobOf(p), Under: p.Under(),
			LocksOn: p.LocksOn()}
		for _, lock := range p.Locks() {
			if lock.Opened {
				l.Opened = append(l.Opened, lock)
			}
		}
		page.Permits = append(page.Permits, l)
	}
	return page
}

// MayCount reports whether whoever reads may count people out.
func (p EmergencyPage) MayCount() bool {
	return !p.On.IsZero() && p.Me.Has(permits.KindCountOut.Roles()...)
}

// MayDeclare reports whether the page has the form that declares one: somebody of the crew reads, on whose device an
// officer may sign.
func (p EmergencyPage) MayDeclare() bool { return p.Me.IsCompetent() }

// JobOf says what work a permit is for: of one under another's locks in its own words, since the title is the other's.
func JobOf(p permits.Permit) string {
	if p.Under() != 0 {
		return p.Plan().MachineName + ": " + p.Work()
	}
	return p.Plan().MachineName + ": " + p.Plan().Title
}

// notOut lists who is signed on, by permit and in the order of signing on.
func notOut(set permits.Setting) []notOutLine {
	var out []notOutLine
	for _, id := range set.OpenIDs() {
		p := set.Open[id]
		for _, a := range p.Crew() {
			if a.Off.IsZero() {
				out = append(out, notOutLine{a.Person, id, JobOf(*p), a.On,
					"count-out:" + PermitNumber(id) + ":" + string(a.Person)})
			}
		}
	}
	return out
}
