package web

import (
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/register"
)

// tagOpenPage is what a scanned lock tag opens on a phone: one next action, large; or why there is none now.
type tagOpenPage struct {
	base
	tagView
	Code    string     // for the form's address
	How     string     // how the code came here
	Label   *readLabel // the point label that was scanned before this tag
	Unknown string     // why the code is none of ours; nothing else is shown then
	Try     string     // what to do about an unknown code
}

// tagTurn is what a tag is good for at this moment.
type tagTurn string

// The turns of a tag.
const (
	turnFit    tagTurn = "fit"
	turnCheck  tagTurn = "check"
	turnRemove tagTurn = "remove"
	turnDrain  tagTurn = "drain"
	turnWait   tagTurn = "wait" // not its turn; Words says whose
	turnOver   tagTurn = "over" // the permit is over: the tag does nothing any more
)

// BreaksJoint reports whether the step opens a joint, so that the line must be seen without pressure first.
func (v tagView) BreaksJoint() bool { return v.Lock.Step.Phase == isolation.PhaseBlank }

// tagView is one tag of one permit as it stands now.
type tagView struct {
	ID        permits.PermitID
	State     permits.State
	Alarms    []alarm
	MaySign   bool // whoever reads is of the crew: somebody may sign on this device
	MayRecord bool // whoever reads may record what came out
	Barred    bool // Words says why whoever reads cannot do it: no form is shown
	Machine   string
	Job       string
	Lock      permits.Lock
	Of        int
	Turn      tagTurn
	Words     string // why not now, or what to mind
	Opens     string
	Ask       []isolation.Position // positions to choose from when fitting or removing
	Leave     isolation.Position   // in which it must be left when it comes off
	LeaveWhy  string
	Labelled  bool // the point carries a label, which is asked for too
	Drain     *permits.DrainState
	Until     time.Time
	Overdue   bool
	Others    []permits.Holding // other permits' locks on this point
	Waits     []waitView        // what is waited for here; never a proof
	Readings  bool              // the machine's readings can be recorded now, on the permit's page
	Stored    []permits.StoredState
	history   permits.History
}

// Form returns the form by which the tag is hung or taken off.
func (p tagOpenPage) Form() stepForm {
	return stepForm{B: p.base, V: p.tagView, Action: tagPath(p.Code) + "/" + string(p.Turn), How: p.How, Label: p.Label}
}

// tagPath returns a tag's address.
func tagPath(code string) string { return "/T/" + url.PathEscape(code) }

// waysOfReading are the ways in which a code can have come to the page.
var waysOfReading = []string{"camera", "photo", "phone", "typed"}

func (s *Server) tagOpen(c *gin.Context) error { return s.tagAgain(c, c.Param("code"), back{}) }

// tagFind takes a code that was typed into the field in the head of every page.
func (s *Server) tagFind(c *gin.Context) error {
	typed := codeTyped(c.Query("code"))
	if code, err := permits.ParseTagCode(typed); err == nil {
		c.Redirect(http.StatusSeeOther, tagPath(code.Text())+"?how=typed")
		return nil
	}
	if id, ok := pointTyped(s.reg.Plant(), typed); ok {
		c.Redirect(http.StatusSeeOther, "/points/"+url.PathEscape(string(id)))
		return nil
	}
	return s.tagAgain(c, typed, back{})
}

// codeTyped returns what may be a code of what somebody typed, pasted or scanned: of a whole address the last part.
func codeTyped(typed string) string {
	typed = strings.TrimSpace(typed)
	if i := strings.LastIndex(strings.ToUpper(typed), "/T/"); i >= 0 {
		typed = typed[i+len("/T/"):]
	}
	return typed
}

// pointTyped returns the point whose id was typed, in whichever case.
func pointTyped(plant *isolation.Plant, typed string) (isolation.NodeID, bool) {
	if plant == nil {
		return "", false
	}
	for _, n := range plant.Points() {
		if strings.EqualFold(string(n.ID), typed) {
			return n.ID, true
		}
	}
	return "", false
}

