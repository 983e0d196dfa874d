package permits

// Apply returns the permit after an entry of the log; it changes nothing in p. Entries of other permits are passed
// over.
func Apply(p Permit, e Entry) Permit {
	q := p.clone()
	Advance(&q, e)
	return q
}

// Advance brings *p to where Apply(*p, e) is. It is for folding a long log by somebody who has let nobody else have the
// permit: it changes what earlier copies of *p look at too.
func Advance(p *Permit, e Entry) {
	a, ok := e.Act.(PermitAct)
	if !ok || (p.id != 0 && e.Permit != p.id) {
		return
	}
	if p.id == 0 {
		p.id = e.Permit
	}
	a.apply(e, p)
	p.state = e.To
	p.changed = e.At
	p.entries++
	if !e.Signed.IsZero() {
		p.signatures = append(p.signatures, Signing{Kind: e.Kind, Entry: e.N, Signature: e.Signed})
	}
}

// Fold returns the permit that these entries make, which must be one permit's, in the order of the log.
func Fold(entries []Entry) Permit {
	var p Permit
	for _, e := range entries {
		Advance(&p, e)
	}
	return p
}
