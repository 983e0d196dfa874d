package paper

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
)

// paperCounts keeps paper and register from becoming two truths.
const paperCounts = "The register decides. A signature written on this sheet counts once it has been entered there."

// permitHead is title, number, place, plant and work, with the code that leads to
// the entry's page at the right.
func (p *sheet) permitHead(s PermitSheet) error {
	const qr = 34.0
	p.title(s.Title)
	top := p.y
	if s.URL != "" {
		if err := p.drawQR(leftMM+bodyW-qr+3, top-3, qr, s.URL); err != nil {
			return fmt.Errorf("permit %s: %w", s.Number, err)
		}
		p.setFace(sans, 6.5)
		p.write(leftMM+bodyW-qr+3, top+qr-5, qr, AlignCentre, "this permit in the register")
		p.narrow = qr
	}
	p.fact("Number", s.Number)
	p.fact("State", strings.ToUpper(s.State))
	p.fact("Valid", validity(s.ValidFrom, s.ValidUntil))
	p.place(s.Place)
	p.fact("Plant", s.Plant)
	p.fact("Plant file, SHA-256", s.PlantSHA256)
	p.fact("Work", s.Work)
	if s.Under != "" {
		p.fact("Works under", s.Under)
	}
	p.fact("Log at printing", fmt.Sprintf("entry %d, %s", s.Entry, orNone(s.Hash)))
	p.narrow = 0
	if s.URL != "" && p.pdf.PageNo() == 1 {
		p.y = max(p.y, top+qr-1)
	}
	p.y += 1
	p.para(bold, paperCounts)
	return nil
}

// validity is the period in words.
func validity(from, until time.Time) string {
	if from.IsZero() && until.IsZero() {
		return ""
	}
	return "from " + orNotYet(clock(from)) + " until " + orNotYet(clock(until))
}

// orNotYet is s, or words for what has not happened.
func orNotYet(s string) string {
	if s == "" {
		return "not yet"
	}
	return s
}

// permitMeasures is hazards, precautions and protective equipment.
func (p *sheet) permitMeasures(s PermitSheet) {
	p.heading("Hazards", 8)
	p.list(s.Hazards, "None recorded.")
	p.heading("Precautions", 8)
	p.list(s.Precautions, "None recorded.")
	p.heading("Protective equipment", 8)
	p.list(s.Protective, "None recorded.")
	p.heading("What the plan does not prove", 8)
	p.list(s.Unproved, "Nothing is listed. The plan knows only what the plant file says.")
}

const issueHeading = "Issue: the measures are in place as planned"

// permitSignatures is authorisation, issue, acceptance, extension, hand-back, cancellation.
func (p *sheet) permitSignatures(s PermitSheet) {
	for _, g := range []struct {
		heading string
		signed  []Signature
		line    bool // a line to sign on if nobody did
	}{
		{"Authorisation: isolate as planned; only the stated work may be done", s.Authorisation, true},
		{issueHeading, s.Issue, true},
		{"Acceptance: I have read this permit and will keep the work within it", s.Acceptance, true},
		{"Extension", s.Extension, false},
		{"Hand-back: people and tools are clear, guards are back", s.HandBack, true},
		{"Cancellation or closing", s.Cancellation, true},
	} {
		p.heading(g.heading, 12)
		for _, sig := range g.signed {
			p.para(sans, signatureWords(sig))
		}
		switch {
		case len(g.signed) == 0 && s.Under != "" && g.heading == issueHeading:
			p.para(sans, "Issued with the permit under whose locks it works.")
		case len(g.signed) == 0 && g.line:
			p.signLine("Not signed yet", Signature{})
		case len(g.signed) == 0:
			p.para(sans, "None.")
		}
	}
}

// signatureWords is a signature in one line: who, as what, did what, when, why.
func signatureWords(s Signature) string {
	parts := []string{s.Name}
	if s.Role != "" {
		parts[0] += " (" + s.Role + ")"
	}
	for _, t := range []string{s.Act, clock(s.At), s.Note} {
		if t != "" {
			parts = append(parts, t)
		}
	}
	if s.Entry > 0 {
		parts = append(parts, fmt.Sprintf("log %d", s.Entry))
	}
	return strings.Join(parts, ", ")
}

// permitLocks is the lock log in the order of fitting.
func (p *sheet) permitLocks(s PermitSheet) {
	p.heading("Locks and tags", 24)
	switch {
	case s.Under != "":
		p.para(sans, "None of its own. It works under "+s.Under)
		return
	case len(s.Locks) == 0:
		p.para(sans, "None recorded.")
		return
	}
	rows := make([][]cell, 0, len(s.Locks))
	for _, l := range s.Locks {
		row := texts(fmt.Sprint(l.Step), lockWords(l), pointWords(l), "", signed(l.PostedBy, l.PostedAt),
			signed(l.CheckedBy, l.CheckedAt), "", clearedWords(l))
		row[3].pos, row[6].pos = l.Held, l.Clearance
		rows = append(rows, row)
	}
	p.table([]column{{"no.", 7, bold}, {"lock", 15, mono}, {"point and place", 36, sans}, {"held", 26, bold},
		{"posted by", 24, sans}, {"checked by", 24, sans}, {"clearance position", 23, sans}, {"cleared by", 23, sans}}, rows)
}

// permitBack is what is done between the locks when they come off.
func (p *sheet) permitBack(list []BackRecord) {
	p.heading("Between the locks on the way back", 18)
	if len(list) == 0 {
		p.para(sans, "Nothing is planned.")
		return
	}
	rows := make([][]cell, 0, len(list))
	for _, b := range list {
		by := orNotYet(signed(b.By, b.At))
		if b.LeftOut != "" {
			by = "LEFT OUT: " + b.LeftOut + "; " + by
		}
		rows = append(rows, texts(b.Do, b.Why, by))
	}
	p.table([]column{{"what", 84, bold}, {"why", 54, sans}, {"done by", 40, sans}}, rows)
}

