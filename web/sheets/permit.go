package sheets

import (
	"strconv"
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/oilrecord"
	"stillwatch/permits/paper"
	"stillwatch/web/screens"
)

// Permit puts a permit and its entries on paper.
func Permit(set permits.Setting, p permits.Permit, entries []permits.Entry, tell *screens.Teller) paper.PermitSheet {
	plan := p.Plan()
	sheet := paper.PermitSheet{Title: plan.MachineName + ": " + plan.Title, Number: screens.PermitNumber(p.ID()),
		State: p.State().String(), Plant: plan.MachineName,
		PlantSHA256: plan.PlantSHA256, Work: p.Work(), Hazards: plan.Hazards, Precautions: plan.Precautions,
		Protective: plan.Protective,
		ValidFrom:  p.Authorised().At.Local(), ValidUntil: p.Until().Local(), Place: placeOfMachine(plan, set.Plant)}
	sheet.Changes = planChanges(p, tell.Name)
	for i, r := range plan.WorkRows() {
		sheet.Title += screens.Choose(i == 0, " – ", ", ") + r.Title
	}
	for _, u := range plan.Unproved {
		sheet.Unproved = append(sheet.Unproved, u.Words)
	}
	if p.Under() != 0 {
		sheet.Under = "the locks of permit " + screens.PermitNumber(p.Under()) + "."
	}
	for _, l := range p.Locks() {
		sheet.Locks = append(sheet.Locks, lockRecord(l, tell.Name))
	}
	for _, a := range p.Added() {
		b := paper.BackRecord{Do: a.Do, Why: a.Why, LeftOut: a.LeftOut}
		if !a.Done.IsZero() {
			b.By, b.At = tell.Name(a.Done.By), a.Done.At.Local()
		}
		sheet.WayBack = append(sheet.WayBack, b)
	}
	sheetPeople(&sheet, set, p, entries, tell)
	sheetSpace(&sheet, p, tell)
	for _, e := range entries {
		sheetEntry(&sheet, p, e, tell)
	}
	drained := oilrecord.Totals(p.ID(), p.EverDrained(), entries)
	for _, d := range drained {
		if d.Contents == oilrecord.NotOil {
			continue // the table accounts for oil; water that was drained stands with its record
		}
		sheet.Oil = append(sheet.Oil, paper.OilTotal{Fluid: d.Fluid, Litres: d.Litres, To: d.Tank})
	}
	for _, d := range oilrecord.Drafts(drained, time.Local) {
		sheet.OilDrafts = append(sheet.OilDrafts, paper.OilDraft{Tank: d.Tank, Lines: d.Lines})
	}
	return sheet
}

func lockRecord(l permits.Lock, name func(permits.PersonID) string) paper.LockRecord {
	r := paper.LockRecord{Step: l.Step.N, LockNumber: string(l.Padlock), TagOnly: !l.Step.Lock, Measure: l.Step.Measure,
		Point: string(l.Step.Point), Name: l.Step.Name,
		Place: Place(l.Step.Place), Held: Position(l.Step.Kind, l.Step.Position),
		Clearance: Position(l.Step.Kind, l.Step.Clearance)}
	if !l.Fitted.IsZero() {
		r.PostedBy, r.PostedAt = name(l.Fitted.By), l.Fitted.At.Local()
	}
	if !l.Checked.IsZero() {
		r.CheckedBy, r.CheckedAt = name(l.Checked.By), l.Checked.At.Local()
	}
	if off := l.Off(); !off.IsZero() {
		r.ClearedBy, r.ClearedAt = name(off.By), off.At.Local()
	}
	if l.Released {
		r.Note = "released for an absent owner"
	}
	return r
}

