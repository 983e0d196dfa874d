package permits

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"stillwatch/isolation"
)

// Kinds of the sight audit of all tags that hang.
const (
	KindSightTag      Kind = "sight tag"
	KindSignAudit     Kind = "sign audit"
	KindSetAuditEvery Kind = "set audit interval"
)

// AuditMostDays is the longest time between two sights of a tag: at least every two weeks, more often if the ship wants
// it, never less (US naval training manuals, read).
const AuditMostDays = 14

// auditWalk is how long one walk past all tags may take, until it is signed, and auditSoon how long before its time a
// tag is told of as due soon (our choice: two watches' work; a weekend).
const (
	auditWalk = 24 * time.Hour
	auditSoon = 48 * time.Hour
)

// Sight is what an auditor saw of a tag. Texts are stored.
type Sight string

// What may be seen of a tag that should hang.
const (
	AsFound       Sight = "as found" // point, lock and tag are as they were left
	WrongPosition Sight = "wrong position"
	TagMissing    Sight = "tag missing"
	Unreadable    Sight = "unreadable"
)

// Sights returns everything that an auditor may see, in the order of the form.
func Sights() []Sight { return []Sight{AsFound, WrongPosition, TagMissing, Unreadable} }

// SightTag is what the auditor of the tags saw at one of them, by sight: nothing is operated. As found takes the tag
// itself, scanned or typed. A wrong position, or a tag that is gone, is a FindWrong at once, a wrong position on every
// permit that holds the point (FollowsFrom). A tag that cannot be read is due until one that can hangs in its place.
type SightTag struct {
	N     int              `json:"n"` // step, from 1
	Point isolation.NodeID `json:"point"`
	Seen  Sight            `json:"seen"`
	Tag   TagDigest        `json:"tag,omitempty"` // of the tag that was read; as found only
	Words string           `json:"words,omitempty"`
	How   string           `json:"how,omitempty"` // how the tag was read, as in FitLock
}

// Kind says which act this is.
func (SightTag) Kind() Kind { return KindSightTag }

func (SightTag) rule() rule { return unsignedBy("sight a tag in the audit", anybody...) }

func (a SightTag) tell(n Names, _ Entry) string {
	said := "sighted " + n.step(a.N) + " in the audit: "
	switch a.Seen {
	case AsFound:
		said += "as it was left"
	case Unreadable:
		said += "the tag cannot be read"
	default:
		said += a.wrong(n.Permit)
		return said
	}
	if a.Words != "" {
		said += "; " + strings.TrimSpace(a.Words)
	}
	return said
}

func (a SightTag) touches(Permit) Touched { return Touched{Points: []isolation.NodeID{a.Point}} }

func (SightTag) aim(p Permit, at Target) PermitAct {
	l, _ := p.Lock(at.Step)
	return SightTag{N: at.Step, Point: l.Step.Point}
}

func (a SightTag) gate(s Setting, p Permit) error {
	const gate = "audit"
	if err := (FindWrong{N: a.N}).gate(s, p); err != nil {
		no := *asRefusal(err)
		no.Gate = gate
		return &no
	}
	if l, _ := p.Lock(a.N); l.Fitted.By == s.Actor().ID || l.Owner == s.Actor().ID {
		return refuse(gate, "Somebody else sights it. If it is wrong, record it on the tag's own page now.",
			"%s fitted step %d (%s) or owns its lock, and so does not audit it.", s.Actor(), a.N, l.Step.Point)
	}
	return nil
}

func (a SightTag) decide(s Setting, p Permit) (outcome, error) {
	l, _ := p.Lock(a.N)
	switch {
	case a.Point != l.Step.Point:
		return outcome{}, invalid("point", "Step %d of permit %d is not at %s.", a.N, p.id, a.Point)
	case !slices.Contains(Sights(), a.Seen):
		return outcome{}, invalid("seen", "Look at point, lock and tag, then say what you see.")
	case a.Seen == AsFound && a.Tag != l.Tag:
		return outcome{}, refuse("audit", "Scan the tag that hangs at "+string(l.Step.Point)+", or say that it is "+
			"missing or cannot be read.", "What was read is not tag %d of permit %d.", a.N, p.id)
	}
	if err := words("words", a.Words, 0, 250); err != nil {
		return outcome{}, err
	}
	if a.isWrong() {
		return FindWrong{N: a.N, Words: a.wrong(p)}.decide(s, p)
	}
	return outcome{to: p.state}, nil
}

