package paper

import (
	"fmt"
	"io"
	"strings"
	"time"
)

// LockTag is the tag hung on one point for one step of one permit.
type LockTag struct {
	Permit, Title string // permit's number and title
	Machine       string // name of what is worked on
	Step, Of      int    // step number, 1..Of, in the order of fitting
	Point, Name   string // id and name of the point; the id must not be empty
	Place         Place
	Held          Position // position in which the point is held; must be set
	Clearance     Position // position to which it returns; must be set
	// Proves marks a drain or vent that is held open because it proves the isolation.
	Proves bool
	// TagOnly says that no lock can be fitted; Measure then names the further physical
	// measure that replaces it (29 CFR 1915.89(c)(4)), a line to write on if empty.
	TagOnly bool
	Measure string
	// LockNumber is the number on the padlock; a line to write on if empty.
	LockNumber string
	// FittedBy and CheckedBy are filled in by hand on the paper where not set.
	FittedBy, CheckedBy string
	FittedAt, CheckedAt time.Time
	AuthorisedBy        string
	AuthorisedAt        time.Time
	ValidUntil          time.Time
	SharedWith          []string // numbers of other permits that hold the same point
	URL                 string   // content of the QR code, upper case for the smallest symbol; must not be empty
	Code                string   // the code as it stands in URL, its check character last
}

// LockTagSheet is a set of lock tags, several to a page.
type LockTagSheet struct {
	Stamp
	Tags []LockTag
}

// WriteLockTags writes the tags as PDF, four to an A4 page with cut marks and a mark
// for the hole. Refuses (ErrIncomplete) a sheet without tags, and a tag without point,
// position or clearance position, one that proves but is not open, or whose code checkCode refuses. Nothing is written
// on error.
func WriteLockTags(w io.Writer, s LockTagSheet) error {
	if len(s.Tags) == 0 {
		return fmt.Errorf("%w: no tags", ErrIncomplete)
	}
	for _, t := range s.Tags {
		if err := t.check(); err != nil {
			return err
		}
	}
	return produce(w, s.Stamp, func(p *sheet) error {
		p.pdf.SetTitle(p.clean("Lock tags "+s.Tags[0].Permit), true)
		p.pdf.SetFooterFunc(p.cellFoot)
		return tagGrid.each(p, len(s.Tags), func(i int, x, y float64) error {
			return p.lockTag(x, y, s.Tags[i])
		})
	})
}

// check refuses a tag that would say too little to be hung.
func (t LockTag) check() error {
	switch {
	case t.Point == "":
		return fmt.Errorf("%w: tag for step %d has no point", ErrIncomplete, t.Step)
	case !t.Held.IsSet():
		return fmt.Errorf("%w: tag for %s has no position", ErrIncomplete, t.Point)
	case !t.Clearance.IsSet():
		return fmt.Errorf("%w: tag for %s has no clearance position", ErrIncomplete, t.Point)
	case t.Proves && (t.Held.Mark == ValveShut || t.Held.Mark == PlugIn):
		return fmt.Errorf("%w: tag for %s is to prove the isolation, but is held %s", ErrIncomplete, t.Point, t.Held.Words())
	case t.Permit == "" || t.Step < 1 || t.Step > t.Of:
		return fmt.Errorf("%w: tag for %s has no permit or is step %d of %d", ErrIncomplete, t.Point, t.Step, t.Of)
	}
	return checkCode("tag for "+t.Point, t.Code, t.URL)
}

// The tag's layout, mm from its upper left corner. The signal word must be readable
// at 5 ft (1.5 m) (29 CFR 1910.145(f)(4)); its capitals are 11 mm high, against the
// 10 mm that TestSignalWordIsTenMillimetresHigh measures in the rendered page.
const (
	tagPad      = 4.5
	bandTop     = 15.0
	bandH       = 17.0
	signalCapMM = 11.0
	majorCapMM  = 6.0
	heldTop     = 44.5
	pointTop    = 66.5
	factsTop    = 87.5
	tagQR       = 36.0
)

