package permits

// owes reports whether the permit was ever live and what went out for the work has not been counted in since: tools,
// loose parts, guards and covers.
func (p Permit) owes() bool {
	return p.counted.IsZero() && (!p.accepted.IsZero() || p.hasAccepted())
}

func (p Permit) hasAccepted() bool {
	for _, s := range p.signatures {
		if s.Kind == KindAccept {
			return true
		}
	}
	return false
}

// Owes reports whether tools, parts and guards are still to be counted in.
func (p Permit) Owes() bool { return p.owes() }

// countedIn refuses the end of the work while something is missing.
func countedIn(p Permit, gate string, tools int, guards bool) error {
	if tools != p.toolsOut {
		return refuse(gate, "Find what is missing, or count again.", "%d tools and parts went out and %d came back.",
			p.toolsOut, tools)
	}
	if !guards {
		return refuse(gate, "Fit the guards and covers, then sign.", "The guards are not back in place.")
	}
	return nil
}