// tagAgain shows what a code stands for, with a form that was refused.
func (s *Server) tagAgain(c *gin.Context, typed string, b back) error {
	page := tagOpenPage{base: s.base(c, "Tag", ""), How: "phone"}
	page.back, page.Path = b, tagPath(typed)
	if how := c.Query("how"); slices.Contains(waysOfReading, how) {
		page.How = how
	} else if how := b.Values.Get("how"); slices.Contains(waysOfReading, how) {
		page.How = how
	}
	page.Path += "?how=" + page.How
	tag, code, err := s.tagOf(c, typed)
	var no *permits.Refusal
	if errors.As(err, &no) {
		page.Unknown, page.Try, page.Sought = no.What, no.Opens, shorten(typed, 40)
		return s.render(c, statusOf(no, no), "tag_open", page)
	}
	if err != nil {
		return err
	}
	switch tag.Kind {
	case register.PointLabel:
		s.rememberLabel(c, code, tag.Point)
		return s.pointAgain(c, tag.Point, true, b)
	case register.VoidLabel:
		page.Unknown, page.Try = "This label of "+string(tag.Point)+" is void: a newer one was issued for the point.",
			"Take it down and scan the newer one."
		return s.render(c, http.StatusGone, "tag_open", page)
	}
	p, err := s.reg.Permit(c.Request.Context(), tag.Permit)
	if err != nil {
		return err
	}
	page.Code, page.Live = code.Text(), true
	if read, ok := s.label(c); ok {
		page.Label = &read
	}
	page.tagView = viewTag(p, tag.Step, page.Me, s.now(), s.facts())
	if page.tagView.showsReadings() {
		if page.history, err = s.readingsOf(c.Request.Context(), p.ID()); err != nil {
			return err
		}
	}
	page.Title = "Tag " + strconv.Itoa(tag.Step) + " of permit " + strconv.FormatInt(int64(tag.Permit), 10)
	return s.render(c, b.status(), "tag_open", page)
}

// tagOf reads a code and looks it up.
func (s *Server) tagOf(c *gin.Context, typed string) (register.Tag, permits.TagCode, error) {
	code, err := permits.ParseTagCode(typed)
	if err != nil {
		return register.Tag{}, permits.TagCode{}, err
	}
	tag, err := s.reg.FindTag(c.Request.Context(), code)
	return tag, code, err
}

// viewLock is what the form of a lock shows whatever its turn.
func viewLock(p permits.Permit, l permits.Lock, now time.Time, aboard facts) tagView {
	v := tagView{Lock: l, Of: len(p.Plan().Steps), Overdue: p.IsOverdue(now),
		Others: hanging(aboard.held.At(l.Step.Point, p.ID()))}
	_, v.Labelled = aboard.ship.Labels[l.Step.Point]
	v.Ask = []isolation.Position{l.Step.Kind.Isolating(), l.Step.Kind.Passing()}
	return v
}

// toFit and toRemove say that it is the tag's turn, and foretell what would be refused.
func (v *tagView) toFit(p permits.Permit, who permits.Person, aboard facts) {
	v.Turn = turnFit
	v.fitWords(p, who, aboard)
}

func (v *tagView) toRemove(p permits.Permit, who permits.Person, aboard facts) {
	v.Turn = turnRemove
	v.Leave, v.LeaveWhy = p.LeaveAt(aboard.held, v.Lock)
	v.removeWords(who, p)
}

// viewTag says what a tag is good for now. It foretells the gates; the register asks them again when the form comes.
func viewTag(p permits.Permit, step int, who permits.Person, now time.Time, aboard facts) tagView {
	l, _ := p.Lock(step)
	v := viewLock(p, l, now, aboard)
	v.ID, v.State, v.Machine, v.Job, v.Until = p.ID(), p.State(), p.Plan().MachineName, p.Plan().Title, p.Until()
	v.Alarms = alarmsOf(p, aboard.ship)
	v.MaySign, v.MayRecord = who.IsCompetent(), who.Has(permits.KindRecordDrain.Roles()...)
	next, fitting := p.NextFit()
	off, removing := p.NextRemove()
	canFit, canRemove := permits.CanFollow(p.State(), permits.KindFitLock),
		permits.CanFollow(p.State(), permits.KindRemoveLock)
	switch {
	case p.State().IsOver():
		v.Turn, v.Words, v.Opens = turnOver, "This tag belongs to permit "+strconv.FormatInt(int64(p.ID()),
			10)+", which is "+p.State().String()+".",
			"The tag does nothing any more. If it still hangs, take it to the chief engineer."
	case canFit && fitting && next.Step.N == step:
		v.toFit(p, who, aboard)
	case canFit && !l.IsOn():
		v.wait("It is not this tag's turn.", nextWords("first", next))
	case canRemove && l.IsOn() && off.Step.N == step:
		v.toRemove(p, who, aboard)
	case canRemove && removing && l.IsOn():
		v.wait("This one stays on: locks come off in the reverse of the order in which they went on.",
			nextWords("off next", off))
	case !l.Removed.IsZero():
		v.wait("It is off. The point was left "+positionWords(l.Step.Kind, l.Left)+".", restWords(p, aboard))
	default:
		v.hanging(p, aboard, slices.Contains(p.PassingPoints(aboard.ship), l.Step.Point))
		v.reading(p, now)
	}
	return v
}

