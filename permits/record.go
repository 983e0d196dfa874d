package permits

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"stillwatch/isolation"
	"stillwatch/isolation/envelope"
)

// Kinds of what is recorded before the proof, and again while the work is on.
const (
	KindRecordDrain  Kind = "record drain"
	KindRecordStored Kind = "record reading"
	KindRecordDead   Kind = "record dead test"
	KindRecordStart  Kind = "record start attempt"
)

// RecordDrain is what has come out of one section since its drain was opened, in all, then the hold, pressure and
// temperature. A later record of the same section replaces the one before; it does not come on top of it.
type RecordDrain struct {
	Section string                 `json:"section"`
	Reading isolation.DrainReading `json:"reading"`
	Into    string                 `json:"into,omitempty"`  // the tank that took it
	Words   string                 `json:"words,omitempty"` // what was changed, if the record before was not right

	KeptS int `json:"kept_s,omitempty"` // for how long the phone kept it, as in FitLock
}

// Kind says which act this is.
func (RecordDrain) Kind() Kind { return KindRecordDrain }

func (RecordDrain) rule() rule {
	return unsignedBy("record a drained section", Technician, ChiefEngineer)
}

func (a RecordDrain) tell(n Names, _ Entry) string {
	said := "recorded what came out of " + n.Section(a.Section) + ": " + Figure(a.Reading.OutL, 1) +
		" L in all, then a hold of " + Span(a.Reading.HoldS) + " in which " + Figure(a.Reading.HoldInL, 1) + " L came; " +
		Figure(a.Reading.GaugeBar, 3) + " bar, " + Figure(a.Reading.TempC, 3) + " °C"
	if a.Into != "" {
		said += ", into " + a.Into
	}
	return said + changedWords(a.Words) + keptWords(a.KeptS)
}

func (RecordDrain) touches(Permit) Touched { return Touched{} }

// A reading outside these is a slip of the finger, not a machine: litres, seconds, bar gauge, °C.
var drainRanges = []struct {
	field       string
	get         func(isolation.DrainReading) float64
	least, most float64
	unit        string
}{
	{"out_l", func(r isolation.DrainReading) float64 { return r.OutL }, 0, 1e6, "litres"},
	{"hold_s", func(r isolation.DrainReading) float64 { return r.HoldS }, 0, 7 * 86400, "seconds"},
	{"hold_in_l", func(r isolation.DrainReading) float64 { return r.HoldInL }, 0, 1e6, "litres"},
	{"gauge_bar", func(r isolation.DrainReading) float64 { return r.GaugeBar }, -1, 400, "bar"},
	{"temp_c", func(r isolation.DrainReading) float64 { return r.TempC }, -60, 600, "°C"},
}

func (RecordDrain) aim(_ Permit, at Target) PermitAct { return RecordDrain{Section: at.Section} }

func (a RecordDrain) gate(_ Setting, p Permit) error {
	if p.drainIndex(a.Section) < 0 {
		return noSuch("record", "section", a.Section)
	}
	return nil
}

// noSuch says that the permit has no such thing to record.
func noSuch(gate, what, id string) error {
	return &Refusal{Kind: NotFound, Gate: gate, What: "This permit has no " + what + " " + strconv.Quote(id) + "."}
}

func (a RecordDrain) decide(s Setting, p Permit) (outcome, error) {
	for _, r := range drainRanges {
		if v := r.get(a.Reading); !(v >= r.least && v <= r.most) {
			return outcome{}, invalid(r.field, "%s must be from %s to %s %s; %s was given.", fieldWords[r.field], plain(r.least),
				plain(r.most), r.unit, plain(v))
		}
	}
	if err := words("into", a.Into, 0, 80); err != nil {
		return outcome{}, err
	}
	d := p.drains[p.drainIndex(a.Section)]
	if err := stillTrue(&s, p, a.KeptS, d.Recorded); err != nil {
		return outcome{}, err
	}
	if err := held(s, p, d, a.Reading.HoldS); err != nil {
		return outcome{}, err
	}
	if err := heldAnew(s, p, d, a.Reading.HoldS); err != nil {
		return outcome{}, err
	}
	if err := possible("out_l", p.plausibleDrain(d, a.Reading, s.At), a.Words); err != nil {
		return outcome{}, err
	}
	if err := changed(a.Words, !d.Recorded.IsZero() && !d.Finding.OK, d.Section.Name, d.Finding.Result); err != nil {
		return outcome{}, err
	}
	found, err := envelope.JudgeSection(&d.Section, a.Reading)
	if err != nil {
		return outcome{}, &Refusal{Kind: Invalid, Gate: "record", What: "The reading makes no sense: " + err.Error() + ".",
			cause: err}
	}
	return outcome{to: afterReading(p, found), found: []isolation.Finding{found}}, nil
}

