package web

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"io"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"stillwatch/permits"
	"stillwatch/permits/paper"
	"stillwatch/permits/register"
	"stillwatch/web/screens"
	"stillwatch/web/sheets"
)

// print answers with a paper. It is all there before the first byte leaves. A paper that would say too little is
// refused.
func (s *Server) print(c *gin.Context, name string, write func(io.Writer) error) error {
	var b bytes.Buffer
	if err := write(&b); err != nil {
		if errors.Is(err, paper.ErrIncomplete) {
			return &permits.Refusal{Kind: permits.Refused, Gate: "print", What: "This cannot be printed yet: " + err.Error() +
				".", Opens: "Complete it first."}
		}
		return err
	}
	c.Header("Content-Disposition", `inline; filename="`+name+`"`)
	c.Data(http.StatusOK, "application/pdf", b.Bytes())
	return nil
}

// stamp says from what a paper is printed.
func (s *Server) stamp(c *gin.Context) paper.Stamp {
	head := s.reg.Head()
	st := paper.Stamp{PrintedAt: s.now().Local(), PrintedBy: me(c).String(), Entry: head.Size - 1, Hash: head.Hash,
		URL: s.codeURL(c, "/E/"+strconv.FormatInt(head.Size-1, 10))}
	if p := s.reg.Plant(); p != nil {
		st.Ship = p.Title
	}
	return st
}

// tagURL returns what the QR of a tag carries.
func (s *Server) tagURL(c *gin.Context, code permits.TagCode) string {
	return s.codeURL(c, "/T/"+code.Text())
}

// codeURL returns the address of a path as a QR carries it: upper case, so that the smallest symbol does.
func (s *Server) codeURL(c *gin.Context, path string) string {
	return strings.ToUpper(s.pageURL(c, path))
}

// pageURL returns the whole address of a path.
func (s *Server) pageURL(c *gin.Context, path string) string {
	base := s.cfg.BaseURL
	if base == "" {
		base = screens.Choose(s.cfg.Secure, "https://", "http://") + c.Request.Host
	}
	return strings.TrimRight(base, "/") + path
}

// entriesMost is how many entries of a permit go on its paper.
const entriesMost = 1000

// permitPrint prints the permit as it is filed.
func (s *Server) permitPrint(c *gin.Context) error {
	p, err := s.permitOf(c)
	if err != nil {
		return err
	}
	entries, err := s.reg.Entries(c.Request.Context(), register.EntryQuery{Permit: p.ID(), After: before(0),
		Limit: entriesMost})
	if err != nil {
		return err
	}
	tell := s.teller(c.Request.Context())
	sheet := sheets.Permit(s.setting(me(c)), p, entries, tell)
	subs, err := s.permitsUnder(c.Request.Context(), p)
	if err != nil {
		return err
	}
	for _, q := range subs {
		sheet.Subs = append(sheet.Subs, sheets.Sub(q, tell))
	}
	sheet.Stamp, sheet.URL = s.stamp(c), s.codeURL(c, "/P/"+screens.PermitNumber(p.ID()))
	return s.print(c, "permit-"+screens.PermitNumber(p.ID())+".pdf",
		func(w io.Writer) error { return paper.WritePermit(w, sheet) })
}

// permitsUnder returns the permits that work, or worked, under the locks of one, by their numbers. Each has its machine
// and was requested while it was open.
func (s *Server) permitsUnder(ctx context.Context, p permits.Permit) (out []permits.Permit, err error) {
	q := register.PermitQuery{Machine: string(p.Plan().Machine), From: p.Requested().At, Limit: entriesMost}
	if p.State().IsOver() {
		q.To = p.Changed()
	}
	lines, err := s.reg.Permits(ctx, q)
	if err != nil {
		return nil, err
	}
	for _, l := range slices.Backward(lines) { // they come newest first
		of, err := s.reg.Permit(ctx, l.ID)
		if err != nil {
			return nil, err
		}
		if of.Under() == p.ID() {
			out = append(out, of)
		}
	}
	return out, nil
}

// newestEmergency returns the entry by which an emergency was declared last; none if there never was one.
func (s *Server) newestEmergency(ctx context.Context) ([]permits.Entry, error) {
	return s.reg.Entries(ctx, register.EntryQuery{Kind: permits.KindDeclareEmergency, Limit: 1})
}

// emergencyPrint prints the newest emergency: how everybody came out, what was opened at once, what was counted.
func (s *Server) emergencyPrint(c *gin.Context) error {
	ctx := c.Request.Context()
	newest, err := s.newestEmergency(ctx)
	if err != nil {
		return err
	}
	if len(newest) == 0 {
		return notThere("No emergency has been declared on this ship.", "There is nothing to print.")
	}
	var acts []permits.Entry
	for _, kind := range sheets.EmergencyActs {
		some, err := s.reg.Entries(ctx, register.EntryQuery{Kind: kind, After: &newest[0].N, Limit: entriesMost})
		if err != nil {
			return err
		}
		acts = append(acts, some...)
	}
	slices.SortFunc(acts, func(a, b permits.Entry) int { return cmp.Compare(a.N, b.N) })
	facts, parts := sheets.Emergency(s.setting(me(c)), newest[0], acts, s.teller(ctx))
	return s.report(c, "emergency.pdf", "EMERGENCY", facts, parts...)
}