// sheetEntry puts one entry where the paper wants it.
func sheetEntry(sheet *paper.PermitSheet, p permits.Permit, e permits.Entry, tell *screens.Teller) {
	sig := paper.Signature{Name: tell.Name(e.By), Role: string(e.Signed.Role()), Act: tell.Tell(e),
		At: e.At.Local(), Entry: e.N}
	if !e.Signed.IsZero() {
		sheet.Signatures = append(sheet.Signatures, sig)
	}
	switch a := e.Act.(type) {
	case permits.Authorise, permits.AuthoriseChange, permits.AnswerUnproved, permits.Countersign:
		sheet.Authorisation = append(sheet.Authorisation, sig)
	case permits.Issue:
		sheet.Issue = append(sheet.Issue, sig)
	case permits.Accept:
		sheet.Acceptance = append(sheet.Acceptance, sig)
	case permits.Extend:
		sheet.Extension = append(sheet.Extension, sig)
	case permits.HandBack:
		sheet.HandBack = append(sheet.HandBack, sig)
	case permits.Close, permits.Cancel:
		sheet.Cancellation = append(sheet.Cancellation, sig)
	case permits.AcceptDeviation:
		sheet.Deviations = append(sheet.Deviations, paper.Deviation{Text: a.On(p) + ": " + a.Words,
			Accepted: sig})
	case permits.ConsentDeviation:
		sheet.Deviations = append(sheet.Deviations, paper.Deviation{Text: "Consent of the officer: " +
			permits.Names{Permit: p}.Section(a.Section), Accepted: sig})
	case permits.RecordAir:
		sheet.Readings = append(sheet.Readings, airRecordsOf(p, a, e, tell)...)
	case permits.AnswerMeasures:
		for _, id := range a.Checks {
			r := readingRecordOf(p, permits.RecordStored{Check: id, Value: 1}, e, tell)
			r.Value, r.Limit = "yes", "yes"
			sheet.Readings = append(sheet.Readings, r)
		}
	case permits.RecordDrain:
		sheet.Drains = append(sheet.Drains, drainRecordOf(p, a, e, tell))
	case permits.RecordStored:
		sheet.Readings = append(sheet.Readings, readingRecordOf(p, a, e, tell))
	case permits.RecordDead:
		ok := a.ProvedBefore && a.Dead && a.ProvedAfter
		sheet.Readings = append(sheet.Readings, paper.ReadingRecord{What: "Dead test: " + tell.Names(e).DeadTest(a.Test),
			Value: screens.Choose(ok, "dead", "NOT proved dead"), Limit: "dead on all poles", Within: ok,
			Rule: "detector proved before and after (EN 50110-1, second hand)", By: tell.Name(e.By), At: e.At.Local()})
	case permits.RecordStart:
		ok := a.Still && a.ControlsOff
		sheet.Readings = append(sheet.Readings, paper.ReadingRecord{What: "Start attempt",
			Value: screens.Choose(ok, "nothing moved", "does not count"), Limit: "nothing moves, controls back to off",
			Within: ok,
			Rule:   "DOE-STD-1030-96", By: tell.Name(e.By), At: e.At.Local()})
	case permits.RefusedAct:
		sheet.Refused = append(sheet.Refused, paper.Refusal{At: e.At.Local(), By: tell.Name(e.By), Act: a.Of.Does(),
			Why: screens.ShipTime(a.What, e.At)})
	}
}

// localOrNone is a time on the ship's clock; none stays none.
func localOrNone(t time.Time) time.Time {
	if t.IsZero() {
		return t
	}
	return t.Local()
}

// airRecordsOf is a test of the air, one line a gas.
func airRecordsOf(p permits.Permit, a permits.RecordAir, e permits.Entry, tell *screens.Teller) []paper.ReadingRecord {
	var out []paper.ReadingRecord
	test := p.Plan().Air
	if test == nil {
		return nil
	}
	for _, l := range test.Limits {
		for _, v := range a.Values {
			if v.Gas != l.Gas {
				continue
			}
			ok, err := l.Within(v.Value)
			out = append(out, paper.ReadingRecord{What: "Air, " + a.Level + ": " + l.Gas + ", meter " + a.Meter,
				Value: withUnit(v.Value, l.Unit), Limit: l.Words(), Within: ok && err == nil, Rule: l.Source,
				By: tell.Name(e.By), At: e.At.Local()})
		}
	}
	return out
}

func drainRecordOf(p permits.Permit, a permits.RecordDrain, e permits.Entry, tell *screens.Teller) paper.DrainRecord {
	r := paper.DrainRecord{Section: a.Section, OutL: a.Reading.OutL, HoldInL: a.Reading.HoldInL,
		Hold: seconds(a.Reading.HoldS), GaugeBar: a.Reading.GaugeBar, TempC: a.Reading.TempC,
		GaugeKnown: true, TempKnown: true, By: tell.Name(e.By), At: e.At.Local()}
	for _, d := range p.Drains() {
		if d.Section.ID == a.Section {
			r.Section, r.ExpectedL, r.SpreadL, r.Drain = d.Section.Name, d.Section.OutL, d.Section.SpreadL,
				screens.NodeList(d.Section.Drains)
		}
	}
	r.Verdict, r.Words = verdict(e.Found)
	r.Words = screens.ShipTime(r.Words, e.At)
	if a.Words != "" {
		r.Words = permits.AsSentence(r.Words) + " Changed since the record before: " + permits.AsSentence(a.Words)
	}
	return r
}

func verdict(found []isolation.Finding) (result, words string) {
	if len(found) == 0 {
		return "", ""
	}
	return found[0].Result, found[0].Words
}

func readingRecordOf(p permits.Permit, a permits.RecordStored, e permits.Entry,
	tell *screens.Teller) paper.ReadingRecord {
	r := paper.ReadingRecord{What: a.Check, Value: strconv.FormatFloat(a.Value, 'g', -1, 64), By: tell.Name(e.By),
		At: e.At.Local()}
	for _, st := range p.Stored() {
		if st.Check.ID == a.Check {
			r.What, r.Value, r.Limit, r.Rule = st.Check.Name, withUnit(a.Value, st.Check.Unit),
				withUnit(st.Check.Limit, st.Check.Unit), st.Check.Source
		}
	}
	r.Within = len(e.Found) > 0 && e.Found[0].OK
	return r
}