// held refuses a hold that is longer than the drain has been open: nobody can have watched it.
func held(s Setting, p Permit, d DrainState, holdS float64) error {
	opened := p.drainOpenedAt(d)
	if opened.IsZero() || s.At.Sub(opened).Seconds() >= holdS {
		return nil
	}
	return invalid("hold_s", "A hold of %s min is longer than the drain has been tagged open: %s min. Hold, watch, then "+
		"record.",
		plain(math.Round(holdS/6)/10), plain(math.Floor(s.At.Sub(opened).Minutes())))
}

// heldAnew refuses a hold that began before what it is to prove was lost: the work was stopped, a lock hung wrong, the
// section leaked, a point was repaired.
func heldAnew(s Setting, p Permit, d DrainState, holdS float64) error {
	from, why := p.HoldFrom(s, d)
	if s.Judge.Edition < changeEdition || from.IsZero() || s.At.Sub(from).Seconds() >= holdS {
		return nil
	}
	return invalid("hold_s", "A hold of %s min is longer than the %s min since %s. Hold, watch, then record.",
		plain(math.Round(holdS/6)/10), plain(math.Floor(s.At.Sub(from).Minutes())), why)
}

// HoldFrom returns the moment before which no hold of a section began that proves it, and in words what was then; the
// zero time while its drain alone tells: what it proved was never lost.
func (p Permit) HoldFrom(s Setting, d DrainState) (from time.Time, why string) {
	from, why = p.anew, "the proof was lost, or every lock seen again"
	if d.Finding.Result == "passing" && d.Recorded.At.After(from) {
		from, why = d.Recorded.At, "this part was recorded as leaking"
	}
	if point, at := p.leakSeen(s.Ship); at.After(from) {
		from, why = at, string(point)+" was found leaking, or repaired"
	}
	return from, why
}

// leakSeen returns the point of the permit that was found leaking, or repaired, last, and when; the zero time if none
// ever was.
func (p Permit) leakSeen(ship Ship) (point isolation.NodeID, at time.Time) {
	for _, l := range p.locks {
		seen := latest(ship.FoundPassing[l.Step.Point], ship.Repaired[l.Step.Point])
		if l.Step.Isolates() && l.IsOn() && seen.After(at) {
			point, at = l.Step.Point, seen
		}
	}
	return point, at
}

// readSinceLeak refuses a proof of which something was read before a point of the permit leaked or was repaired: the
// point let through, or stood open, since.
func (p Permit) readSinceLeak(s Setting, gate string) error {
	if r, old := p.readBeforeLeak(s); old {
		point, _ := p.leakSeen(s.Ship)
		return refuse(gate, "Read it again, as everything that was read before; then sign.",
			"%s leaked, or was repaired, after this was read: %s.", point, r.name)
	}
	return nil
}

// reading is what was recorded of one thing on which the proof rests, and the act that records it.
type reading struct {
	kind Kind
	at   Target
	name string
	last Mark
}

// readBeforeLeak returns the first reading from before a point of the permit leaked, or was repaired; ok is false if
// there is none.
func (p Permit) readBeforeLeak(s Setting) (r reading, ok bool) {
	_, at := p.leakSeen(s.Ship)
	for _, r := range p.readings() {
		if s.Judge.Edition >= changeEdition && !r.last.IsZero() && !r.last.At.After(at) {
			return r, true
		}
	}
	return reading{}, false
}

// readings lists what was read, in the order of ProofItems. A measure is no reading.
func (p Permit) readings() []reading {
	var out []reading
	for _, d := range p.drains {
		out = append(out, reading{KindRecordDrain, Target{Section: d.Section.ID}, d.Section.Name, d.Recorded})
	}
	for _, c := range p.stored {
		if c.Check.Stored.Kind != isolation.KindMeasure {
			out = append(out, reading{KindRecordStored, Target{Check: c.Check.ID}, c.Check.Name, c.Recorded})
		}
	}
	for _, d := range p.dead {
		out = append(out, reading{KindRecordDead, Target{Test: d.Test.ID}, d.Test.Name, d.Recorded})
	}
	for _, a := range p.air {
		out = append(out, reading{KindRecordAir, Target{Level: a.Level}, "the air, " + a.Level, a.Recorded})
	}
	if p.NeedsStart() {
		out = append(out, reading{KindRecordStart, Target{}, "the start attempt", p.start.Recorded})
	}
	return out
}

// changed asks what was changed when the record before was not right: a bad record is not wiped out by a better figure.
func changed(said string, was bool, name, result string) error {
	if !was {
		return words("words", said, 0, 500)
	}
	if words("words", said, 5, 500) != nil {
		return invalid("words", "The last record of %s was %q. Say what was changed since then (5 characters at least).",
			name, result)
	}
	return nil
}

