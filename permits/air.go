package permits

import (
	"slices"
	"strings"
	"time"

	"stillwatch/isolation"
)

// KindRecordAir is a test of the air in a space, or at hot work.
const KindRecordAir Kind = "record air"

// RecordAir is what a gas meter read at one level: a figure for every gas that the plan names.
type RecordAir struct {
	Level  string     `json:"level"`
	Values []AirValue `json:"values"`
	Meter  string     `json:"meter"`           // the mark of the instrument
	Tested bool       `json:"tested"`          // it was tried on known gas before
	Still  bool       `json:"still"`           // the ventilation stood still meanwhile
	Words  string     `json:"words,omitempty"` // what was changed, if the reading before was not right
}

// AirValue is what the meter read of one gas, in the unit of its limit.
type AirValue struct {
	Gas   string  `json:"gas"`
	Value float64 `json:"value"`
}

// AirState is the last test of the air at one level.
type AirState struct {
	Level    string
	Values   []AirValue
	Meter    string
	Finding  isolation.Finding
	Recorded Mark
	Stale    bool // the work was stopped since: it is tested anew
}

// Kind says which act this is.
func (RecordAir) Kind() Kind { return KindRecordAir }

func (RecordAir) rule() rule {
	return unsignedBy("record a test of the air", Officer, Technician, ChiefEngineer)
}

func (a RecordAir) tell(n Names, _ Entry) string {
	return "tested the air, " + a.Level + ": " + valuesInWords(n.Permit.plan.Plan().Air, a.Values) + "; meter " + a.Meter +
		changedWords(a.Words)
}

// valuesInWords writes readings with the units of their limits: "O2 20.9 %, LEL 0 % LEL".
func valuesInWords(test *isolation.AirTest, values []AirValue) string {
	var said []string
	for _, v := range values {
		unit := ""
		if test != nil {
			for _, l := range test.Limits {
				if l.Gas == v.Gas {
					unit = " " + l.Unit
				}
			}
		}
		said = append(said, v.Gas+" "+Figure(v.Value, 2)+unit)
	}
	return strings.Join(said, ", ")
}

func (RecordAir) touches(Permit) Touched { return Touched{} }

func (RecordAir) aim(_ Permit, at Target) PermitAct { return RecordAir{Level: at.Level} }

func (a RecordAir) gate(_ Setting, p Permit) error {
	if p.airIndex(a.Level) < 0 {
		return noSuch("air", "level for the air", a.Level)
	}
	return nil
}

func (p Permit) airIndex(level string) int {
	return slices.IndexFunc(p.air, func(a AirState) bool { return a.Level == level })
}

func (a RecordAir) decide(_ Setting, p Permit) (outcome, error) {
	const gate = "air"
	if err := words("meter", a.Meter, 2, 60); err != nil {
		return outcome{}, err
	}
	before := p.air[p.airIndex(a.Level)]
	if err := changed(a.Words, !before.Recorded.IsZero() && !before.Finding.OK, "the air, "+a.Level,
		before.Finding.Result); err != nil {
		return outcome{}, err
	}
	found, err := judgeAir(p.plan.Plan().Air, a.Level, a.Values)
	switch {
	case err != nil:
		return outcome{}, err
	case !found.OK: // what calls people out is taken however it was read
	case !a.Tested:
		return outcome{}, refuse(gate, "Try the meter on known gas, then test the air.",
			"A meter that was not tried shows nothing that can be relied on.")
	case !a.Still && len(p.Inside()) == 0:
		return outcome{}, refuse(gate, "Stop the ventilation, wait, and test again.",
			"Before anybody is in, the air is tested with the ventilation stopped.") // A.1050(27), 7.3
	}
	return outcome{to: afterReading(p, found), found: []isolation.Finding{found}}, nil
}