// lockWords is the lock's number, or that a tag hangs without one.
func lockWords(l LockRecord) string {
	if !l.TagOnly {
		return l.LockNumber
	}
	return strings.TrimSpace(l.LockNumber + " tag only")
}

// pointWords is a point with name, place and what holds it where no lock can.
func pointWords(l LockRecord) string {
	parts := []string{l.Point}
	for _, t := range []string{l.Name, l.Place.String()} {
		if t != "" {
			parts = append(parts, t)
		}
	}
	if l.TagOnly && l.Measure != "" {
		parts = append(parts, "instead of a lock: "+l.Measure)
	}
	return strings.Join(parts, " · ")
}

// clearedWords says who cleared a point, or that it is still held.
func clearedWords(l LockRecord) string {
	s := signed(l.ClearedBy, l.ClearedAt)
	switch {
	case s != "":
	case l.PostedBy != "":
		s = "STILL ON"
	default:
		s = "not fitted"
	}
	if l.Note != "" {
		s += "; " + l.Note
	}
	return s
}

// permitDrains is what came out of each section, and where the oil went.
func (p *sheet) permitDrains(s PermitSheet) {
	p.heading("Draining", 20)
	if len(s.Drains) == 0 {
		p.para(sans, "None recorded.")
	} else {
		rows := make([][]cell, 0, len(s.Drains))
		for _, d := range s.Drains {
			rows = append(rows, texts(d.Section+" · "+orNone(d.Drain), litres(d.ExpectedL)+" ± "+litres(d.SpreadL),
				litres(d.OutL),
				litres(d.HoldInL)+" in "+duration(d.Hold), measured(d.GaugeKnown, d.GaugeBar, "%.2f"),
				measured(d.TempKnown, d.TempC, "%.0f"),
				strings.TrimSuffix(strings.ToUpper(d.Verdict)+": "+d.Words, ": "), signed(d.By, d.At)))
		}
		p.table([]column{{"section · drain", 28, sans}, {"expected, l", 17, sans}, {"out, l", 13, bold},
			{"came back in the hold, l", 20, sans},
			{"gauge, bar", 13, sans}, {"°C", 11, sans}, {"verdict", 48, bold}, {"by", 28, sans}}, rows)
	}
	p.heading("Drained oil accounted for", 12)
	if len(s.Oil) == 0 {
		p.para(sans, "None recorded.")
		return
	}
	rows := make([][]cell, 0, len(s.Oil))
	for _, o := range s.Oil {
		rows = append(rows, texts(o.Fluid, litres(o.Litres), o.To))
	}
	p.table([]column{{"what", 50, sans}, {"litres", 24, bold}, {"went to", 104, sans}}, rows)
}

// measured is a value that was read, or that it was not.
func measured(known bool, v float64, format string) string {
	if !known || math.IsNaN(v) || math.IsInf(v, 0) {
		return "not read"
	}
	return fmt.Sprintf(format, v)
}

// permitReadings is each measured value against its limit.
func (p *sheet) permitReadings(readings []ReadingRecord) {
	p.heading("Readings", 18)
	if len(readings) == 0 {
		p.para(sans, "None recorded.")
		return
	}
	rows := make([][]cell, 0, len(readings))
	for _, r := range readings {
		within := "within"
		if !r.Within {
			within = "BEYOND"
		}
		rows = append(rows, texts(r.What, r.Value, r.Limit, within, r.Rule, signed(r.By, r.At)))
	}
	p.table([]column{{"what", 38, sans}, {"read", 22, bold}, {"limit", 26, sans}, {"result", 16, bold},
		{"judged by", 40, sans}, {"by", 36, sans}}, rows)
}

// permitDeviations is what was departed from.
func (p *sheet) permitDeviations(list []Deviation) {
	p.heading("Deviations accepted", 8)
	if len(list) == 0 {
		p.para(sans, "None.")
	}
	for _, d := range list {
		p.framed(d.Text + " · " + acceptedWords(d.Accepted))
	}
}

// acceptedWords says by whom a deviation was accepted.
func acceptedWords(s Signature) string {
	if !s.IsSigned() {
		return "NOT ACCEPTED BY ANYBODY"
	}
	s.Act = ""
	return "accepted by " + signatureWords(s)
}

// permitLog is every signed act in the order of the log, and what was refused.
func (p *sheet) permitLog(s PermitSheet) {
	p.heading("Signed acts, in the order of the log", 18)
	if len(s.Signatures) == 0 {
		p.para(sans, "None.")
	} else {
		rows := make([][]cell, 0, len(s.Signatures))
		for _, g := range slices.SortedStableFunc(slices.Values(s.Signatures),
			func(a, b Signature) int { return cmp.Compare(a.Entry, b.Entry) }) {
			rows = append(rows, texts(fmt.Sprint(g.Entry), clock(g.At), g.Act, g.Name, g.Role, g.Note))
		}
		p.table([]column{{"log", 14, bold}, {"when", 36, sans}, {"act", 36, bold}, {"name", 34, sans}, {"role", 28, sans},
			{"remark", 30, sans}}, rows)
	}
	if len(s.Refused) == 0 {
		return
	}
	p.heading("Refused: these acts changed nothing", 18)
	rows := make([][]cell, 0, len(s.Refused))
	for _, r := range s.Refused {
		rows = append(rows, texts(clock(r.At), r.By, r.Act, r.Why))
	}
	p.table([]column{{"when", 36, sans}, {"who", 32, sans}, {"act", 32, bold}, {"refused because", 78, sans}}, rows)
}
