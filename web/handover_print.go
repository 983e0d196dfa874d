package web

import (
	"io"
	"time"

	"github.com/gin-gonic/gin"

	"stillwatch/permits"
	"stillwatch/permits/paper"
)

// handoverPrint prints the sheet that the off-going and the oncoming officer read through together.
func (s *Server) handoverPrint(c *gin.Context) error {
	now := s.now()
	sheet := paper.HandoverSheet{Stamp: s.stamp(c), Watch: shorten(c.Query("watch"), 20), At: now.Local()}
	tell, aboard := s.teller(c.Request.Context()), s.facts()
	for _, p := range s.reg.OpenPermits() {
		sheet.Permits = append(sheet.Permits, openPermitOf(p, now, tell, aboard))
	}
	for _, n := range s.reg.Notices(c.Request.Context()) {
		sheet.Remarks = append(sheet.Remarks, n.Words+" "+n.Do)
	}
	return s.print(c, "handover.pdf", func(w io.Writer) error { return paper.WriteHandover(w, sheet) })
}

func openPermitOf(p permits.Permit, now time.Time, tell *teller, aboard facts) paper.OpenPermit {
	o := paper.OpenPermit{Number: permitNumber(p.ID()), Title: p.Plan().MachineName + ": " + p.Plan().Title,
		State: p.State().String(), LocksOn: p.LocksOn(), Locks: len(p.Locks()),
		Unchecked: len(unchecked(p)), Next: awaited(p, now, aboard), Place: placeOfMachine(p.Plan(), aboard.plant)}
	if !p.Until().IsZero() {
		o.ValidUntil = p.Until().Local()
	}
	if !p.Accepted().IsZero() {
		o.InCharge = tell.name(p.Accepted().By)
	}
	for _, id := range p.SignedOn() {
		o.People = append(o.People, tell.name(id))
	}
	for _, a := range alarmsOf(p, aboard.ship) {
		o.Alarm = append(o.Alarm, a.words())
	}
	if p.IsOverdue(now) {
		o.Overdue = append(o.Overdue, "the authorisation ran out "+spanWords(now.Sub(p.Until()).Seconds())+" ago")
	}
	for _, d := range p.Deviations() {
		o.Remarks = append(o.Remarks, "deviation accepted on "+tell.section(p.ID(), d.Section)+": "+d.Words)
	}
	return o
}

// awaited names everything that a permit waits for, one by one: the sheet is read far from any screen.
func awaited(p permits.Permit, now time.Time, aboard facts) []string {
	var out []string
	for _, n := range nextOf(p, now, aboard) {
		out = append(out, n.Who+": "+n.What)
	}
	for i, l := range unchecked(p) {
		if i > 0 && permits.CanFollow(p.State(), permits.KindCheckLock) {
			out = append(out, "second person: "+stepWords("Look at", l))
		}
	}
	if permits.CanFollow(p.State(), permits.KindProve) {
		for i, open := range p.Unproved() {
			if i > 0 {
				out = append(out, string(permits.Technician)+": Prove it: "+open+".")
			}
		}
	}
	return out
}
