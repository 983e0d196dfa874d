package web

import (
	"io"
	"time"

	"github.com/gin-gonic/gin"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/paper"
)

// handoverPrint prints the sheet that the off-going and the oncoming officer read through together.
func (s *Server) handoverPrint(c *gin.Context) error {
	now := s.now()
	sheet := paper.HandoverSheet{Stamp: s.stamp(c), Watch: shorten(c.Query("watch"), 20), At: now.Local()}
	if sheet.Watch == "" {
		sheet.Watch = watchFrom(now.Local())
	}
	tell := s.teller(c.Request.Context())
	for _, p := range s.reg.OpenPermits() {
		sheet.Permits = append(sheet.Permits, openPermitOf(p, now, tell, s.reg.Rules()))
	}
	for _, n := range s.reg.Notices(c.Request.Context()) {
		sheet.Remarks = append(sheet.Remarks, n.Words+" "+n.Do)
	}
	return s.print(c, "handover.pdf", func(w io.Writer) error { return paper.WriteHandover(w, sheet) })
}

// watchFrom names the four-hour watch that begins next.
func watchFrom(now time.Time) string {
	names := []string{"00–04", "04–08", "08–12", "12–16", "16–20", "20–24"}
	return names[(now.Hour()/4+1)%len(names)]
}

func openPermitOf(p permits.Permit, now time.Time, tell *teller, rules *isolation.Rules) paper.OpenPermit {
	o := paper.OpenPermit{Number: permitNumber(p.ID()), Title: p.Plan().MachineName + ": " + p.Plan().Title, State: p.State().String(), LocksOn: p.LocksOn(), Locks: len(p.Locks()),
		Unchecked: len(unchecked(p)), Next: restWords(p, rules)}
	if !p.Until().IsZero() {
		o.ValidUntil = p.Until().Local()
	}
	if !p.Accepted().IsZero() {
		o.InCharge = tell.name(p.Accepted().By)
	}
	for _, id := range p.SignedOn() {
		o.People = append(o.People, tell.name(id))
	}
	if p.IsOverdue(now) {
		o.Overdue = append(o.Overdue, "the authorisation ran out "+spanWords(now.Sub(p.Until()).Seconds())+" ago")
	}
	for _, d := range p.Deviations() {
		o.Remarks = append(o.Remarks, "deviation accepted on "+d.Section+": "+d.Words)
	}
	return o
}
