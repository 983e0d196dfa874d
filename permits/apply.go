package permits

// Apply gives the permit after an entry of the log; it changes nothing in p. Entries of other permits are passed over.
func Apply(p Permit, e Entry) Permit {
	a, ok := e.Act.(PermitAct)
	if !ok || (p.id != 0 && e.Permit != p.id) {
		return p
	}
	q := p.clone()
	if q.id == 0 {
		q.id = e.Permit
	}
	a.apply(e, &q)
	q.state = e.To
	q.changed = e.At
	q.entries++
	if !e.Signed.IsZero() {
		q.signatures = append(q.signatures, Signing{Kind: e.Kind, Entry: e.N, Signature: e.Signed})
	}
	return q
}

// Fold gives the permit that these entries make, which must be one permit's, in the order of the log.
func Fold(entries []Entry) Permit {
	var p Permit
	for _, e := range entries {
		p = Apply(p, e)
	}
	return p
}
