package permits

import (
	"maps"
	"reflect"
	"slices"
)

// A sub-permit lets one more trade work under the locks of a permit that is proved. It has the plan of its parent and
// no lock of its own; it has a person in charge, people, tools, an officer and a period of its own. While it is not
// ended its parent takes no lock off. (One point, several jobs: whoever clears the last line clears the tag; US naval
// training manuals, read. One person is responsible for the group, and each has a lock of his own on it: 29 CFR
// 1910.147(f)(3), read.)

// Under returns the permit under whose locks this one works; 0 if it has its own.
func (p Permit) Under() PermitID { return p.under }

// RequestUnder returns the request of a permit under this one: by the same plan.
func (p Permit) RequestUnder(work string) Request {
	return Request{Plan: p.plan, Work: work, Under: p.id}
}

// parent returns the permit under whose locks this one works; ok is false if it is over, or there is none.
func (p Permit) parent(s Setting) (of Permit, ok bool) {
	if q, open := s.Open[p.under]; open && p.under != 0 {
		return *q, true
	}
	return Permit{}, false
}

// Subs returns the permits that work under the locks of this one and are not over, by their numbers.
func (p Permit) Subs(s Setting) []Permit {
	var out []Permit
	for _, id := range slices.Sorted(maps.Keys(s.Open)) {
		if q := s.Open[id]; q.under == p.id && q.under != 0 {
			out = append(out, *q)
		}
	}
	return out
}

// isBusy reports whether people, tools or their own locks are still at the work of a permit.
func (p Permit) isBusy() bool {
	return p.state == Live || p.state == Suspended || p.owes() || len(p.SignedOn()) > 0 || len(p.OwnLocks()) > 0
}

// noSubBusy refuses what ends the isolation, or opens a part of it, while another permit works under its locks.
func (p Permit) noSubBusy(s Setting, gate string) error {
	for _, q := range p.Subs(s) {
		if q.isBusy() {
			return refuse(gate, "Its people sign off and its tools are counted in: it is handed back, or cancelled, first.",
				"Permit %d, which is %s, works under these locks.", q.id, q.state)
		}
	}
	return nil
}

// noSubLeft refuses to end a permit while another has a claim to its locks.
func (p Permit) noSubLeft(s Setting, gate string) error {
	for _, q := range p.Subs(s) {
		return refuse(gate, "That one is closed or cancelled first.", "Permit %d is under this one and is not over.", q.id)
	}
	return nil
}

// MayHaveUnder reports whether another permit may be requested under the locks of this one.
func (p Permit) MayHaveUnder(s Setting) bool {
	return p.id != 0 && s.Ship.Emergency.IsZero() && p.RequestUnder("").fitsUnder(s) == nil
}

// fitsUnder refuses a request under a permit that has no locks to work under, or by another plan than its own.
func (a Request) fitsUnder(s Setting) error {
	const gate = "request"
	if a.Under == 0 {
		return nil
	}
	of, open := s.Open[a.Under]
	switch {
	case !open:
		return refuse(gate, "Request a permit of its own.", "Permit %d is not open.", a.Under)
	case of.under != 0:
		return refuse(gate, "Request it under permit "+itoa(int(of.under))+" itself.",
			"Permit %d has no locks of its own: it works under permit %d.", of.id, of.under)
	case len(of.Plan().WorkRows()) > 0:
		return refuse(gate, "Request a permit of its own.", "Work of the kind %q is done under one permit, "+
			"with its own people and measures: none works under permit %d.", of.Plan().WorkRows()[0].Kind, of.id)
	case of.Has(KindRemoveLock) || of.cancelling != "":
		return refuse(gate, "Request a permit of its own.", "Permit %d is %s: its locks come off.", of.id, of.state)
	case !of.change.IsZero():
		return refuse(gate, "That is authorised or dropped first.", "Work is to be added to permit %d: its plan changes.",
			of.id)
	case !reflect.DeepEqual(a.Plan.Plan(), of.plan.Plan()):
		return refuse(gate, "Open permit "+itoa(int(of.id))+" and request it there.",
			"A permit under permit %d works by the plan of that permit and no other.", of.id)
	}
	return nil
}

// mayWorkUnder refuses work under the locks of a permit that is not live now, in its period, in one officer's hands and
// without a leak. More than one trade works only with a group box.
func (p Permit) mayWorkUnder(s Setting, gate string) error {
	if p.under == 0 {
		return nil
	}
	if err := p.parentStands(s, gate); err != nil {
		return err
	}
	of, _ := p.parent(s)
	switch {
	case of.state != Live:
		return refuse(gate, "That one is proved and accepted first.",
			"Permit %d, under whose locks this one works, is %s and not live.", of.id, of.state)
	case of.box == "":
		return refuse(gate, "The person in charge of permit "+itoa(int(of.id))+" puts the keys into a group box.",
			"More than one trade works under the locks of permit %d, and their keys are in no group box.", of.id)
	}
	if err := ready(s, of, gate); err != nil {
		return err
	}
	return handedOver(s, of, gate)
}

// acceptsUnder refuses to take over work under another permit's locks, as above, and by who answers for it.
func (p Permit) acceptsUnder(s Setting, gate string) error {
	if p.hasSigned(s.Actor().ID, authorising...) {
		return refuse(gate, "Another technician takes it over.", "%s answers for permit %d and so may not accept it.",
			s.Actor(), p.id)
	}
	return p.mayWorkUnder(s, gate)
}

// parentStands refuses to go on under a permit that is over, or whose locks come off.
func (p Permit) parentStands(s Setting, gate string) error {
	if of, open := p.parent(s); p.under != 0 && (!open || of.Has(KindRemoveLock)) {
		return refuse(gate, "Cancel this permit, and request another.",
			"Permit %d, under whose locks this one works, is over, or its locks come off.", p.under)
	}
	return nil
}

// ownLocksOnly refuses on a sub-permit what is done under its parent.
func (p Permit) ownLocksOnly(gate string) error {
	if p.under == 0 {
		return nil
	}
	return refuse(gate, "It is done under permit "+itoa(int(p.under))+".", "Permit %d has no locks of its own.", p.id)
}

// nextUnder is what an authorised sub-permit waits for: its parent, or its person in charge.
func (p Permit) nextUnder(s Setting) Next {
	n := Next{Who: "person in charge of the work", Roles: KindAccept.Roles(), Kind: KindAccept,
		What: "Accept the permit. Work begins after that, not before."}
	if no, _ := p.mayWorkUnder(s, "live").(*Refusal); no != nil {
		n.What = no.What + " " + no.Opens
	}
	return n
}

// stopsWithParent is the stop of a sub-permit whose parent is not live any more.
func (p Permit) stopsWithParent(e Entry) (PermitAct, bool) {
	if p.under == 0 || e.Permit != p.under || p.state != Live || e.To == Live {
		return nil, false
	}
	return Suspend{Words: "permit " + itoa(int(p.under)) + ", under whose locks it works, is " + e.To.String()}, true
}
