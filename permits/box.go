package permits

import "strings"

// Kinds of the group box: the keys of all locks lie in it, and everybody who works has a lock of their own on it.
const (
	KindUseBox      Kind = "use group box"
	KindTakeOwnLock Kind = "take own lock"
)

// UseBox puts the keys of a permit's locks into a group box, counted. From then on whoever signs on hangs a lock of
// their own on it and takes it off on signing off; while one hangs, nothing that the permit holds can be opened. (29
// CFR 1910.147(f)(3)(ii)(D), read: each fits his own on starting and takes it off on stopping.)
type UseBox struct {
	Box  string `json:"box"`  // as it is marked
	Keys int    `json:"keys"` // counted into it: one a padlock
}

// Kind says which act this is.
func (UseBox) Kind() Kind { return KindUseBox }

func (UseBox) rule() rule { return signedBy("put the keys into a group box", Technician) }

func (a UseBox) tell(Names, Entry) string {
	return "put the " + Plural(a.Keys, "key", "keys") + " of the locks into group box " + strings.TrimSpace(a.Box) +
		": everybody hangs a lock of their own on it"
}

func (UseBox) touches(Permit) Touched { return Touched{} }

func (UseBox) gate(s Setting, p Permit) error {
	const gate = "group box"
	if err := p.ownLocksOnly(gate); err != nil {
		return err
	}
	if who := s.Actor(); who.ID != p.accepted.By {
		return refuse(gate, "That person does it.", "%s is in charge of the work, not %s.", s.name(p.accepted.By), who)
	}
	if p.box != "" {
		return refuse(gate, "", "The keys are in group box %s already.", p.box)
	}
	return p.nobodyOn(s, gate)
}

func (a UseBox) decide(s Setting, p Permit) (outcome, error) {
	if err := words("box", a.Box, 1, 40); err != nil {
		return outcome{}, err
	}
	for id, q := range s.Open {
		if q.box == strings.TrimSpace(a.Box) && id != p.id {
			return outcome{}, refuse("group box", "Take another box.", "Group box %s holds the keys of permit %d.", q.box, id)
		}
	}
	n := 0
	for _, l := range p.locks {
		if l.IsOn() && l.Padlock != "" {
			n++
		}
	}
	if a.Keys != n {
		return outcome{}, refuse("group box", "Find the key that is missing, or count again.",
			"%d locks hang and %d keys were counted.", n, a.Keys)
	}
	return outcome{to: p.state}, nil
}

func (a UseBox) apply(_ Entry, p *Permit) { p.box = strings.TrimSpace(a.Box) }

// Box returns the group box in which the keys of the permit's locks lie: that of its parent for a sub-permit; "" while
// there is none.
func (p Permit) Box(s Setting) string {
	if of, open := p.parent(s); open {
		return of.box
	}
	return p.box
}

// OwnLocks returns who has a lock of their own on the group box.
func (p Permit) OwnLocks() []Attendance {
	var out []Attendance
	for _, a := range p.crew {
		if a.HasLock() {
			out = append(out, a)
		}
	}
	return out
}

// HasLock reports whether the person's own lock hangs on the group box.
func (a Attendance) HasLock() bool { return a.Padlock != "" && a.LockOff.IsZero() }

// ownLockOf returns somebody's lock on the group box.
func (p Permit) ownLockOf(who PersonID) (Attendance, bool) {
	for _, a := range p.OwnLocks() {
		if a.Person == who {
			return a, true
		}
	}
	return Attendance{}, false
}

// hangs refuses to sign on without a lock of one's own where there is a group box, and with one where there is none.
func (a SignOn) hangs(s Setting, p Permit) error {
	box := p.Box(s)
	switch {
	case box == "" && a.Lock != "":
		return invalid("lock", "No group box is in use for this permit: leave the lock's number empty.")
	case box == "":
		return nil
	case !padlockPattern.MatchString(string(a.Lock)):
		return invalid("lock", "Hang a lock of your own on group box %s, and give its number as it is stamped: up to 16 "+
			"letters, digits, hyphens.", box)
	}
	for h := range s.Held.All() {
		if h.On && h.Padlock == a.Lock {
			return refuse("live", "Take another lock, or read the number again.", "Lock %s hangs on %s already, for permit %d.",
				a.Lock, h.Point, h.Permit)
		}
	}
	for id, q := range s.Open {
		for _, x := range q.OwnLocks() {
			if x.Padlock == a.Lock {
				return refuse("live", "Take another lock, or read the number again.",
					"Lock %s hangs on a group box already: it is the lock of %s, for permit %d.", a.Lock, s.name(x.Person), id)
			}
		}
	}
	return nil
}

// boxIsFree refuses what needs the keys while somebody's own lock hangs on the group box.
func (p Permit) boxIsFree(s Setting, gate string) error {
	for _, a := range p.OwnLocks() {
		return refuse(gate, "Its owner takes it off. If the owner cannot come, the chief engineer may release it.",
			"Lock %s of %s still hangs on the group box.", a.Padlock, s.name(a.Person))
	}
	return nil
}

// TakeOwnLock takes a lock off the group box after signing off or being counted out: one's own, or one that the chief
// engineer has released.
type TakeOwnLock struct {
	Person PersonID `json:"person"` // whose it is
}

// Kind says which act this is.
func (TakeOwnLock) Kind() Kind { return KindTakeOwnLock }

func (TakeOwnLock) rule() rule { return signedBy("take a lock off the group box", anybody...) }

func (a TakeOwnLock) tell(n Names, e Entry) string {
	if a.Person == e.By {
		return "took their own lock off the group box"
	}
	return "took the lock of " + n.Name(a.Person) + ", which was released, off the group box"
}

func (a TakeOwnLock) touches(Permit) Touched { return Touched{Person: a.Person} }

func (TakeOwnLock) aim(_ Permit, at Target) PermitAct { return TakeOwnLock{Person: at.Person} }

func (a TakeOwnLock) gate(s Setting, p Permit) error {
	const gate = "group box"
	own, hangs := p.ownLockOf(a.Person)
	switch who := s.Actor(); {
	case !hangs:
		return &Refusal{Kind: NotFound, Gate: gate, What: s.name(a.Person) + " has no lock on the group box for this permit."}
	case own.Off.IsZero():
		return refuse(gate, "Sign off, and take it off then.", "%s is still signed on.", s.name(a.Person))
	case who.ID != a.Person && !own.Released:
		return refuse(gate, "Its owner takes it off. If the owner cannot come, the chief engineer may release it.",
			"Lock %s is the lock of %s, not of %s.", own.Padlock, s.name(a.Person), who)
	}
	return nil
}

func (TakeOwnLock) decide(_ Setting, p Permit) (outcome, error) { return outcome{to: p.state}, nil }

func (a TakeOwnLock) apply(e Entry, p *Permit) {
	for i := range p.crew {
		if c := &p.crew[i]; c.Person == a.Person && c.HasLock() {
			c.LockOff = Mark{e.By, e.At}
		}
	}
}
