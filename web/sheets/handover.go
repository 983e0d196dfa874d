package sheets

import (
	"stillwatch/permits"
	"stillwatch/permits/paper"
	"stillwatch/web/screens"
)

// OpenPermit puts a permit that is not over on the handover's sheet.
func OpenPermit(set permits.Setting, p permits.Permit, tell *screens.Teller) paper.OpenPermit {
	o := paper.OpenPermit{Number: screens.PermitNumber(p.ID()), Title: p.Plan().MachineName + ": " + p.Plan().Title,
		State: p.State().String(), LocksOn: p.LocksOn(), Locks: len(p.Locks()),
		Unchecked: len(p.Unchecked()), Next: awaited(set, p), Place: placeOfMachine(p.Plan(), set.Plant)}
	if !p.Until().IsZero() {
		o.ValidUntil = p.Until().Local()
	}
	if id := p.InHand(); id != "" {
		o.Officer = tell.Name(id)
	}
	if offer, ok := p.Offered(); ok {
		o.Officer += ". Signed over to " + tell.Name(offer.To) + " at " + screens.StampWords(offer.At) + ", NOT TAKEN OVER"
		if offer.Words != "" {
			o.Remarks = append(o.Remarks, offer.Words)
		}
	}
	if !p.Accepted().IsZero() {
		o.InCharge = tell.Name(p.Accepted().By)
	}
	for _, id := range p.SignedOn() {
		o.People = append(o.People, tell.Name(id))
	}
	for _, x := range p.OnSite(set) {
		o.Remarks = append(o.Remarks, x.What+screens.Choose(x.Until, " until ", " since ")+screens.StampWords(x.At))
	}
	o.Locking = screens.LockingWords(set, p)
	for _, a := range screens.AlarmsOf(set, p) {
		o.Alarm = append(o.Alarm, a.Words())
	}
	if p.IsOverdue(set.At) {
		o.Overdue = append(o.Overdue, "the authorisation ran out "+screens.SpanWords(set.At.Sub(p.Until()).Seconds())+" ago")
	}
	for _, d := range p.Deviations() {
		o.Remarks = append(o.Remarks, "deviation accepted on "+d.On+": "+d.Words)
	}
	return o
}

// awaited names everything that a permit waits for, one by one: the sheet is read far from any screen.
func awaited(set permits.Setting, p permits.Permit) []string {
	var out []string
	for _, n := range permits.WhatNext(set, p) {
		out = append(out, n.Who+": "+screens.ShipTime(n.What, set.At))
	}
	for _, i := range permits.InTheWay(set, p) {
		if p.Has(permits.KindCheckLock) || p.Has(permits.KindProve) {
			for _, open := range i.Open {
				out = append(out, i.Name+", still open: "+open+".")
			}
		}
	}
	return out
}
