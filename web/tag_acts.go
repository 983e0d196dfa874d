package web

import (
	"errors"
	"fmt"
	"slices"
	"strconv"

	"github.com/gin-gonic/gin"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/register"
	"stillwatch/web/screens"
)

// onTag reads which lock tag a form is about: on the tag's own page by the address, on the walk by the field. A code
// that is none, or is no lock tag, or is of another permit than the walk, shows the page again, which says so.
func (s *Server) onTag(c *gin.Context) (register.Tag, permits.TagCode, error) {
	typed := c.Param("code")
	if onWalk(c) {
		typed = codeTyped(formOf(c).text("code"))
	}
	tag, code, err := s.tagOf(c, typed)
	switch {
	case err != nil:
	case tag.Kind != register.LockTag:
		err = &permits.Refusal{Kind: permits.Refused, Gate: "fit lock", Field: "code", What: "This is the label of " +
			string(tag.Point) + ", not a lock tag.", Opens: "Scan the tag of the permit."}
	case onWalk(c) && screens.PermitNumber(tag.Permit) != c.Param("id"):
		err = &permits.Refusal{Kind: permits.Refused, Gate: "fit lock", Field: "code", What: "This tag is of permit " +
			screens.PermitNumber(tag.Permit) + ", for " + string(tag.Point) + ".", Opens: "Scan the tag of permit " +
			c.Param("id") +
			"."}
	}
	return tag, code, err
}

// position reads a position; anything that is none is a fault of the form.
func (f *form) position(field string) isolation.Position {
	p := isolation.Position(f.text(field))
	if !slices.Contains([]isolation.Position{isolation.Open, isolation.Closed, isolation.Fitted, isolation.Removed}, p) {
		f.wrong(field, "Look at the point and say in which position you see it.")
		return ""
	}
	return p
}

// how reads in which way the tag was read; anything unknown counts as typed, which proves least.
func (f *form) how() string {
	if how := f.text("how"); slices.Contains(waysOfReading, how) {
		return how
	}
	return "typed"
}

// lockFit takes a lock or tag that was hung.
func (s *Server) lockFit(c *gin.Context) error {
	tag, code, err := s.onTag(c)
	if err != nil {
		return s.tagFault(c, "fit", err)
	}
	f := formOf(c)
	act := permits.FitLock{Tag: code.Digest(), Position: f.position("position"),
		Padlock: f.padlock(), How: f.how(),
		MeasureDone: f.yes("measure_done"), NoPressure: f.yes("no_pressure"), KeptS: f.countOr("kept_s", 0)}
	if act.Label, err = s.labelFor(c, f, tag); err != nil {
		return err
	}
	return s.doTag(c, tag, code, doing{form: "fit", act: act, after: s.useLabelUp,
		done: fmt.Sprintf("Recorded: %d hangs on %s. A second person looks at it next.", tag.Step, tag.Point)})
}

// padlock reads the number on a lock. The page puts its beginning in, as on the last lock; that alone is no number.
func (f *form) padlock() permits.Padlock {
	number := f.text("padlock")
	if number != "" && number == f.text("prefix") {
		f.wrong("padlock", "Only the beginning of the lock's number is there. Type the number that stands on it.")
	}
	return permits.Padlock(number)
}

// labelFor returns the point label that goes with a fit: the one typed into the form, else the one scanned before the
// tag. One that is left over from a point where the permit's tag hangs already is none.
func (s *Server) labelFor(c *gin.Context, f *form, tag register.Tag) (permits.TagDigest, error) {
	if typed := f.text("label"); typed != "" {
		label, err := permits.ParseTagCode(typed)
		var no *permits.Refusal
		if errors.As(err, &no) {
			f.wrong("label", "The point's label: %s", no.What)
			return "", nil
		}
		return label.Digest(), nil
	}
	read, ok := s.label(c)
	if !ok {
		return "", nil
	}
	p, err := s.reg.Permit(c.Request.Context(), tag.Permit)
	if err != nil {
		return "", err
	}
	if read.Point != tag.Point && screens.LabelFor(p, read).Stale {
		return "", nil
	}
	return read.Code.Digest(), nil
}

// lockCheck takes what a second person saw.
func (s *Server) lockCheck(c *gin.Context) error {
	tag, code, err := s.onTag(c)
	if err != nil {
		return s.tagFault(c, "check", err)
	}
	f := formOf(c)
	if f.text("seen") != "right" {
		f.wrong("seen", "Look at position, lock and tag. If they are right, confirm it; if not, record what is wrong.")
	}
	return s.doTag(c, tag, code, doing{form: "check", act: permits.CheckLock{N: tag.Step},
		done: fmt.Sprintf("Recorded: %d on %s was seen right.", tag.Step, tag.Point)})
}