// isWrong reports whether what was seen stops the work.
func (a SightTag) isWrong() bool { return a.Seen == WrongPosition || a.Seen == TagMissing }

// wrong says what is wrong, as a FindWrong says it.
func (a SightTag) wrong(p Permit) string {
	said := "the tag is missing"
	if l, _ := p.Lock(a.N); a.Seen == WrongPosition {
		said = "it does not stand " + l.Step.Kind.Word(l.Step.Position)
	}
	if more := strings.TrimSpace(a.Words); more != "" {
		said += ", " + more
	}
	return said + " (seen in the audit of the tags)"
}

func (a SightTag) apply(e Entry, p *Permit) {
	if a.isWrong() {
		FindWrong{N: a.N, Words: a.wrong(*p)}.apply(e, p)
		return
	}
	l := &p.locks[a.N-1]
	if l.Unreadable = (Mark{}); a.Seen == Unreadable {
		l.Unreadable = Mark{e.By, e.At}
		return
	}
	l.Sighted = Mark{e.By, e.At}
}

// stopsFor returns what a wrong position at a point does to another permit that holds it there.
func (a SightTag) stopsFor(p Permit) (PermitAct, bool) {
	if a.Seen != WrongPosition {
		return nil, false
	}
	for _, l := range p.locks {
		if l.Step.Point == a.Point && l.IsOn() && l.Wrong == "" {
			return FindWrong{N: l.Step.N, Words: SightTag{N: l.Step.N, Seen: a.Seen, Words: a.Words}.wrong(p)}, true
		}
	}
	return nil, false
}

// SignAudit is the auditor's signature that every tag that hangs was sighted on this walk.
type SignAudit struct {
	Tags  int    `json:"tags"`           // how many hang, as the page said when it was read
	Each  bool   `json:"each,omitempty"` // each was sighted; before edition 6 one that hung for less than a day was not
	Words string `json:"words,omitempty"`
}

// Kind says which act this is.
func (SignAudit) Kind() Kind { return KindSignAudit }

func (SignAudit) rule() rule { return signedBy("sign the audit of the tags", anybody...) }

func (a SignAudit) tell(Names, Entry) string {
	said := "signed the audit: " + Plural(a.Tags, "tag hangs", "tags hang") + "; "
	if a.Each {
		said += "each was sighted in the last " + itoa(int(auditWalk.Hours())) + " h"
	} else {
		said += "those that hung for more than a day were sighted"
	}
	if a.Words != "" {
		said += "; " + strings.TrimSpace(a.Words)
	}
	return said
}

func (SignAudit) touches(Permit) Touched { return Touched{} }

func (a SignAudit) decideShip(s Setting) error {
	if no := AuditOpen(s); no != nil {
		return no
	}
	if n := len(AuditDue(s)); n != a.Tags {
		return &Refusal{Kind: Conflict, Gate: "audit", What: "The list has changed since the page was made.",
			Opens: "Load the page anew, read the list and sign it."}
	}
	if s.Judge.Edition >= changeEdition && !a.Each {
		return invalid("each", "It is not said that each tag was sighted.")
	}
	return words("words", a.Words, 0, 500)
}

func (a SignAudit) applyShip(e Entry, ship *Ship) { ship.Audited = Audited{Mark{e.By, e.At}, a.Tags} }

// Audited is the last audit of the tags that was signed.
type Audited struct {
	Mark
	Tags int
}

