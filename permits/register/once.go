package register

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"stillwatch/permits"
)

// happened returns the receipt of an act that is on the disk already; nil if it is not. The same id with another
// content is a Conflict refusal.
func (r *Register) happened(ctx context.Context, d Doing) (*Receipt, error) {
	n, found, err := r.db.Now(ctx).Act(string(d.ID))
	if !found || err != nil {
		return nil, err
	}
	e, err := r.Entry(ctx, n)
	if err != nil {
		return nil, err
	}
	p := permits.Permit{}
	if e.Permit != 0 {
		if p, err = r.Permit(ctx, e.Permit); err != nil {
			return nil, err
		}
	}
	return again(d, e, p)
}

// happened looks first where acts are that are not on the disk yet: an act sent twice at once may share a commit with
// itself, or come while its own commit is under way.
func (t *attempt) happened(d Doing) (*Receipt, error) {
	for _, b := range t.batch.pending() {
		if i, ok := b.once[d.ID]; ok {
			return again(d, b.all[i].entry, b.all[i].after)
		}
	}
	return t.r.happened(context.Background(), d)
}

// again compares an act with the entry that stands under its id.
func again(d Doing, e permits.Entry, p permits.Permit) (*Receipt, error) {
	same := e.Kind == d.Act.Kind() && e.By == d.actor() && (e.Permit == d.Permit || d.Permit == 0 &&
		e.Kind == permits.KindRequest)
	if same {
		sent, err1 := json.Marshal(permits.AsSent(d.Act))
		kept, err2 := json.Marshal(permits.AsSent(e.Act))
		if err := errors.Join(err1, err2); err != nil {
			return nil, fmt.Errorf("compare an act with its entry: %w", err)
		}
		same = bytes.Equal(sent, kept)
	}
	if !same {
		return nil, &permits.Refusal{Kind: permits.Conflict, Gate: "once",
			What:  "Another act has been recorded under the same id.",
			Opens: "Load the page anew and do it again, if it has not been done."}
	}
	return &Receipt{Entry: e, Permit: p, Repeated: true}, nil
}

// refusalKey tells refusals apart.
type refusalKey struct {
	id  permits.ActID
	act permits.RefusedAct
}

// refuse keeps a refusal, unless it is a slip of a form or has been kept already.
func (t *attempt) refuse(d Doing, p permits.Permit, who permits.Person, no *permits.Refusal) error {
	if no.Kind == permits.Invalid || who.ID == "" {
		return nil
	}
	act := permits.RefusedAct{Of: d.Act.Kind(), Gate: no.Gate, What: no.What, Opens: no.Opens}
	kept, err := t.isKept(refusalKey{d.ID, act})
	if kept || err != nil {
		return err
	}
	s := t.state.setting(t.at, d.ID)
	s.By = who
	e, err := permits.DecideShip(s, act)
	if err != nil {
		return fmt.Errorf("keep a refusal: %w", err)
	}
	e.Permit = p.ID()
	_, _, err = t.put(e)
	return err
}

// isKept reports whether this very refusal of this very act is in the log.
func (t *attempt) isKept(k refusalKey) (bool, error) {
	for _, b := range t.batch.pending() {
		if b.said[k] {
			return true, nil
		}
	}
	found := false
	err := t.r.db.Now(context.Background()).EachRefusal(string(k.id), decoded(func(e permits.Entry) error {
		found = found || e.Act == permits.Act(k.act)
		return nil
	}))
	return found, err
}

// asRefusal returns the refusal that an error is.
func asRefusal(err error) (*permits.Refusal, bool) {
	var no *permits.Refusal
	ok := errors.As(err, &no)
	return no, ok
}

// invalidField makes the refusal of a field that makes no sense.
func invalidField(field, what string) *permits.Refusal {
	return &permits.Refusal{Kind: permits.Invalid, Gate: "form", Field: field, What: what}
}