// before returns a pointer to the number before n, so that entries are listed from n on.
func before(n int64) *int64 {
	n--
	return &n
}

// planPrint prints the plan sheet of a permit.
func (s *Server) planPrint(c *gin.Context) error {
	p, err := s.permitOf(c)
	if err != nil {
		return err
	}
	sheet := sheets.Plan(s.setting(me(c)), p)
	sheet.Stamp = s.stamp(c)
	return s.print(c, "permit-"+screens.PermitNumber(p.ID())+"-plan.pdf",
		func(w io.Writer) error { return paper.WritePlan(w, sheet) })
}

// scanPrint prints the sheet for the points where there is no line. The addresses of pages keep their own letters,
// other than those of tags.
func (s *Server) scanPrint(c *gin.Context) error {
	p, err := s.permitOf(c)
	if err != nil {
		return err
	}
	sheet := sheets.Scan(p, func(path string) string { return s.pageURL(c, path) })
	sheet.Stamp = s.stamp(c)
	return s.print(c, "permit-"+sheet.Number+"-scan.pdf", func(w io.Writer) error {
		return paper.WriteScanSheet(w, sheet)
	})
}

// tagsPrint prints the lock tags of an authorised permit.
func (s *Server) tagsPrint(c *gin.Context) error {
	p, err := s.permitOf(c)
	if err != nil {
		return err
	}
	if p.State().IsOver() || p.Authorised().IsZero() {
		return &permits.Refusal{Kind: permits.Refused, Gate: "print", What: "Permit " + screens.PermitNumber(p.ID()) +
			" is " +
			p.State().String() + ": it has no tags that could be hung.",
			Opens: "Tags exist from the authorisation until the permit is over."}
	}
	codes, err := s.reg.TagCodes(c.Request.Context(), p.ID())
	if err != nil {
		return err
	}
	sheet := paper.LockTagSheet{Stamp: s.stamp(c)}
	name := s.teller(c.Request.Context()).Name
	held := s.reg.Held()
	locks := p.Locks()
	if c.Query("new") == "yes" {
		locks = locks[len(locks)-len(p.Plan().NewSteps()):]
	}
	for _, l := range locks {
		t := sheets.LockTag(p, l, name)
		if code, drawn := codes[l.Step.N]; drawn {
			t.Code, t.URL = code.Text(), s.tagURL(c, code)
		}
		for _, h := range held.At(l.Step.Point, p.ID()) {
			t.SharedWith = append(t.SharedWith, screens.PermitNumber(h.Permit))
		}
		sheet.Tags = append(sheet.Tags, t)
	}
	return s.print(c, "permit-"+screens.PermitNumber(p.ID())+"-tags.pdf",
		func(w io.Writer) error { return paper.WriteLockTags(w, sheet) })
}

// labelsPrint prints the labels of points that were issued; with ?point= only those.
func (s *Server) labelsPrint(c *gin.Context) error {
	codes, err := s.reg.LabelCodes(c.Request.Context())
	if err != nil {
		return err
	}
	plant := s.reg.Plant()
	if plant == nil {
		return notThere("No plant file is in force.", "The chief engineer puts one in force.")
	}
	only := c.QueryArray("point")
	sheet := paper.PointLabelSheet{Stamp: s.stamp(c)}
	for _, n := range plant.Points() {
		code, issued := codes[n.ID]
		if !issued || len(only) > 0 && !slices.Contains(only, string(n.ID)) {
			continue
		}
		sheet.Labels = append(sheet.Labels, paper.PointLabel{Point: string(n.ID), Name: n.Name, Kind: string(n.Kind),
			Place: sheets.Place(n.Place), URL: s.tagURL(c, code), Code: code.Text()})
	}
	return s.print(c, "point-labels.pdf", func(w io.Writer) error { return paper.WritePointLabels(w, sheet) })
}

// handoverPrint prints the sheet that the off-going and the oncoming officer read through together.
func (s *Server) handoverPrint(c *gin.Context) error {
	now := s.now()
	sheet := paper.HandoverSheet{Stamp: s.stamp(c), Watch: screens.Shorten(c.Query("watch"), 20), At: now.Local()}
	tell, set := s.teller(c.Request.Context()), s.setting(me(c))
	sheet.Emergency = sheets.EmergencyWords(set.Ship.Emergency, tell)
	for _, p := range s.reg.OpenPermits() {
		sheet.Permits = append(sheet.Permits, sheets.OpenPermit(set, p, tell))
	}
	for _, n := range s.reg.Notices(c.Request.Context()) {
		sheet.Remarks = append(sheet.Remarks, n.Words+" "+n.Do)
	}
	for _, l := range s.passingLines() {
		sheet.Remarks = append(sheet.Remarks, string(l.Point)+" leaks: "+l.Words)
	}
	sheets.Watch(&sheet)
	sheet.Remarks = append(sheet.Remarks, screens.DueOf(set).Overdue()...)
	return s.print(c, "handover.pdf", func(w io.Writer) error { return paper.WriteHandover(w, sheet) })
}
