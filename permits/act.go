package permits

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"stillwatch/isolation"
)

// Kind names an act, and the entry that it makes. Texts are stored; kinds are only ever added.
type Kind string

// ActID is an act's own id, made where the act was made (a phone, a form). Sent twice, the act happens once.
type ActID string

// Act is something that somebody does: to one permit (PermitAct) or to the whole ship (ShipAct). The set is sealed.
type Act interface {
	// Kind says which act it is.
	Kind() Kind
	// rule says who may do it, and whether it is signed.
	rule() rule
	// tell completes "NAME …" in the log with what the entry says: see Tell.
	tell(n Names, e Entry) string
	// touches returns the points and the person that an entry is about: see Touches.
	touches(after Permit) Touched
}

// PermitAct is an act on one permit; one struct an act, each in the file that has its gate.
type PermitAct interface {
	Act
	// gate refuses what no filling in of the form can change: it reads of the act only what aim sets, so that the
	// answer can be foretold. State and role have been looked at before.
	gate(s Setting, p Permit) error
	// decide looks at what was filled in, and says what becomes of the permit. The gate is open by then.
	decide(s Setting, p Permit) (outcome, error)
	// apply puts the entry's effect, other than its new state, into p, which is a copy of its own.
	apply(e Entry, p *Permit)
}

// aimed is an act about one part of a permit: a step, a section, a check, a test or a person.
type aimed interface {
	// aim returns the act about the part, with nothing else filled in.
	aim(p Permit, at Target) PermitAct
}

// outcome is what decide found out: the new state, and the verdicts on what was read.
type outcome struct {
	to    State
	found []isolation.Finding
}

// rule says who may do an act, and whether it is signed with the person's own PIN.
type rule struct {
	does   string // completes "… may not" and "to …"
	signed bool
	roles  []Role // none: no role is asked for
}

func signedBy(does string, roles ...Role) rule { return rule{does, true, roles} }

func unsignedBy(does string, roles ...Role) rule { return rule{does, false, roles} }

// actRow is one line of the list of acts.
type actRow struct {
	kind Kind
	rule
	decode func([]byte) (Act, error)
}

func row[A Act]() actRow {
	var zero A
	return actRow{zero.Kind(), zero.rule(), func(body []byte) (Act, error) {
		var a A
		if string(body) == "{}" { // an act that says all by its kind
			return a, nil
		}
		err := json.Unmarshal(body, &a)
		return a, err
	}}
}

// anybody is every role that may act at all.
var anybody = []Role{Officer, Technician, Crew, ChiefEngineer, Master}

// acts is every act that a log may hold; testdata/acts.golden shows who may do which. Which act may follow in which
// state stands in way.go.
var acts = []actRow{
	row[Request](), row[Authorise](), row[Countersign](), row[Extend](), row[FitLock](), row[CheckLock](), row[Look](),
	row[SignLooks](),
	row[FindWrong](), row[CheckRestored](), row[RecordDrain](), row[RecordStored](), row[RecordDead](),
	row[RecordStart](), row[AcceptDeviation](), row[Prove](), row[AnswerUnproved](), row[Issue](), row[Accept](),
	row[SignOn](), row[SignOff](),
	row[Suspend](), row[Resume](), row[HandBack](), row[RemoveLock](), row[RestoreStep](), row[LeaveOut](),
	row[ReleaseOwner](), row[Close](),
	row[Cancel](), row[ReckonAnew](), row[OfferWatch](), row[TakeWatch](),
	row[OfferWork](), row[TakeWork](), row[AskTest](), row[SanctionTest](), row[LiftLock](), row[RecordTest](),
	row[EndTest](), row[SightTag](), row[RecordAir](), row[ConsentDeviation](), row[TakePost](), row[LeavePost](),
	row[GoIn](), row[ComeOut](), row[Inhibit](), row[PutBack](), row[AnswerMeasures](), row[UseBox](),
	row[TakeOwnLock](), row[StopForEmergency](), row[CountOut](), row[OrderOpening](), row[OpenAtOnce](), row[Account](),
	row[AskChange](), row[AuthoriseChange](), row[DropChange](),

	row[AddPerson](), row[ChangePerson](), row[SetPIN](), row[ProposeFile](), row[AdoptPlant](), row[AdoptRules](),
	row[HangLabels](),
	row[RecordPassing](), row[RecordRepair](), row[SignIn](), row[SignOut](), row[RefusedPIN](), row[RefusedAct](),
	row[HearRelease](), row[AdoptEdition](), row[PutClockRight](), row[AcceptLoss](),
	row[SignAudit](), row[SetAuditEvery](), row[InspectPlan](), row[DeclareEmergency](), row[EndEmergency](),
	row[AllowScreen](), row[EndScreen](),
}

func actOf(kind Kind) (actRow, bool) {
	i := slices.IndexFunc(acts, func(r actRow) bool { return r.kind == kind })
	if i < 0 {
		return actRow{}, false
	}
	return acts[i], true
}

// Kinds returns every kind of act, in the table's order.
func Kinds() []Kind {
	out := make([]Kind, len(acts))
	for i, r := range acts {
		out[i] = r.kind
	}
	return out
}

// IsSigned reports whether an act of this kind asks for the signer's own PIN.
func (k Kind) IsSigned() bool {
	r, _ := actOf(k)
	return r.signed
}

// Roles returns the roles that may do an act of this kind; none means that no role is asked for.
func (k Kind) Roles() []Role {
	r, _ := actOf(k)
	return slices.Clone(r.roles)
}

// Does returns what the act is in words, as in "to authorise the isolation".
func (k Kind) Does() string {
	if r, ok := actOf(k); ok {
		return r.does
	}
	return string(k)
}

// DecodeAct reads an act of this kind back from its JSON; an unknown kind is an error, so that an old program never
// passes over what it does not understand.
func DecodeAct(kind Kind, body []byte) (Act, error) {
	r, ok := actOf(kind)
	if !ok {
		return nil, fmt.Errorf("entry kind %q is not known to this version", kind)
	}
	a, err := r.decode(body)
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", kind, err)
	}
	return a, nil
}

func rolesInWords(roles []Role) string {
	words := make([]string, len(roles))
	for i, r := range roles {
		words[i] = string(r)
	}
	return strings.Join(words, " or ")
}