// AuditOpen returns why the audit cannot be signed by whoever acts; nil if it can: every tag that hangs was sighted on
// this walk, the newest too, and none is known to be wrong.
func AuditOpen(s Setting) *Refusal {
	const gate = "audit"
	due := AuditDue(s)
	if len(due) == 0 {
		return refuse(gate, "", "No tag hangs: there is nothing to audit.")
	}
	every := s.Judge.Edition >= changeEdition
	for h := range s.Held.All() {
		if every && h.On && h.Wrong != "" {
			return refuse(gate, "Put it right and fit it anew; then sight it.", "Tag %d of permit %d (%s) was found wrong.",
				h.Step, h.Permit, h.Point)
		}
	}
	saw := false
	for _, d := range due {
		switch {
		case d.Seen(s.At):
			saw = saw || d.Holding.Sighted.By == s.Actor().ID
		case !every && s.At.Sub(d.Hung.At) <= auditWalk:
		case !d.Unreadable.IsZero():
			return refuse(gate, "Print it again, hang it, and sight it again.", "Tag %d of permit %d (%s) cannot be read.",
				d.Step, d.Permit, d.Point)
		default:
			return refuse(gate, "Go there, look, and record what you see.", "Tag %d of permit %d (%s) has not been sighted "+
				"in the last %d h.", d.Step, d.Permit, d.Point, int(auditWalk.Hours()))
		}
	}
	if !saw {
		return refuse(gate, "Whoever sighted tags on this walk signs it.", "%s has sighted no tag in the last %d h.",
			s.Actor(), int(auditWalk.Hours()))
	}
	return nil
}

// SetAuditEvery shortens the time between two sights of a tag, in days. It is never longer than AuditMostDays; what was
// shortened may be put back up to that.
type SetAuditEvery struct {
	Days int `json:"days"`
}

// Kind says which act this is.
func (SetAuditEvery) Kind() Kind { return KindSetAuditEvery }

func (SetAuditEvery) rule() rule { return signedBy("set how often tags are audited", ChiefEngineer) }

func (a SetAuditEvery) tell(Names, Entry) string {
	return "set the audit of the tags to every " + Plural(a.Days, "day", "days")
}

func (SetAuditEvery) touches(Permit) Touched { return Touched{} }

func (a SetAuditEvery) decideShip(s Setting) error {
	switch {
	case a.Days > AuditMostDays:
		return refuse("audit", "Take fewer days.", "Every tag is sighted at least every %d days: that may be shortened, "+
			"never lengthened.", AuditMostDays)
	case a.Days < 1:
		return invalid("days", "The days must be a whole number from 1 to %d.", AuditMostDays)
	case a.Days == s.Ship.AuditDays():
		return refuse("audit", "", "Tags are audited every %s already.", Plural(a.Days, "day", "days"))
	}
	return nil
}

func (a SetAuditEvery) applyShip(_ Entry, ship *Ship) { ship.AuditEvery = a.Days }

// AuditDays returns how many days may lie between two sights of a tag.
func (s Ship) AuditDays() int {
	if s.AuditEvery == 0 {
		return AuditMostDays
	}
	return s.AuditEvery
}

// TagDue is one tag that hangs, with when it must be sighted next.
type TagDue struct {
	Holding
	Due           time.Time
	Overdue, Soon bool
}

// Seen reports whether it was sighted as it was left on a walk that may be signed now.
func (d TagDue) Seen(now time.Time) bool {
	return !d.Sighted.IsZero() && d.Unreadable.IsZero() && now.Sub(d.Sighted.At) <= auditWalk
}

// AuditDue returns every tag that hangs and is not known to be wrong, the one that is due first before the others. Its
// time runs from when it was hung, or was sighted last.
func AuditDue(s Setting) []TagDue {
	var out []TagDue
	every := time.Duration(s.Ship.AuditDays()) * 24 * time.Hour
	for h := range s.Held.All() {
		if !h.On || h.Wrong != "" {
			continue
		}
		d := TagDue{Holding: h, Due: h.Hung.At.Add(every)}
		if h.Sighted.At.After(h.Hung.At) {
			d.Due = h.Sighted.At.Add(every)
		}
		if !h.Unreadable.IsZero() {
			d.Due = h.Unreadable.At
		}
		d.Overdue = !s.At.Before(d.Due)
		d.Soon = !d.Overdue && d.Due.Sub(s.At) <= auditSoon
		out = append(out, d)
	}
	slices.SortStableFunc(out, func(a, b TagDue) int {
		return cmp.Or(a.Due.Compare(b.Due), cmp.Compare(a.Permit, b.Permit), cmp.Compare(a.Step, b.Step))
	})
	return out
}