// lockTag draws one tag with its upper left corner at x, y.
func (p *sheet) lockTag(x, y float64, t LockTag) error {
	p.ink()
	w := tagGrid.w - 2*tagPad
	p.tagHole(x, y, t)
	p.signal(x, y)
	p.held(x+tagPad, y+heldTop, w, t)

	p.pdf.Line(x+tagPad, y+pointTop, x+tagPad+w, y+pointTop)
	py := y + pointTop + 1.2
	py += p.block(box{x: x + tagPad, y: py, w: w, h: 7.8, face: mono, maxPt: 18, minPt: 6}, t.Point)
	py += p.block(box{x: x + tagPad, y: py, w: w, h: 8, face: bold, maxPt: 11, minPt: 6}, t.Name)
	p.block(box{x: x + tagPad, y: py + 0.3, w: w, h: y + factsTop - py - 0.5, face: sans, maxPt: 9, minPt: 5},
		t.Place.String())
	p.pdf.Line(x+tagPad, y+factsTop, x+tagPad+w, y+factsTop)

	qrX := x + tagGrid.w - tagPad - tagQR + 3 // the white margin may reach into the padding
	if err := p.drawQR(qrX, y+factsTop+0.5, tagQR, t.URL); err != nil {
		return fmt.Errorf("tag for %s: %w", t.Point, err)
	}
	p.block(box{x: qrX - 1, y: y + factsTop + tagQR, w: tagQR - 2, h: 7, face: mono, maxPt: 11, minPt: 4,
		align: AlignCentre}, groupCode(t.Code))
	p.tagFacts(x+tagPad, y+factsTop+1.5, w-tagQR+1, t)

	p.block(box{x: x + tagPad, y: y + tagGrid.h - 10.2, w: w, h: 5.4, face: sans, maxPt: 6, minPt: 5}, Caution)
	p.block(box{x: x + tagPad, y: y + tagGrid.h - 4.6, w: w, h: 2.8, face: sans, maxPt: 6, minPt: 4}, p.origin())
	return nil
}

// tagHole marks where the tie goes through, between the ship's name and the permit.
// The tie: hand-fitted, self-locking, not reusable, holds 222 N (29 CFR 1910.147(c)(5)).
func (p *sheet) tagHole(x, y float64, t LockTag) {
	cx, cy := x+tagGrid.w/2, y+7.5
	p.pdf.Circle(cx, cy, 3, "D")
	p.pdf.Line(cx-1.2, cy, cx+1.2, cy)
	p.pdf.Line(cx, cy-1.2, cx, cy+1.2)
	side := tagGrid.w/2 - tagPad - 5
	p.block(box{x: x + tagPad, y: y + 4, w: side, h: 4, face: bold, maxPt: 8.5, minPt: 5}, p.stamp.Ship)
	p.block(box{x: x + tagPad, y: y + 8, w: side, h: 6, face: sans, maxPt: 6, minPt: 6}, "Tie: not reusable, holds 222 N")
	p.block(box{x: cx + 5, y: y + 3.6, w: side, h: 5, face: mono, maxPt: 11, minPt: 4, align: AlignRight},
		"permit "+t.Permit)
	p.block(box{x: cx + 5, y: y + 8.6, w: side, h: 4, face: bold, maxPt: 8.5, minPt: 6, align: AlignRight},
		fmt.Sprintf("step %d of %d", t.Step, t.Of))
}

// signal draws the signal word on its black band and the major message below.
func (p *sheet) signal(x, y float64) {
	p.pdf.Rect(x+tagPad, y+bandTop, tagGrid.w-2*tagPad, bandH, "F")
	p.setFace(bold, signalCapMM/capHeight/mmPerPt)
	p.pdf.SetTextColor(255, 255, 255)
	p.write(x, y+bandTop+(bandH-p.lineMM())/2, tagGrid.w, AlignCentre, "DANGER")
	p.ink()
	p.setFace(bold, majorCapMM/capHeight/mmPerPt)
	p.write(x, y+bandTop+bandH+(heldTop-bandTop-bandH-p.lineMM())/2, tagGrid.w, AlignCentre, "DO NOT OPERATE")
}