// judgeAir holds readings against the limits of a plan; each gas must be read once.
func judgeAir(test *isolation.AirTest, level string, values []AirValue) (isolation.Finding, error) {
	var bad, seen []string
	for _, l := range test.Limits {
		read := slices.DeleteFunc(slices.Clone(values), func(v AirValue) bool { return v.Gas != l.Gas })
		if len(read) != 1 {
			return isolation.Finding{}, invalid(airField(l.Gas), "%s (%s) is read once at each level.", l.Name, l.Gas)
		}
		ok, err := l.Within(read[0].Value)
		if err != nil {
			return isolation.Finding{}, invalid(airField(l.Gas), "%s.", err)
		}
		if !ok {
			bad = append(bad, l.Gas+" "+Figure(read[0].Value, 2)+" "+l.Unit+" and must be "+l.Words())
		}
		seen = append(seen, l.Gas)
	}
	for _, v := range values {
		if !slices.Contains(seen, v.Gas) {
			return isolation.Finding{}, invalid("values", "The plan has no limit for %q.", v.Gas)
		}
	}
	if len(bad) > 0 {
		return isolation.Finding{Result: "not safe", Words: "Air, " + level + ": nobody goes in. " + strings.Join(bad, "; ") +
			"."}, nil
	}
	return isolation.Finding{OK: true, Result: "within limits", Words: "Air, " + level + ": within the limits of " +
		test.RuleSet + "."}, nil
}

// airField returns the name of a gas's field on the form.
func airField(gas string) string { return "gas_" + gas }

func (a RecordAir) apply(e Entry, p *Permit) {
	p.air[p.airIndex(a.Level)] = AirState{Level: a.Level, Values: a.Values, Meter: strings.TrimSpace(a.Meter),
		Finding: e.Found[0], Recorded: Mark{e.By, e.At}}
	if !e.Found[0].OK {
		p.unprove(e)
	}
}

// Air returns the last test of the air at each level.
func (p Permit) Air() []AirState { return slices.Clone(p.air) }

// openAir says what keeps the air at a level from being proved; "" if nothing does.
func openAir(a AirState, now time.Time) string {
	switch {
	case a.Recorded.IsZero() || a.Stale:
		return "the air, " + a.Level + ": not tested " + yet(a.Stale)
	case !a.Finding.OK:
		return "the air, " + a.Level + ": " + a.Finding.Result
	case isOld(a.Recorded, now):
		return "the air, " + a.Level + readAgain
	}
	return ""
}

// AirUntil returns until when somebody may go in, or begin hot work, on the last test of the air; the zero time where a
// level is not tested, or not within its limits. While people are there the test holds for the plan's interval; into a
// space that has stood empty it holds for as long as a break may last (A.1050(27), 7.3: before entry, at intervals, and
// after every break).
func (p Permit) AirUntil(now time.Time) time.Time {
	test := p.plan.Plan().Air
	if test == nil {
		return time.Time{}
	}
	holds := time.Duration(test.BreakS) * time.Second
	if since, there := p.emptySince(); there || !since.IsZero() && now.Sub(since) <= holds {
		holds = time.Duration(test.EveryS) * time.Second
	}
	var until time.Time
	for _, a := range p.air {
		if openAir(a, time.Time{}) != "" {
			return time.Time{}
		}
		if end := a.Recorded.At.Add(holds); until.IsZero() || end.Before(until) {
			until = end
		}
	}
	return until
}

// emptySince returns since when nobody has been where the air is tested; there: somebody is.
func (p Permit) emptySince() (since time.Time, there bool) {
	if p.isOf(isolation.WorkEntry) {
		for _, x := range p.entrants {
			if x.Out.IsZero() {
				return time.Time{}, true
			}
			since = latest(since, x.Out)
		}
		return since, false
	}
	for _, x := range p.crew {
		if x.Off.IsZero() {
			return time.Time{}, true
		}
		since = latest(since, x.Off)
	}
	return since, false
}

func latest(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

// isOf reports whether the permit's work is of a kind.
func (p Permit) isOf(k isolation.WorkKind) bool { return slices.Contains(p.plan.Plan().Kinds, k) }

// freshAir refuses what begins on a test of the air that is missing, bad or too old.
func freshAir(s Setting, p Permit, gate string) error {
	for _, a := range p.air {
		if open := openAir(a, time.Time{}); open != "" {
			return refuse(gate, "Test the air there.", "%s.", asSentenceStart(open))
		}
	}
	if until := p.AirUntil(s.At); s.At.After(until) {
		return refuse(gate, "Test the air again at every level.", "The last test of the air held until %s.",
			until.Format("15:04 MST"))
	}
	return nil
}

func asSentenceStart(words string) string { return strings.ToUpper(words[:1]) + words[1:] }

// airAlarm is the danger of people who are where the air was to be tested again.
func (p Permit) airAlarm(now time.Time, who string) (Alarm, bool) {
	_, there := p.emptySince()
	if until := p.AirUntil(now); !there || p.state != Live || until.IsZero() || !now.After(until) {
		return Alarm{}, false
	}
	return Alarm{p.id, "The test of the air has run out.", who, "Call them out, or test the air at every level now."}, true
}
