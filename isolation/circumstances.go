package isolation

// Circumstances are facts aboard that bear on a plan and are not in the plant file. The zero value: nothing is known
// to pass, no other permit holds anything.
type Circumstances struct {
	Passing []NodeID // points recorded as passing and not repaired: none of them is chosen
	// points that other open permits hold: shared, and no point behind them counts unless the plan holds them too
	Held []Held
	// steps that hang for the permit itself, of which the plan is one in place of another: it must begin with them
	Hang []Step
}

// Held is a point that an open permit holds in a position.
type Held struct {
	Point    NodeID
	Position Position
	Permit   string // the permit's number, as printed
}

// Conflict is a point of a plan that an open permit holds as well. Shared true: in the same position, so that both
// hang their locks and the point goes back when the last comes off. Shared false: in another position, and the plan
// cannot be authorised until one of the two gives way.
type Conflict struct {
	Point  NodeID
	Wanted Position // by the plan
	Held   Position // by the other permit
	Permit string
	Shared bool
}

// Conflicts returns every point of plan that open permits hold, in the order of the plan's steps, then of held.
func Conflicts(plan Plan, held []Held) []Conflict {
	var out []Conflict
	for _, s := range plan.Steps {
		for _, h := range held {
			if h.Point == s.Point {
				out = append(out, Conflict{Point: s.Point, Wanted: s.Position, Held: h.Position, Permit: h.Permit,
					Shared: h.Position == s.Position})
			}
		}
	}
	return out
}