// held draws the position in which the point is held: symbol, word, and whether a
// lock holds it or only a further measure.
func (p *sheet) held(x, y, w float64, t LockTag) {
	const side = 20.0
	p.pdf.SetLineWidth(0.8)
	p.pdf.Rect(x, y, side, side, "D")
	p.ink()
	p.symbol(t.Held.Mark, x+1.5, y+2.5, side-3, side-5)
	tx, tw := x+side+3, w-side-3
	p.block(box{x: tx, y: y - 0.5, w: tw, h: 11, face: bold, maxPt: 26, minPt: 7}, "HELD "+t.Held.Words())
	line := y + 10.7
	if t.Proves {
		line += p.block(box{x: tx, y: line, w: tw, h: 3.6, face: bold, maxPt: 8.5, minPt: 6},
			"drain or vent that proves the isolation")
	}
	const owner = "Only the person who fitted it takes it off."
	line += p.block(box{x: tx, y: line, w: tw, h: 4.2, face: sans, maxPt: 9.5, minPt: 6},
		"Returns to: "+t.Clearance.Words())
	if !t.TagOnly {
		p.block(box{x: tx, y: line, w: tw, h: y + side + 1 - line, face: sans, maxPt: 7.5, minPt: 5}, owner)
		return
	}
	holds := "A tag alone: nothing else holds it."
	if t.Measure != "" {
		holds = "NO LOCK POSSIBLE. Also done: " + t.Measure
	}
	p.block(box{x: tx, y: line, w: tw, h: y + side + 1.5 - line, face: bold, maxPt: 8, minPt: 5}, holds)
}

// tagFacts draws the left column: what for, by whose authority, until when, and the
// lines to be written on.
func (p *sheet) tagFacts(x, y, w float64, t LockTag) {
	work := t.Title
	if t.Machine != "" {
		work = t.Machine + ": " + work
	}
	if len(t.SharedWith) > 0 {
		work += " · Also held for " + strings.Join(t.SharedWith, ", ")
	}
	p.block(box{x: x, y: y, w: w, h: 7.4, face: bold, maxPt: 8.5, minPt: 5}, work)
	y += 8
	for _, f := range []struct{ label, text string }{
		{"Authorised", signed(t.AuthorisedBy, t.AuthorisedAt)},
		{"Valid until", clock(t.ValidUntil)},
		{"Lock no.", lockNumber(t)},
		{"Fitted", signed(t.FittedBy, t.FittedAt)},
		{"Checked", signed(t.CheckedBy, t.CheckedAt)},
	} {
		p.line(box{x: x, y: y, w: w, h: 6.2}, f.label, f.text)
		y += 6.6
	}
}

// lockNumber is the number of the lock, or that there is none.
func lockNumber(t LockTag) string {
	if t.LockNumber == "" && t.TagOnly {
		return "none: tag only"
	}
	return t.LockNumber
}

// line writes a label and its text, or a line to write on where there is no text.
func (p *sheet) line(b box, label, text string) {
	const labelW = 14.0
	p.setFace(sans, 6.5)
	p.write(b.x, b.y+b.h-p.lineMM()-0.6, labelW, AlignLeft, label)
	p.pdf.SetLineWidth(0.1)
	p.pdf.Line(b.x+labelW, b.y+b.h, b.x+b.w, b.y+b.h)
	p.ink()
	b.x, b.w, b.face, b.maxPt, b.minPt = b.x+labelW, b.w-labelW, bold, 7.5, 4.5
	if text = p.clean(text); text == "" {
		return
	}
	used := float64(min(len(p.fit(b, text)), int(b.h/p.lineMM()))) * p.lineMM()
	b.y, b.h = b.y+b.h-used-0.3, used+0.05
	p.block(b, text)
}

// signed is a name with the time, empty if there is no name.
func signed(name string, at time.Time) string {
	if name == "" {
		return ""
	}
	if at.IsZero() {
		return name
	}
	return name + ", " + clock(at)
}
