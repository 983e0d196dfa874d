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
	// Kind says which act it is; the table of acts has one row for each.
	Kind() Kind
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

// actRow is one line of the table of acts: who may do it, and whether it is signed with the person's own PIN.
type actRow struct {
	kind   Kind
	does   string // completes "… may not" and "to …"
	signed bool
	roles  []Role
	decode func([]byte) (Act, error)
}

func row[A Act](does string, signed bool, roles ...Role) actRow {
	var zero A
	return actRow{zero.Kind(), does, signed, roles, func(body []byte) (Act, error) {
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

const (
	signed   = true
	unsigned = false
)

// acts is every act, with who may do it. Which act may follow in which state stands in way.go.
var acts = []actRow{
	row[Request]("request a permit", unsigned, Technician, ChiefEngineer),
	row[Authorise]("authorise the isolation", signed, Officer),
	row[Countersign]("countersign the authorisation", signed, Master),
	row[Extend]("extend the authorisation", signed, Officer),
	row[FitLock]("fit a lock", unsigned, Technician),
	row[CheckLock]("check a lock", signed, anybody...),
	row[FindWrong]("record a lock found wrong", unsigned, anybody...),
	row[CheckRestored]("check a point that was restored", signed, anybody...),
	row[RecordDrain]("record a drained section", unsigned, Technician, ChiefEngineer),
	row[RecordStored]("record a reading", unsigned, Technician, ChiefEngineer),
	row[RecordDead]("record a dead test", unsigned, Technician, ChiefEngineer),
	row[RecordStart]("record the start attempt", unsigned, Technician, ChiefEngineer),
	row[AcceptDeviation]("accept a deviation", signed, ChiefEngineer),
	row[Prove]("sign the proof", signed, Technician),
	row[Accept]("accept the permit", signed, Technician),
	row[SignOn]("sign on", signed, anybody...),
	row[SignOff]("sign off", signed, anybody...),
	row[Suspend]("stop the work", unsigned, anybody...),
	row[Resume]("let the work go on", signed, Officer),
	row[HandBack]("hand back", signed, Technician, ChiefEngineer),
	row[RemoveLock]("remove a lock", unsigned, Technician),
	row[ReleaseOwner]("release an absent owner's locks", signed, ChiefEngineer),
	row[Close]("close the permit", signed, ChiefEngineer),
	row[Cancel]("cancel the permit", signed, Officer, ChiefEngineer),

	row[AddPerson]("add a person", signed, ChiefEngineer, Master),
	row[ChangePerson]("change a person's roles", signed, ChiefEngineer, Master),
	row[SetPIN]("set a PIN", unsigned),
	row[AdoptPlant]("put a plant file in force", signed, ChiefEngineer),
	row[AdoptRules]("put a rules file in force", signed, ChiefEngineer),
	row[HangLabels]("issue point labels", unsigned, Technician, ChiefEngineer, Officer),
	row[RecordPassing]("record a passing point", unsigned, Technician, ChiefEngineer, Officer),
	row[RecordRepair]("record a repair", signed, ChiefEngineer),
	row[SignIn]("sign in", unsigned),
	row[SignOut]("sign out", unsigned),
	row[RefusedPIN]("be refused a PIN", unsigned),
	row[RefusedAct]("be refused an act", unsigned),
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