// hanging is a tag that hangs while nothing is fitted or removed at its point.
func (v *tagView) hanging(p permits.Permit, aboard facts, passing bool) {
	l := v.Lock
	if l.IsOn() && !l.IsChecked() && l.Wrong == "" && permits.CanFollow(p.State(), permits.KindCheckLock) {
		v.Turn = turnCheck
		return
	}
	if permits.CanFollow(p.State(), permits.KindRecordDrain) {
		for _, d := range p.Drains() {
			if slices.Contains(d.Section.Drains, l.Step.Point) {
				v.Turn, v.Drain = turnDrain, &d
				return
			}
		}
	}
	switch {
	case passing:
		v.wait("It hangs, but "+string(l.Step.Point)+" passes: it does not isolate.",
			"Do what the alarm says. A repair is recorded on the point's page.")
	case len(v.Alarms) > 0:
		v.wait("It hangs. Nothing is done at it now.", "Do what the alarm says.")
	default:
		v.wait("It hangs as it should. There is nothing to do here now.", restWords(p, aboard))
	}
}

func (v *tagView) wait(words, opens string) { v.Turn, v.Words, v.Opens = turnWait, words, opens }

// fitWords says beforehand what would be refused, so that nobody turns a valve for nothing.
func (v *tagView) fitWords(p permits.Permit, who permits.Person, aboard facts) {
	v.Barred = true
	switch {
	case len(p.PassingPoints(aboard.ship)) > 0:
		v.Words, v.Opens = "Nothing more is fitted while a point of this permit is recorded as passing.",
			"Have the repair recorded, or the permit cancelled."
	case awaitsMaster(p, aboard.rules):
		v.Words, v.Opens = "The master has not countersigned yet.",
			"Nothing is fitted before; the master signs on the permit's page."
	case v.Overdue:
		v.Words, v.Opens = "The authorisation has run out.", "The officer of the watch extends it before more is fitted."
	case who.ID == p.Authorised().By:
		v.Words, v.Opens = "You authorised this isolation.", "Somebody else must fit its locks."
	case !who.Has(permits.KindFitLock.Roles()...):
		v.Words, v.Opens = "A technician fits it.", "Sign in as one, or hand the phone over."
	case v.Lock.Wrong != "":
		v.Barred = false
		v.Words = "The check found it wrong: " + v.Lock.Wrong
		v.Opens = "Put it right, then confirm anew."
	default:
		v.Barred = false
	}
}

func (v *tagView) removeWords(who permits.Person, p permits.Permit) {
	l := v.Lock
	switch {
	case l.Fitted.By != who.ID && !l.Released:
		v.Words, v.Opens = "It was fitted by another person.",
			"Its owner takes it off. If the owner is not aboard, the chief engineer may release it on the permit's page."
	case !who.Has(permits.KindRemoveLock.Roles()...):
		v.Words, v.Opens = "A technician takes it off.", "Sign in as one, or hand the phone over."
	}
	v.Barred = v.Words != ""
}

// nextWords says which tag comes first or next, and where it belongs.
func nextWords(which string, l permits.Lock) string {
	return "Tag " + strconv.Itoa(l.Step.N) + " comes " + which + ": " + l.Step.Name + " (" + string(l.Step.Point) + "), " +
		l.Step.Place.String() + "."
}

// restWords says what the permit waits for.
func restWords(p permits.Permit, aboard facts) string {
	for _, n := range nextOf(p, p.Changed(), aboard) {
		return "The permit waits for the " + n.Who + ". " + n.What
	}
	return ""
}
