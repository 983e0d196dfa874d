package permits

import (
	"testing"
	"time"
)

// TestOneSignatureCoversAWalk lets a second person look at every lock and sign once: each check is of the moment of its
// look, nothing counts before the signature, and nobody signs for another, for what changed since, or for what was seen
// too long ago.
func TestOneSignatureCoversAWalk(t *testing.T) {
	r := newRig(t)
	id := r.untilAuthorised()
	for range r.permits[id].Locks() {
		r.must(id, tomas, r.fit(id))
	}
	r.refuses(id, tomas, Look{N: 1}, "check lock") // who fitted it
	r.refuses(id, karim, SignLooks{}, "sign looks")
	var at []time.Time
	for _, l := range r.permits[id].Locks() {
		r.must(id, karim, Look{N: l.Step.N})
		at = append(at, r.at)
	}
	if p := r.permits[id]; p.State() != Isolating || len(p.Unchecked()) != len(p.Locks()) {
		t.Errorf("looks alone count: %s, %d unchecked", p.State(), len(p.Unchecked()))
	}
	if u := UseOfTag(r.setting(karim, Look{}), r.permits[id], 1); u.Use != UseWait || u.No.Gate != "sign looks" {
		t.Errorf("a tag that was looked at is good for %s, %v, want to wait for the signature", u.Use, u.No)
	}
	if left := Looks(r.setting(karim, Look{}), r.permits[id]); len(left) != 0 {
		t.Errorf("%d tags are left to look at, want none", len(left))
	}
	signed := signsLooks(r.permits[id], karim.ID)
	r.refuses(id, ines, SignLooks{Steps: signed.Steps}, "sign looks") // another's looks
	r.refuses(id, karim, SignLooks{Steps: signed.Steps[1:]}, "sign looks")
	r.must(id, ines, FindWrong{N: 1, Words: "the lock is open"})
	r.refuses(id, karim, signed, "sign looks") // the list has changed
	r.must(id, tomas, r.fit(id))
	r.must(id, karim, Look{N: 1})
	late := r.at
	r.at = r.at.Add(lookAge)
	r.refuses(id, karim, signsLooks(r.permits[id], karim.ID), "sign looks")
	r.at = late
	r.must(id, karim, signsLooks(r.permits[id], karim.ID))
	p := r.permits[id]
	if p.State() != Proving {
		t.Errorf("after the signature the permit stands at %s, want proving", p.State())
	}
	for i, l := range p.Locks()[1:] {
		if !l.IsChecked() || !l.Checked.At.Equal(at[i+1]) || l.Checked.By != karim.ID {
			t.Errorf("lock %d was checked by %s at %s, want by karim at %s", l.Step.N, l.Checked.By, l.Checked.At, at[i+1])
		}
	}
}

// TestOneSignatureCoversTheWalkBack is the same for points whose locks came off.
func TestOneSignatureCoversTheWalkBack(t *testing.T) {
	r := newRig(t)
	id := r.untilAuthorised()
	r.must(id, tomas, r.fit(id))
	r.must(id, tomas, r.fit(id))
	r.must(id, olga, Cancel{Words: "not needed any more"})
	for range 2 {
		r.between(id)
		r.must(id, tomas, r.remove(id))
	}
	r.must(id, karim, Look{N: 1})
	r.must(id, karim, Look{N: 2})
	r.must(id, karim, signsLooks(r.permits[id], karim.ID))
	if left := r.permits[id].Unseen(); len(left) != 0 {
		t.Errorf("%d points are still to be seen, want none", len(left))
	}
}
