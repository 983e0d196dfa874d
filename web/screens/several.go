package screens

import (
	"stillwatch/isolation"
	"stillwatch/permits"
)

// Box returns the group box in which the keys of the permit's locks lie; "" while there is none.
func (v PermitView) Box() string { return v.P.Box(v.set) }

// OwnLocks returns who has come out and has a lock of their own on the group box still.
func (v PermitView) OwnLocks() []permits.Attendance {
	var out []permits.Attendance
	for _, a := range v.P.OwnLocks() {
		if !a.Off.IsZero() {
			out = append(out, a)
		}
	}
	return out
}

// OwnLockBox is Sign for taking a lock off the group box: its owner, or anybody if it was released.
func (b Frame) OwnLockBox(form string, a permits.Attendance) signBox {
	if a.Released {
		return b.Sign(form, string(permits.KindTakeOwnLock))
	}
	return b.SignAmong(form, string(permits.KindTakeOwnLock), "", a.Person)
}

// Subs returns the permits that work under the locks of this one.
func (v PermitView) Subs() []permits.Permit { return v.P.Subs(v.set) }

// MayUnder reports whether whoever reads may request a permit under the locks of this one now.
func (v PermitView) MayUnder() bool {
	return v.P.MayHaveUnder(v.set) && v.set.By.Has(permits.KindRequest.Roles()...)
}

// ToAnswer returns what the plan does not prove, where this permit's officer answers for it.
func (v PermitView) ToAnswer() []isolation.Unproved {
	if v.P.Under() != 0 {
		return nil
	}
	return v.P.Plan().Unproved
}

// LockingWords says under whose locks a permit works, which permits work under its own, in which group box its keys
// are, and whose lock hangs on that.
func LockingWords(set permits.Setting, p permits.Permit) (out []string) {
	name := permits.Names{Ship: set.Ship}.Name
	if p.Under() != 0 {
		out = append(out, "works under the locks of permit "+PermitNumber(p.Under()))
	}
	for _, q := range p.Subs(set) {
		words := "permit " + PermitNumber(q.ID()) + " (" + q.State().String() + ") works under these locks"
		if by := q.Accepted().By; by != "" {
			words += ", " + name(by) + " in charge"
		}
		out = append(out, words)
	}
	if box := p.Box(set); box != "" {
		out = append(out, "the keys are in group box "+box)
	}
	for _, a := range p.OwnLocks() {
		words := "lock " + string(a.Padlock) + " of " + name(a.Person) + " is on the group box since " + StampWords(a.On)
		switch {
		case a.Off.IsZero():
		case a.CountedBy != "":
			words += ". OUT SINCE " + StampWords(a.Off) + ", counted out by " + name(a.CountedBy) + ", seen: " + a.Where
		default:
			words += ". OUT SINCE " + StampWords(a.Off) + ", signed off"
		}
		out = append(out, words)
	}
	return out
}

// Order returns the order by which locks come off at once; nil if there is none.
func (v PermitView) Order() *permits.Opening {
	o, ok := v.P.Opening()
	if !ok {
		return nil
	}
	return &o
}
