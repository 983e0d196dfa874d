package sheets

import (
	"time"

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
	if last, signed := p.LastHandover(); signed {
		o.From, o.To = watchSignature(last.Offer.Mark, tell), watchSignature(last.Taken, tell)
		if last.Offer.Words != "" {
			o.Remarks = append(o.Remarks, last.Offer.Words)
		}
	}
	o.Lifted = screens.LiftedWords(p)
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

// watchSignature is an officer's signature under the handing over of a permit.
func watchSignature(m permits.Mark, tell *screens.Teller) paper.Signature {
	return paper.Signature{Name: tell.Name(m.By), At: m.At.Local()}
}

// Watch puts both signatures under the sheet: where all its permits went over last between the same two officers, not
// longer ago than a watch (our choice: four hours). Otherwise it has lines to sign on.
func Watch(sheet *paper.HandoverSheet) {
	for i, o := range sheet.Permits {
		if !o.To.IsSigned() || sheet.At.Sub(o.To.At) > 4*time.Hour ||
			i > 0 && (o.To.Name != sheet.To.Name || o.From.Name != sheet.From.Name) {
			sheet.From, sheet.To = paper.Signature{}, paper.Signature{}
			return
		}
		sheet.From, sheet.To = o.From, o.To
	}
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
