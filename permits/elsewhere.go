package permits

import (
	"slices"

	"stillwatch/isolation"
)

// changeEdition is the first by which nobody is at work, inside or at a post in two places on board, by which a second
// person sees each point whose lock came off for a test and never went on again, and by which work may be added to a
// permit (change.go).
const changeEdition Edition = 6

// changeAdds are the gates that edition 6 adds beside the acts' own, and those of the edition before.
var changeAdds = map[Kind]func(Setting, Permit, PermitAct) error{
	KindFitLock:  lifeAdds[KindFitLock],
	KindTakePost: func(s Setting, p Permit, _ PermitAct) error { return postOnly(s, p) },
	KindSignOn:   func(s Setting, p Permit, _ PermitAct) error { return worksOnlyHere(s, p) },
	KindProve: func(s Setting, p Permit, _ PermitAct) error {
		if err := signedAnew(s, p, "prove"); err != nil {
			return err
		}
		return p.readSinceLeak(s, "prove")
	},
	KindAccept: func(s Setting, p Permit, _ PermitAct) error { return p.readSinceLeak(s, "live") },
}

// An attendant stays at the entrance and has no other duty that could take him away; a fire watch does nothing else
// (29 CFR 1910.146(i)(4) and (10), 1910.252(a)(2)(iii)(A), from memory). The gates of one permit see to it on that
// permit; the gates here on all others of the ship. Who is inside a space is in no other place: no source is needed.

// standsAt returns the other permit on which somebody stands by, and as what.
func (s Setting) standsAt(who PersonID, own PermitID) (at PermitID, post isolation.Post, stands bool) {
	for _, id := range s.OpenIDs() {
		for _, x := range s.Open[id].posts {
			if id != own && x.By == who && x.Until.IsZero() {
				return id, x.Post, true
			}
		}
	}
	return 0, isolation.NoPost, false
}

// worksAt returns the other permit on which somebody is signed on; inside says that it is recorded that they are in its
// space.
func (s Setting) worksAt(who PersonID, own PermitID) (at PermitID, inside, works bool) {
	for _, id := range s.OpenIDs() {
		if id == own || !slices.Contains(s.Open[id].SignedOn(), who) {
			continue
		}
		if in := slices.Contains(s.Open[id].Inside(), who); in || !works {
			at, inside, works = id, in, true
		}
	}
	return at, inside, works
}

// postOnly refuses a post to somebody who stands by, or works, on another permit.
func postOnly(s Setting, p Permit) error {
	const gate = "post"
	who := s.Actor()
	if at, post, stands := s.standsAt(who.ID, p.id); stands {
		return refuse(gate, "Leave that post first; or somebody else stands by here.",
			"%s stands by on permit %d as %s, and who stands by does nothing else.", who, at, post)
	}
	if at, inside, works := s.worksAt(who.ID, p.id); works {
		return refuse(gate, "Sign off there first; or somebody else stands by here.",
			"%s is %s, and who stands by does nothing else.", who, atWorkOn(at, inside))
	}
	return nil
}

// worksOnlyHere refuses work to somebody who stands by on another permit, or is inside its space.
func worksOnlyHere(s Setting, p Permit) error {
	const gate = "live"
	who := s.Actor()
	if at, post, stands := s.standsAt(who.ID, p.id); stands {
		return refuse(gate, "Leave that post first; somebody else takes it.",
			"%s stands by on permit %d as %s, and who stands by does nothing else.", who, at, post)
	}
	if at, inside, _ := s.worksAt(who.ID, p.id); inside {
		return refuse(gate, "Come out there first, and have it recorded.", "%s is %s.", who, atWorkOn(at, inside))
	}
	return nil
}

// entersOnlyHere refuses the way in to somebody who stands by on another permit, or is inside its space.
func entersOnlyHere(s Setting, p Permit, who PersonID) error {
	const gate = "go in"
	if s.Judge.Edition < changeEdition {
		return nil
	}
	if at, post, stands := s.standsAt(who, p.id); stands {
		return refuse(gate, "Somebody else takes that post first.",
			"%s stands by on permit %d as %s, and who stands by does nothing else.", s.name(who), at, post)
	}
	if at, inside, _ := s.worksAt(who, p.id); inside {
		return refuse(gate, "That is put right first: come out there, and have it recorded.", "%s is %s.", s.name(who),
			atWorkOn(at, inside))
	}
	return nil
}

func atWorkOn(at PermitID, inside bool) string {
	return either(inside, "recorded as inside the space of", "signed on to the work of") + " permit " + itoa(int(at))
}