// plain writes a figure without an exponent.
func plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

var fieldWords = map[string]string{"out_l": "What came out", "hold_s": "The hold", "hold_in_l": "What came in the hold",
	"gauge_bar": "The pressure", "temp_c": "The temperature"}

// afterReading sends a live permit back to proving when what was read does not hold any more.
func afterReading(p Permit, found isolation.Finding) State {
	if p.state == Live && !found.OK {
		return Proving
	}
	return p.state
}

func (a RecordDrain) apply(e Entry, p *Permit) {
	i := p.drainIndex(a.Section)
	d := &p.drains[i]
	second := d.Doubt != "" && !d.Stale && d.Finding.OK && d.Recorded.By != e.By
	at := before(e.At, a.KeptS)
	d.Doubt = doubt(p.plausibleDrain(*d, a.Reading, at), e.Found[0].OK, second)
	d.Reading, d.Into, d.Recorded, d.Accepted = a.Reading, strings.TrimSpace(a.Into), Mark{e.By, at}, false
	d.Finding, d.Stale = e.Found[0], false
	d.TotalL = a.Reading.OutL + a.Reading.HoldInL
	p.unprove(e)
}

// unprove takes the signed proof back when something was recorded anew before the work, or found wrong during it.
func (p *Permit) unprove(e Entry) {
	if e.To != Live {
		p.proved, p.issued, p.accepted, p.goesOn = Mark{}, Mark{}, Mark{}, false
	}
}

func (p Permit) drainIndex(id string) int {
	return slices.IndexFunc(p.drains, func(d DrainState) bool { return d.Section.ID == id })
}

// RecordStored is one reading of a stored energy, in the unit of its check; yes or no is 1 or 0.
type RecordStored struct {
	Check string  `json:"check"`
	Value float64 `json:"value"`
	Words string  `json:"words,omitempty"` // what was changed, if the reading before was not right

	KeptS int `json:"kept_s,omitempty"` // as in FitLock
}

// Kind says which act this is.
func (RecordStored) Kind() Kind { return KindRecordStored }

func (RecordStored) rule() rule { return unsignedBy("record a reading", Technician, ChiefEngineer) }

func (a RecordStored) tell(n Names, _ Entry) string {
	said := "read " + Figure(a.Value, 3) + " of " + a.Check
	if i := n.Permit.storedIndex(a.Check); i >= 0 {
		c := n.Permit.stored[i].Check
		said = "read " + c.Quantity + " of " + c.Name + ": " + Figure(a.Value, 3) + " " + c.Unit
		if c.Unit == "" {
			said = "recorded of " + c.Name + ": " + c.Quantity + ": " + either(a.Value != 0, "yes", "no")
		}
	}
	return said + changedWords(a.Words) + keptWords(a.KeptS)
}

func (RecordStored) touches(Permit) Touched { return Touched{} }

func (RecordStored) aim(_ Permit, at Target) PermitAct { return RecordStored{Check: at.Check} }

func (a RecordStored) gate(_ Setting, p Permit) error {
	if p.storedIndex(a.Check) < 0 {
		return noSuch("record", "stored energy", a.Check)
	}
	return readyToRead(p, a.Check)
}

func (a RecordStored) decide(s Setting, p Permit) (outcome, error) {
	i := p.storedIndex(a.Check)
	if math.IsNaN(a.Value) || math.Abs(a.Value) > 1e6 {
		return outcome{}, invalid("value", "The reading must be a number such as an instrument shows.")
	}
	check, last := p.stored[i].Check, p.stored[i]
	if err := stillTrue(&s, p, a.KeptS, last.Recorded); err != nil {
		return outcome{}, err
	}
	if err := changed(a.Words, outright(last), check.Name, last.Finding.Result); err != nil {
		return outcome{}, err
	}
	found, err := envelope.JudgeStored(&check, a.Value)
	if err != nil {
		return outcome{}, &Refusal{Kind: Invalid, Gate: "record", Field: "value", What: "The reading makes no sense: " +
			err.Error() + ".", cause: err}
	}
	odd, err := p.plausible(last, a.Value, s.At)
	if err != nil {
		return outcome{}, &Refusal{Kind: Invalid, Gate: "record", Field: "value", What: "The reading makes no sense: " +
			err.Error() + ".", cause: err}
	}
	if odd.Verdict == isolation.Off && !found.OK && a.Value <= slip*check.Now {
		odd = isolation.Plausibility{Verdict: isolation.Plausible} // it shuts the gate as it is
	}
	if err := possible("value", odd, a.Words); err != nil {
		return outcome{}, err
	}
	return outcome{to: afterReading(p, found), found: []isolation.Finding{found}}, nil
}

