package web

import (
	"io"

	"github.com/gin-gonic/gin"

	"stillwatch/permits"
	"stillwatch/permits/paper"
)

// handoverPrint prints the sheet that the off-going and the oncoming officer read through together.
func (s *Server) handoverPrint(c *gin.Context) error {
	now := s.now()
	sheet := paper.HandoverSheet{Stamp: s.stamp(c), Watch: shorten(c.Query("watch"), 20), At: now.Local()}
	tell, set := s.teller(c.Request.Context()), s.setting(me(c))
	for _, p := range s.reg.OpenPermits() {
		sheet.Permits = append(sheet.Permits, openPermitOf(set, p, tell))
	}
	for _, n := range s.reg.Notices(c.Request.Context()) {
		sheet.Remarks = append(sheet.Remarks, n.Words+" "+n.Do)
	}
	return s.print(c, "handover.pdf", func(w io.Writer) error { return paper.WriteHandover(w, sheet) })
}

func openPermitOf(set permits.Setting, p permits.Permit, tell *teller) paper.OpenPermit {
	o := paper.OpenPermit{Number: permitNumber(p.ID()), Title: p.Plan().MachineName + ": " + p.Plan().Title,
		State: p.State().String(), LocksOn: p.LocksOn(), Locks: len(p.Locks()),
		Unchecked: len(p.Unchecked()), Next: awaited(set, p), Place: placeOfMachine(p.Plan(), set.Plant)}
	if !p.Until().IsZero() {
		o.ValidUntil = p.Until().Local()
	}
	if !p.Accepted().IsZero() {
		o.InCharge = tell.name(p.Accepted().By)
	}
	for _, id := range p.SignedOn() {
		o.People = append(o.People, tell.name(id))
	}
	for _, a := range permits.Alarms(set, p) {
		o.Alarm = append(o.Alarm, a.Words())
	}
	if p.IsOverdue(set.At) {
		o.Overdue = append(o.Overdue, "the authorisation ran out "+spanWords(set.At.Sub(p.Until()).Seconds())+" ago")
	}
	for _, d := range p.Deviations() {
		o.Remarks = append(o.Remarks, "deviation accepted on "+tell.section(p.ID(), d.Section)+": "+d.Words)
	}
	return o
}

// awaited names everything that a permit waits for, one by one: the sheet is read far from any screen.
func awaited(set permits.Setting, p permits.Permit) []string {
	var out []string
	for _, n := range permits.WhatNext(set, p) {
		out = append(out, n.Who+": "+n.What)
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