// lockLook takes a look that is signed at the end of the walk.
func (s *Server) lockLook(c *gin.Context) error {
	f := formOf(c)
	tag, code, err := s.onTag(c)
	if shown, ok := s.labelSeen(c, f); ok {
		tag, err = shown, nil
	}
	if err != nil {
		return s.tagFault(c, "look", err)
	}
	if shown := f.text("n"); shown != "" && shown != strconv.Itoa(tag.Step) {
		f.wrong("code", "This is tag %d; what you said is about tag %s. Look at tag %s, or open the page of tag %d.",
			tag.Step,
			shown, shown, tag.Step)
	}
	d := doing{form: "look", act: permits.Look{N: tag.Step, How: f.how(), KeptS: f.countOr("kept_s", 0)},
		done: fmt.Sprintf("Noted: %d on %s looks right. It counts when you sign at the end.", tag.Step, tag.Point)}
	if !onWalk(c) {
		return s.doTag(c, tag, code, d)
	}
	d.permit, d.then, d.again, d.next = tag.Permit, screens.LooksPath(tag.Permit), s.looksAgain, s.nextLook
	return s.do(c, d)
}

// labelSeen returns the step that is looked at by the label of its point: its lock and tag are off, and hang there no
// more. The label must be of the point of the step that was shown. A tag that hangs is read itself.
func (s *Server) labelSeen(c *gin.Context, f *form) (register.Tag, bool) {
	if !onWalk(c) {
		return register.Tag{}, false
	}
	label, _, err := s.tagOf(c, codeTyped(f.text("code")))
	if err != nil || label.Kind != register.PointLabel {
		return register.Tag{}, false
	}
	p, err := s.permitOf(c)
	n, bad := strconv.Atoi(f.text("n"))
	l, known := p.Lock(n)
	if err != nil || bad != nil || !known || l.Step.Point != label.Point || l.Off().IsZero() {
		return register.Tag{}, false
	}
	return register.Tag{Kind: register.LockTag, Permit: p.ID(), Step: n, Point: label.Point}, true
}

// lockFindWrong takes what anybody of the crew saw wrong at a lock that is recorded as hanging.
func (s *Server) lockFindWrong(c *gin.Context) error {
	tag, code, err := s.onTag(c)
	if err != nil {
		return s.tagFault(c, "wrong", err)
	}
	act := permits.FindWrong{N: tag.Step, Words: formOf(c).text("words")}
	return s.doTag(c, tag, code, doing{form: "wrong", act: act,
		done: fmt.Sprintf("Recorded: %d on %s is wrong. Tell the officer of the watch. Nobody works on.", tag.Step,
			tag.Point)})
}

// restoredCheck takes what a second person saw at a point whose lock came off.
func (s *Server) restoredCheck(c *gin.Context) error {
	tag, code, err := s.onTag(c)
	if err != nil {
		return s.tagFault(c, "see", err)
	}
	f := formOf(c)
	act := permits.CheckRestored{N: tag.Step}
	done := fmt.Sprintf("Recorded: %s was seen right.", tag.Point)
	switch f.text("seen") {
	case "right":
	case "wrong":
		if act.Wrong = f.text("wrong"); act.Wrong == "" {
			f.wrong("wrong", "Say in a few words what is wrong.")
		}
		done = fmt.Sprintf("Recorded: %s stands wrong. Have it put right; then look again.", tag.Point)
	default:
		f.wrong("seen", "Look at the point, then say whether it stands right.")
	}
	return s.doTag(c, tag, code, doing{form: "see", act: act, done: done})
}

// lockRemove takes a lock or tag that came off.
func (s *Server) lockRemove(c *gin.Context) error {
	tag, code, err := s.onTag(c)
	if err != nil {
		return s.tagFault(c, "remove", err)
	}
	f := formOf(c)
	act := permits.RemoveLock{Tag: code.Digest(), Position: f.position("position"), How: f.how()}
	return s.doTag(c, tag, code, doing{form: "remove", act: act,
		done: fmt.Sprintf("Recorded: %d is off %s.", tag.Step, tag.Point)})
}

// lockLift takes a lock or tag that came off for a test run.
func (s *Server) lockLift(c *gin.Context) error {
	tag, code, err := s.onTag(c)
	if err != nil {
		return s.tagFault(c, "lift", err)
	}
	f := formOf(c)
	act := permits.LiftLock{Tag: code.Digest(), Position: f.position("position"), How: f.how()}
	return s.doTag(c, tag, code, doing{form: "lift", act: act,
		done: fmt.Sprintf("Recorded: %d is off %s for the test.", tag.Step, tag.Point)})
}

// doTag does an act on the tag's permit and shows the page from which it came afterwards.
func (s *Server) doTag(c *gin.Context, tag register.Tag, code permits.TagCode, d doing) error {
	d.permit, d.then = tag.Permit, screens.TagPath(code.Text())
	d.again = func(c *gin.Context, b screens.Back) error { return s.tagAgain(c, code.Text(), b) }
	if onWalk(c) {
		d.then, d.again = screens.WalkPath(tag.Permit), s.walkAgain
	}
	d.next = s.nextOnWalk
	return s.do(c, d)
}

// tagFault shows the page again for a code with which nothing can be done.
func (s *Server) tagFault(c *gin.Context, name string, err error) error {
	var no *permits.Refusal
	if !errors.As(err, &no) {
		return err
	}
	switch b := refusedForm(name, formOf(c), no); {
	case toScript(c):
		tellRefused(c, statusOfForm(b), no)
		return nil
	case onWalk(c) && name == "look":
		return s.looksAgain(c, b)
	case onWalk(c):
		return s.walkAgain(c, b)
	default:
		return s.tagAgain(c, c.Param("code"), b)
	}
}