// outright reports whether a reading was wrong as such: a part that is still cooling or running down only wants time.
func outright(s StoredState) bool {
	return !s.Recorded.IsZero() && !s.Finding.OK && s.Check.WaitS == 0
}

func (a RecordStored) apply(e Entry, p *Permit) {
	i := p.storedIndex(a.Check)
	last, at := p.stored[i], before(e.At, a.KeptS)
	now := StoredState{Check: last.Check, Value: a.Value, Recorded: Mark{e.By, at}, Finding: e.Found[0]}
	second := last.Doubt != "" && !last.Stale && last.Finding.OK && last.Recorded.By != e.By
	if odd, err := p.plausible(last, a.Value, at); err == nil {
		now.Doubt = doubt(odd, now.Finding.OK, second)
	}
	p.stored[i] = now
	p.unprove(e)
}

func (p Permit) storedIndex(id string) int {
	return slices.IndexFunc(p.stored, func(s StoredState) bool { return s.Check.ID == id })
}

// RecordDead is a dead test of one electrical part: all poles, with the detector proved on a live source before and
// after (EN 50110-1, second hand).
type RecordDead struct {
	Test         string `json:"test"`
	ProvedBefore bool   `json:"proved_before"`
	Dead         bool   `json:"dead"`
	ProvedAfter  bool   `json:"proved_after"`
	Words        string `json:"words,omitempty"` // what was changed, if the test before did not find it dead

	KeptS int `json:"kept_s,omitempty"` // as in FitLock
}

// Kind says which act this is.
func (RecordDead) Kind() Kind { return KindRecordDead }

func (RecordDead) rule() rule { return unsignedBy("record a dead test", Technician, ChiefEngineer) }

func (a RecordDead) tell(n Names, _ Entry) string {
	return "tested " + n.DeadTest(a.Test) + ": " + either(a.Dead, "dead on all poles", "not dead") +
		"; the detector was " +
		either(a.ProvedBefore, "proved", "not proved") + " before and " + either(a.ProvedAfter, "proved", "not proved") +
		" after" + changedWords(a.Words) + keptWords(a.KeptS)
}

func (RecordDead) touches(Permit) Touched { return Touched{} }

func (RecordDead) aim(_ Permit, at Target) PermitAct { return RecordDead{Test: at.Test} }

func (a RecordDead) gate(_ Setting, p Permit) error {
	if p.deadIndex(a.Test) < 0 {
		return noSuch("record", "dead test", a.Test)
	}
	return readyToRead(p, a.Test)
}

func (a RecordDead) decide(s Setting, p Permit) (outcome, error) {
	d := p.dead[p.deadIndex(a.Test)]
	if err := stillTrue(&s, p, a.KeptS, d.Recorded); err != nil {
		return outcome{}, err
	}
	return outcome{to: p.state}, changed(a.Words, d.Live, d.Test.Name, "not dead")
}

func (a RecordDead) apply(e Entry, p *Permit) {
	i := p.deadIndex(a.Test)
	ok := a.ProvedBefore && a.Dead && a.ProvedAfter
	p.dead[i] = DeadState{Test: p.dead[i].Test, OK: ok, Live: !a.Dead,
		Recorded: Mark{e.By, before(e.At, a.KeptS)}}
	p.unprove(e)
}

func (p Permit) deadIndex(id string) int {
	return slices.IndexFunc(p.dead, func(d DeadState) bool { return d.Test.ID == id })
}

// RecordStart is the attempt to start the isolated machine. It proves nothing where the controls seal in; after it the
// controls must go back to off (DOE-STD-1030-96; 29 CFR 1910.147 App. A).
type RecordStart struct {
	Still       bool `json:"still"`        // nothing moved
	ControlsOff bool `json:"controls_off"` // the controls are back to off

	KeptS int `json:"kept_s,omitempty"` // as in FitLock
}

// Kind says which act this is.
func (RecordStart) Kind() Kind { return KindRecordStart }

func (RecordStart) rule() rule {
	return unsignedBy("record the start attempt", Technician, ChiefEngineer)
}

func (a RecordStart) tell(Names, Entry) string {
	return "tried to start it: " + either(a.Still, "nothing moved", "something moved") + "; the controls are " +
		either(a.ControlsOff, "back to off", "not back to off") + keptWords(a.KeptS)
}

func (RecordStart) touches(Permit) Touched { return Touched{} }

func (RecordStart) gate(Setting, Permit) error { return nil }

func (a RecordStart) decide(s Setting, p Permit) (outcome, error) {
	return outcome{to: p.state}, stillTrue(&s, p, a.KeptS, p.start.Recorded)
}

func (a RecordStart) apply(e Entry, p *Permit) {
	p.start = StartState{OK: a.Still && a.ControlsOff, Recorded: Mark{e.By, before(e.At, a.KeptS)}}
	p.unprove(e)
}
