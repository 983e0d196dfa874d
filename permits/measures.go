package permits

import (
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/envelope"
)

// KindAnswerMeasures is a yes to measures of a kind of work.
const KindAnswerMeasures Kind = "answer measures"

// AnswerMeasures says of measures that they are seen to: each was looked at by whoever answers. A no is recorded of one
// measure by itself, as a reading.
type AnswerMeasures struct {
	Checks []string `json:"checks"`
}

// Kind says which act this is.
func (AnswerMeasures) Kind() Kind { return KindAnswerMeasures }

func (AnswerMeasures) rule() rule {
	return unsignedBy("answer for measures", Technician, ChiefEngineer, Officer)
}

func (a AnswerMeasures) tell(n Names, _ Entry) string {
	said := "saw to: "
	for i, id := range a.Checks {
		if i > 0 {
			said += "; "
		}
		if k := n.Permit.storedIndex(id); k >= 0 {
			said += n.Permit.stored[k].Check.Name
		}
	}
	return said
}

func (AnswerMeasures) touches(Permit) Touched { return Touched{} }

func (AnswerMeasures) gate(_ Setting, p Permit) error {
	if len(p.Measures()) == 0 {
		return refuse("measures", "", "The work of permit %d asks for no measures.", p.id)
	}
	return nil
}

func (a AnswerMeasures) decide(_ Setting, p Permit) (outcome, error) {
	if len(a.Checks) == 0 {
		return outcome{}, invalid("measure", "Tick what is seen to.")
	}
	out := outcome{to: p.state}
	for i, id := range a.Checks {
		k := p.storedIndex(id)
		if k < 0 || p.stored[k].Check.Stored.Kind != isolation.KindMeasure || slices.Contains(a.Checks[:i], id) {
			return outcome{}, noSuch("measures", "measure", id)
		}
		found, err := envelope.JudgeStored(&p.stored[k].Check, 1)
		if err != nil {
			return outcome{}, &Refusal{Kind: Invalid, Gate: "measures", What: "The answer makes no sense: " + err.Error() + ".",
				cause: err}
		}
		out.found = append(out.found, found)
	}
	return out, nil
}

func (a AnswerMeasures) apply(e Entry, p *Permit) {
	for i, id := range a.Checks {
		k := p.storedIndex(id)
		p.stored[k] = StoredState{Check: p.stored[k].Check, Value: 1, Recorded: Mark{e.By, e.At}, Finding: e.Found[i]}
	}
}

// Measures returns what the kinds of work ask somebody to see to, with the last answers.
func (p Permit) Measures() []StoredState {
	return slices.DeleteFunc(p.Stored(), func(c StoredState) bool { return c.Check.Stored.Kind != isolation.KindMeasure })
}
