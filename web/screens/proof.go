package screens

import (
	"slices"
	"strings"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// proofList is what is proved before the work, or before the next step, each thing once.
type proofList struct {
	Items []proofItem
	Done  int
	First bool     // only what the next step waits for
	Locks []string // what else keeps the proof from being signed
}

// proofItem is one thing on the list: a line that says how it stands, and folded below it how it is read, what was
// found, and its form.
type proofItem struct {
	Page PermitPage
	permits.ProofItem
	Form, Anchor, Name string
	Says               string // how it stands, in a few words
	Bad                bool   // it was recorded and is not right
	Open               bool   // it is shown unfolded
	AtWork             bool   // it is recorded on the page of what is looked after at the work
	Wait               waitView
	Drain              permits.DrainState
	Stored             permits.StoredState
	Dead               permits.DeadState
}

// Proof returns the list for the page.
func (p PermitPage) Proof() proofList {
	list := proofList{First: len(p.First)+len(p.FirstDead) > 0}
	now := p.set.At
	for _, at := range p.P.ProofItems(now) {
		i := p.proofItem(at)
		if list.First && !p.isFirst(at) {
			continue
		}
		if i.Missing == "" {
			list.Done++
		}
		list.Items = append(list.Items, i)
	}
	for _, words := range p.Unproved {
		if !slices.ContainsFunc(list.Items, func(i proofItem) bool { return i.Missing == words }) {
			list.Locks = append(list.Locks, words)
		}
	}
	return list
}

// isFirst reports whether the next step waits for it.
func (p PermitPage) isFirst(at permits.ProofItem) bool {
	return slices.ContainsFunc(p.First, func(s permits.StoredState) bool {
		return at.Kind == permits.KindRecordStored && s.Check.ID == at.ID
	}) || slices.ContainsFunc(p.FirstDead, func(d permits.DeadState) bool {
		return at.Kind == permits.KindRecordDead && d.Test.ID == at.ID
	})
}

func (p PermitPage) proofItem(at permits.ProofItem) proofItem {
	i := proofItem{Page: p, ProofItem: at}
	wait := permits.WaitStored
	switch at.Kind {
	case permits.KindRecordDrain:
		wait = permits.WaitSection
		for _, d := range p.P.Drains() {
			if d.Section.ID == at.ID {
				i.Drain, i.Name, i.Form, i.Anchor = d, d.Section.Name, "drain:"+at.ID, "f-drain-"+Slug(at.ID)
				i.Bad, i.Says = !d.Recorded.IsZero(), d.Finding.Result
			}
		}
	case permits.KindRecordStored:
		for _, s := range p.P.Stored() {
			if s.Check.ID == at.ID {
				i.Stored, i.Name, i.Form, i.Anchor = s, s.Check.Name, "reading:"+at.ID, "f-reading-"+Slug(at.ID)
				i.Bad, i.Says = !s.Recorded.IsZero(), s.Finding.Result
				i.AtWork = s.Check.Stored.Kind == isolation.KindMeasure
			}
		}
	case permits.KindRecordAir:
		i.Name, i.AtWork = "the air, "+at.ID, true
		for _, a := range p.P.Air() {
			if a.Level == at.ID {
				i.Bad, i.Says = !a.Recorded.IsZero(), a.Finding.Result
			}
		}
	case permits.KindRecordDead:
		for _, d := range p.P.Dead() {
			if d.Test.ID == at.ID {
				i.Dead, i.Name, i.Form, i.Anchor = d, d.Test.Name, "dead:"+at.ID, "f-dead-"+Slug(at.ID)
				i.Bad, i.Says = !d.Recorded.IsZero(), "tested dead"
			}
		}
	case permits.KindRecordStart:
		i.Name, i.Form, i.Anchor = "Start attempt", "start", "f-start"
		i.Bad, i.Says = !p.P.Start().Recorded.IsZero(), "nothing moved"
	}
	i.Bad = i.Bad && at.Missing != ""
	if at.Missing != "" {
		i.Says = strings.TrimPrefix(at.Missing, i.Name+": ")
		i.Wait = p.waitOf(wait, at.ID)
	}
	i.Open = p.opens(i)
	return i
}

// waitOf returns the wait that runs for a section or a stored energy.
func (p PermitPage) waitOf(kind permits.WaitKind, id string) waitView {
	for _, w := range p.P.Waits() {
		if w.Kind == kind && w.ID == id && !w.Proved {
			return waitViewOf(w, p.set.At)
		}
	}
	return waitView{}
}

// opens reports whether one thing on the list is shown unfolded: what was refused, else what the reader does next.
func (p PermitPage) opens(i proofItem) bool {
	if refused := p.RefusedForm(); refused != "" {
		return refused == i.Form || i.ID != "" && (refused == "deviation:"+i.ID || refused == "consent:"+i.ID)
	}
	for _, n := range p.Next {
		if n.Yours {
			return n.Form() == i.Form || i.Kind == permits.KindRecordDrain &&
				(n.Form() == "consent:"+i.ID || n.Form() == "deviation:"+i.ID)
		}
	}
	return false
}
