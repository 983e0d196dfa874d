package web

import (
	"context"
	"fmt"
	"strings"
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// entryLine is one entry of the log as a line of history.
type entryLine struct {
	N       int64
	At      time.Time
	Who     string
	Kind    permits.Kind
	Permit  permits.PermitID
	Words   string
	Found   []isolation.Finding
	To      permits.State
	Role    permits.Role // in which it was signed; "": not signed
	Refused bool
}

// teller puts entries into words. It looks up what an entry only names by a digest, each permit once.
type teller struct {
	ctx     context.Context
	ship    permits.Ship
	permit  func(context.Context, permits.PermitID) (permits.Permit, error) // its names are enough: see PermitAsAuthorised
	permits map[permits.PermitID]permits.Permit
}

func (s *Server) teller(ctx context.Context) *teller {
	return &teller{ctx, s.reg.Ship(), s.reg.PermitAsAuthorised, map[permits.PermitID]permits.Permit{}}
}

func (t *teller) line(e permits.Entry) entryLine {
	l := entryLine{N: e.N, At: e.At, Who: t.name(e.By), Kind: e.Kind, Permit: e.Permit, Found: e.Found, To: e.To,
		Words: t.words(e)}
	if !e.Signed.IsZero() {
		l.Role = e.Signed.Role()
	}
	switch e.Act.(type) {
	case permits.RefusedAct, permits.RefusedPIN:
		l.Refused = true
	}
	return l
}

func (t *teller) name(id permits.PersonID) string {
	if p, ok := t.ship.Person(id); ok {
		return p.String()
	}
	if id == "" {
		return "nobody signed in"
	}
	return string(id)
}

// words says in a sentence what an entry holds, beyond its kind and who acted.
func (t *teller) words(e permits.Entry) string {
	switch a := e.Act.(type) {
	case permits.Request:
		return "requested the permit: " + a.Work
	case permits.Authorise:
		return fmt.Sprintf("authorised the isolation for %s h, until %s", figure(a.Hours),
			stampWords(e.At.Add(time.Duration(a.Hours*float64(time.Hour)))))
	case permits.Countersign:
		return "countersigned the authorisation"
	case permits.Extend:
		return fmt.Sprintf("extended the authorisation by %s h, until %s", figure(a.Hours),
			stampWords(e.At.Add(time.Duration(a.Hours*float64(time.Hour)))))
	case permits.FitLock:
		return t.fitted(e, a)
	case permits.CheckLock:
		return fmt.Sprintf("looked at %s and found it right", t.step(e.Permit, a.N))
	case permits.FindWrong:
		return fmt.Sprintf("found %s wrong: %s", t.step(e.Permit, a.N), a.Words)
	case permits.CheckRestored:
		if a.Wrong != "" {
			return fmt.Sprintf("saw %s wrong after its lock came off: %s", t.step(e.Permit, a.N), a.Wrong)
		}
		return fmt.Sprintf("saw %s right after its lock came off", t.step(e.Permit, a.N))
	case permits.RemoveLock:
		l, ok := t.byTag(e.Permit, a.Tag)
		if !ok {
			return "took a lock off"
		}
		return fmt.Sprintf("took %s %d off %s, left %s", l.Thing(), l.Step.N, l.Step.Point,
			positionWords(l.Step.Kind, a.Position))
	case permits.RecordDrain:
		return fmt.Sprintf("recorded what came out of %s: %s L in all, then a hold of %s in which %s L came; %s bar, %s °C%s",
			t.section(e.Permit, a.Section), figureTo(a.Reading.OutL, 1),
			spanWords(a.Reading.HoldS), figureTo(a.Reading.HoldInL, 1), figure(a.Reading.GaugeBar), figure(a.Reading.TempC),
			into(a.Into)) + changedSince(a.Words)
	case permits.RecordStored:
		return t.read(e.Permit, a) + changedSince(a.Words)
	default:
		return t.moreWords(e)
	}
}

func into(tank string) string {
	if tank == "" {
		return ""
	}
	return ", into " + tank
}

func (t *teller) fitted(e permits.Entry, a permits.FitLock) string {
	l, ok := t.byTag(e.Permit, a.Tag)
	if !ok {
		return "fitted a lock"
	}
	with := "a tag alone"
	if a.Padlock != "" {
		with = "lock " + string(a.Padlock)
	}
	return fmt.Sprintf("fitted step %d on %s, held %s, with %s", l.Step.N, l.Step.Point,
		positionWords(l.Step.Kind, a.Position), with) + kept(a.KeptS)
}

// kept says that a phone had no line: what the entry says was done that much earlier.
func kept(seconds int) string {
	if seconds == 0 {
		return ""
	}
	return "; the phone had no line and kept it for " + spanWords(float64(seconds))
}

// moreWords is the second half of words.
func (t *teller) moreWords(e permits.Entry) string {
	switch a := e.Act.(type) {
	case permits.RecordDead:
		return fmt.Sprintf("tested %s: %s; the detector was %s before and %s after", t.deadTest(e.Permit, a.Test),
			choose(a.Dead, "dead on all poles", "not dead"),
			choose(a.ProvedBefore, "proved", "not proved"), choose(a.ProvedAfter, "proved", "not proved")) +
			changedSince(a.Words)
	case permits.RecordStart:
		return fmt.Sprintf("tried to start it: %s; the controls are %s", choose(a.Still, "nothing moved", "something moved"),
			choose(a.ControlsOff, "back to off", "not back to off"))
	case permits.AcceptDeviation:
		return "accepted a deviation on " + t.section(e.Permit, a.Section) + ": " + a.Words
	case permits.Suspend:
		return "stopped the work: " + a.Words
	case permits.Resume:
		return "let it go on: each lock is looked at and everything is proved anew before the work"
	case permits.Prove:
		return "signed the proof"
	case permits.Accept:
		return fmt.Sprintf("accepted the permit; %s went to the work", plural(a.ToolsOut, "tool or part", "tools and parts"))
	case permits.SignOn:
		return "signed on to the work"
	case permits.SignOff:
		return "signed off"
	case permits.HandBack:
		return fmt.Sprintf("handed back; %s came back, guards in place",
			plural(a.ToolsBack, "tool or part", "tools and parts"))
	case permits.ReleaseOwner:
		return "released the locks of " + t.name(a.Owner) + ", who is not aboard: " + a.Words
	case permits.Close:
		return strings.TrimSpace("closed the permit. " + a.Words)
	case permits.Cancel:
		return "cancelled: " + a.Words
	default:
		return t.shipWords(e)
	}
}

// shipWords says what concerns the whole ship.
func (t *teller) shipWords(e permits.Entry) string {
	switch a := e.Act.(type) {
	case permits.AddPerson:
		return "put " + a.Person.String() + " on the books as " + rolesInWords(a.Person.Roles)
	case permits.ChangePerson:
		if a.Person.Left {
			return a.Person.String() + " has left the ship"
		}
		return "changed " + a.Person.String() + ": " + rolesInWords(a.Person.Roles)
	case permits.SetPIN:
		return "set the PIN of " + t.name(a.Person)
	case permits.AdoptPlant:
		return "put the plant file " + a.Name + " in force, hash " + shorten(a.SHA256, 12)
	case permits.AdoptRules:
		return "put the rules file " + a.Name + " in force, hash " + shorten(a.SHA256, 12)
	case permits.HangLabels:
		return "issued " + plural(len(a.Labels), "point label", "point labels")
	case permits.RecordPassing:
		return string(a.Point) + " passes: " + a.Words
	case permits.RecordRepair:
		return string(a.Point) + " was repaired: " + a.Words
	case permits.SignIn:
		return "signed in"
	case permits.SignOut:
		return "signed out"
	case permits.RefusedPIN:
		if a.Locked {
			return fmt.Sprintf("typed a wrong PIN for %s, %d in a row: none is taken for a while", t.name(a.Person), a.Tries)
		}
		return fmt.Sprintf("typed a wrong PIN for %s, %d in a row", t.name(a.Person), a.Tries)
	case permits.RefusedAct:
		return strings.TrimSpace("wanted to " + a.Of.Does() + ": " + a.What + " " + a.Opens)
	}
	return string(e.Kind)
}

func yesNo(b bool) string { return choose(b, "yes", "no") }

// permitFor looks a permit up once.
func (t *teller) permitFor(id permits.PermitID) permits.Permit {
	p, ok := t.permits[id]
	if !ok && id != 0 {
		p, _ = t.permit(t.ctx, id) // a permit that cannot be read leaves its step unnamed
		t.permits[id] = p
	}
	return p
}

func (t *teller) byTag(id permits.PermitID, tag permits.TagDigest) (permits.Lock, bool) {
	return t.permitFor(id).LockByTag(tag)
}

func (t *teller) step(id permits.PermitID, n int) string {
	if l, ok := t.permitFor(id).Lock(n); ok {
		return fmt.Sprintf("step %d (%s)", n, l.Step.Point)
	}
	return fmt.Sprintf("step %d", n)
}
