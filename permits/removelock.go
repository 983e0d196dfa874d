package permits

import (
	"stillwatch/isolation"
)

// KindRemoveLock is a lock or tag that came off.
const KindRemoveLock Kind = "remove lock"

// RemoveLock takes one lock off: the tag that was scanned, and the position in which the point was left.
type RemoveLock struct {
	Tag      TagDigest          `json:"tag"`
	Position isolation.Position `json:"position"`
	How      string             `json:"how,omitempty"`
}

// Kind says which act this is.
func (RemoveLock) Kind() Kind { return KindRemoveLock }

func (RemoveLock) rule() rule { return unsignedBy("remove a lock", Technician) }

func (a RemoveLock) tell(n Names, _ Entry) string {
	l, ok := n.Permit.LockByTag(a.Tag)
	if !ok {
		return "took a lock off"
	}
	return "took " + l.Thing() + " " + itoa(l.Step.N) + " off " + string(l.Step.Point) + ", left " +
		l.Step.Kind.Word(a.Position)
}

func (a RemoveLock) touches(after Permit) Touched { return atTag(after, a.Tag) }

func (RemoveLock) aim(p Permit, at Target) PermitAct {
	l, _ := p.Lock(at.Step)
	return RemoveLock{Tag: l.Tag}
}

func (a RemoveLock) gate(s Setting, p Permit) error {
	const gate = "remove lock"
	l, err := p.byTag(a.Tag, gate)
	if err != nil {
		return err
	}
	if !l.IsOn() {
		return refuse(gate, "", "Lock %d (%s) does not hang.", l.Step.N, l.Step.Point)
	}
	next, _ := p.NextRemove()
	if l.Step.N != next.Step.N {
		return refuse(gate, nextInWords("off next", next),
			"Lock %d (%s) must stay: locks come off in the reverse of the order in which they went on.", l.Step.N, l.Step.Point)
	}
	if err := addedFirst(p, l); err != nil {
		return err
	}
	if err := notAtTheDesk(s, p, gate, "take off"); err != nil {
		return err
	}
	return ownLock(s, l, gate)
}

func (a RemoveLock) decide(s Setting, p Permit) (outcome, error) {
	const gate = "remove lock"
	l, err := p.byTag(a.Tag, gate)
	if err != nil {
		return outcome{}, err
	}
	left, why := p.LeaveAt(s.Held, l)
	return outcome{to: Restoring}, leftAt(l, a.Position, left, why, gate)
}

// ownLock refuses to take off a lock of somebody else that was not released.
func ownLock(s Setting, l Lock, gate string) error {
	if l.Owner == s.Actor().ID || l.Released {
		return nil
	}
	return refuse(gate, "Its owner takes it off. If the owner cannot come, the chief engineer may release it.",
		"Lock %d is the lock of %s, not of %s.", l.Step.N, s.name(l.Owner), s.Actor())
}

// leftAt refuses a point that is left in another position than it must be; why says in words why there, or is "".
func leftAt(l Lock, at, must isolation.Position, why, gate string) error {
	if at == must {
		return nil
	}
	return refuse(gate, "Bring it there, look again, then confirm.", "%s must be left %s%s.", l.Step.Point,
		l.Step.Kind.Word(must), why)
}

// LeaveAt returns the position in which a point must be left when this permit's lock comes off: its clearance position,
// or the held one while another permit's lock is still on it; why says so in words, or is "".
func (p Permit) LeaveAt(held Held, l Lock) (left isolation.Position, why string) {
	for _, h := range held.At(l.Step.Point, p.id) {
		if h.On {
			return h.Position, ", because permit " + itoa(int(h.Permit)) + " still has a lock on it"
		}
	}
	return l.Step.Clearance, ""
}

func (a RemoveLock) apply(e Entry, p *Permit) {
	for i := range p.locks {
		if l := &p.locks[i]; l.Tag == a.Tag {
			l.Removed, l.Left, l.Looked = Mark{e.By, e.At}, a.Position, Mark{}
		}
	}
}
