package paper

import (
	"fmt"
	"io"
	"strings"
	"time"
)

// HandoverSheet is read through by the off-going and the oncoming officer together.
type HandoverSheet struct {
	Stamp
	Watch     string    // "08–12" or another name of the watch that begins; "" leaves a line to write it on
	At        time.Time // when the sheet was printed: what stands in it was so then
	From      Signature // off-going; a line to sign on if not signed
	To        Signature // oncoming
	Emergency string    // that one is declared, in words; "" if none is
	Permits   []OpenPermit
	Remarks   []string
}

// OpenPermit is one permit that goes over to the next watch.
type OpenPermit struct {
	Number, Title  string // the number must not be empty
	Place          Place
	State          string   // must not be empty
	Next           []string // everything that is awaited, each with who it waits for
	Officer        string   // who answers for it, and whether it is being handed over; "" takes no line
	InCharge       string   // person in charge of the work
	LocksOn, Locks int      // fitted now, of how many
	Unchecked      int      // fitted but not yet checked by a second person
	People         []string // signed on now
	ValidUntil     time.Time
	Lifted         []string  // what came off for a test run, and how its point stands
	From, To       Signature // of the last handing over of this permit; none takes no line
	Locking        []string  // under whose locks it works, what works under its own, whose lock is on its group box
	Alarm          []string  // what endangers people now, in words
	Overdue        []string  // what is past its time, in words
	Remarks        []string  // what this watch should know
}

// WriteHandover writes the sheet as PDF. No open permits is a sheet that says so.
// Refuses (ErrIncomplete) a permit without number or state. Nothing is written on error.
func WriteHandover(w io.Writer, s HandoverSheet) error {
	for _, o := range s.Permits {
		if o.Number == "" || o.State == "" {
			return fmt.Errorf("%w: open permit %q has no number or no state", ErrIncomplete, o.Title)
		}
	}
	return produce(w, s.Stamp, func(p *sheet) error {
		p.begin("HANDING OVER THE WATCH", s.Watch)
		if s.Watch == "" {
			p.blank("Watch that begins", "name of the watch, and when it changes")
		} else {
			p.fact("Watch that begins", s.Watch)
		}
		if s.Emergency != "" {
			p.framed("EMERGENCY: " + s.Emergency)
		}
		p.fact("As it stood at", clock(s.At))
		p.fact("Open permits", fmt.Sprint(len(s.Permits)))
		overdue := 0
		for _, o := range s.Permits {
			if len(o.Overdue) > 0 {
				overdue++
			}
		}
		p.fact("Of these overdue", fmt.Sprint(overdue))
		if len(s.Permits) == 0 {
			p.heading("Open permits", 8)
			p.para(sans, "There was no open permit at the entry of the log named below.")
		}
		for _, o := range s.Permits {
			p.openPermit(o)
		}
		p.heading("Remarks for the next watch", 12)
		p.list(s.Remarks, "None recorded.")
		p.heading("Signatures: both have read every permit above, together", 34)
		p.para(sans, paperCounts)
		p.signLine("Off-going", s.From)
		p.signLine("Oncoming", s.To)
		return nil
	})
}

// openPermit writes one permit; what is overdue comes first and is framed, so that it
// is seen on a copy without colour.
func (p *sheet) openPermit(o OpenPermit) {
	p.heading("Permit "+o.Number+" – "+o.Title, 30)
	if len(o.Alarm) > 0 {
		p.framed("ALARM: " + strings.Join(o.Alarm, " · "))
	}
	if len(o.Overdue) > 0 {
		p.framed("OVERDUE: " + strings.Join(o.Overdue, " · "))
	}
	p.fact("State", strings.ToUpper(o.State))
	p.fact("Locks and tags on", locksOn(o))
	for i, words := range o.Lifted {
		p.fact(firstOf(i, "For the test"), strings.ToUpper(words[:1])+words[1:])
	}
	for i, words := range o.Locking {
		p.fact(firstOf(i, "Shared locking"), words)
	}
	p.fact("Signed on now", orNobody(o.People))
	if o.Officer != "" {
		p.fact("Officer", o.Officer)
	}
	for i, s := range []Signature{o.From, o.To} {
		if s.IsSigned() {
			p.fact([]string{"Handed over", "Taken over"}[i], signatureWords(s))
		}
	}
	p.fact("In charge", o.InCharge)
	p.place(o.Place)
	p.fact("Valid until", clock(o.ValidUntil))
	for i, awaited := range o.Next {
		p.fact(firstOf(i, "Awaited"), awaited)
	}
	if len(o.Remarks) > 0 {
		p.fact("To know", strings.Join(o.Remarks, " · "))
	}
}

// locksOn is how many points are held, and how many of these nobody has checked.
func locksOn(o OpenPermit) string {
	s := fmt.Sprintf("%d of %d", o.LocksOn, o.Locks)
	if o.Unchecked > 0 {
		s += fmt.Sprintf(", %d NOT YET CHECKED by a second person", o.Unchecked)
	}
	return s
}

// firstOf is the label of the first of several lines; those below stand without.
func firstOf(i int, label string) string {
	if i > 0 {
		return ""
	}
	return label
}

// orNobody joins names; none is said.
func orNobody(names []string) string {
	if len(names) == 0 {
		return "nobody"
	}
	return strings.Join(names, ", ")
}

// place says where; a place that is not known takes no line.
func (p *sheet) place(at Place) {
	if words := at.String(); words != "" {
		p.fact("Place", words)
	}
}

// blank is a fact that is written in by hand: a line, and under it what goes on it.
func (p *sheet) blank(label, under string) {
	const labelW, lineW = 34, 96
	p.room(12)
	p.y += 4
	p.setFace(bold, bodyPt)
	p.write(leftMM, p.y, labelW, AlignLeft, label)
	base := p.y + p.lineMM() + 0.2
	p.pdf.Line(leftMM+labelW, base, leftMM+labelW+lineW, base)
	p.setFace(sans, 6.5)
	p.write(leftMM+labelW, base+0.3, lineW, AlignLeft, under)
	p.y = base + 4
}

// signLine is a signature that was made in the register, or a line to sign on.
func (p *sheet) signLine(label string, s Signature) {
	p.room(12)
	if s.IsSigned() {
		p.fact(label, signatureWords(s))
		return
	}
	p.y += 7
	p.setFace(bold, bodyPt)
	p.write(leftMM, p.y, 34, AlignLeft, label)
	base := p.y + p.lineMM() + 0.2
	p.setFace(sans, 6.5)
	for _, f := range []struct {
		label string
		x, w  float64
	}{{"name and role", 34, 56}, {"signature", 94, 44}, {"date and time", 142, 36}} {
		p.pdf.Line(leftMM+f.x, base, leftMM+f.x+f.w, base)
		p.write(leftMM+f.x, base+0.3, f.w, AlignLeft, f.label)
	}
	p.y = base + 3.5
}
