package register

import (
	"context"
	"fmt"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

// TagKind says what a code stands for.
type TagKind string

// What a code can stand for.
const (
	LockTag    TagKind = "lock tag"
	PointLabel TagKind = "point label"
	VoidLabel  TagKind = "void label" // a point label in whose place another was issued
)

// Tag is what a code turned out to be.
type Tag struct {
	Kind   TagKind
	Digest permits.TagDigest
	Permit permits.PermitID // of a lock tag
	Step   int              // of a lock tag, from 1
	Point  isolation.NodeID
	Over   bool  // the lock tag's permit is over, or the label is void: the code does nothing any more
	Issued int64 // entry that issued it
}

// drawCodes fills in the digests of the codes that an act issues, and returns the codes. Permit and entry are filled in
// once they are known.
func (r *Register) drawCodes(act permits.Act, p permits.Permit) (permits.Act, []store.CodeRow, error) {
	a, issues := act.(permits.Issuing)
	if !issues {
		return act, nil, nil
	}
	codes := a.Codes(p)
	rows := make([]store.CodeRow, len(codes))
	for i := range codes {
		drawn, err := permits.NewTagCode(r.random)
		if err != nil {
			return nil, nil, fmt.Errorf("draw a tag's code: %w", err)
		}
		codes[i].Digest = drawn.Digest()
		rows[i] = codeRow(codes[i])
		rows[i].Code = drawn.Text()
	}
	return a.WithCodes(codes), rows, nil
}

// codeRow returns the row of a code, without the code, its permit and its entry.
func codeRow(c permits.Code) store.CodeRow {
	kind := LockTag
	if c.Step == 0 {
		kind = PointLabel
	}
	return store.CodeRow{Digest: string(c.Digest), Kind: string(kind), Step: c.Step, Point: string(c.Point)}
}

// FindTag says what a code stands for; a code that this ship has not issued is a NotFound refusal.
func (r *Register) FindTag(ctx context.Context, c permits.TagCode) (Tag, error) {
	row, found, err := r.db.Now(ctx).Code(string(c.Digest()))
	switch {
	case err != nil:
		return Tag{}, err
	case !found:
		return Tag{}, &permits.Refusal{Kind: permits.NotFound, Gate: "tag", What: "No tag or label aboard has this code.",
			Opens: "Read the code again, or scan it."}
	}
	t := Tag{Kind: TagKind(row.Kind), Digest: permits.TagDigest(row.Digest), Permit: permits.PermitID(row.Permit),
		Step:  row.Step,
		Point: isolation.NodeID(row.Point), Issued: row.Issued}
	w := r.state()
	if t.Kind == LockTag {
		t.Over = w.permit(t.Permit).ID() == 0
	} else if w.ship.Labels[t.Point] != t.Digest {
		t.Kind, t.Over = VoidLabel, true
	}
	return t, nil
}

// TagCodes returns the codes of a permit's lock tags by step, for printing; none before it is authorised.
func (r *Register) TagCodes(ctx context.Context, id permits.PermitID) (map[int]permits.TagCode, error) {
	rows, err := r.db.Now(ctx).CodesOf(int64(id), string(LockTag))
	if err != nil {
		return nil, err
	}
	out := map[int]permits.TagCode{}
	for _, row := range rows {
		c, err := parseCode(row)
		if err != nil {
			return nil, err
		}
		out[row.Step] = c
	}
	return out, nil
}

// LabelCodes returns the codes of the point labels that hold, for printing.
func (r *Register) LabelCodes(ctx context.Context) (map[isolation.NodeID]permits.TagCode, error) {
	rows, err := r.db.Now(ctx).CodesOf(0, string(PointLabel))
	if err != nil {
		return nil, err
	}
	labels := r.Ship().Labels
	out := map[isolation.NodeID]permits.TagCode{}
	for _, row := range rows {
		point := isolation.NodeID(row.Point)
		if labels[point] != permits.TagDigest(row.Digest) {
			continue
		}
		c, err := parseCode(row)
		if err != nil {
			return nil, err
		}
		out[point] = c
	}
	return out, nil
}

// parseCode reads a stored code. The error never quotes it.
func parseCode(row store.CodeRow) (permits.TagCode, error) {
	c, err := permits.ParseTagCode(row.Code)
	if err != nil || string(c.Digest()) != row.Digest {
		return permits.TagCode{}, fmt.Errorf("the stored code with digest %s does not fit it", row.Digest)
	}
	return c, nil
}
