package register

import (
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

// indexRow returns the row by which an entry is found.
func indexRow(e permits.Entry) store.IndexRow {
	return store.IndexRow{N: e.N, At: e.At.UnixMicro(), ActID: string(e.ActID), Kind: string(e.Kind), Permit: int64(e.Permit),
		Person: string(e.By), About: string(aboutOf(e.Act))}
}

// aboutOf returns whom an act is about, if that is somebody.
func aboutOf(a permits.Act) permits.PersonID {
	switch a := a.(type) {
	case permits.AddPerson:
		return a.Person.ID
	case permits.ChangePerson:
		return a.Person.ID
	case permits.SetPIN:
		return a.Person
	case permits.RefusedPIN:
		return a.Person
	case permits.ReleaseOwner:
		return a.Owner
	}
	return ""
}

// pointsOf returns the points that an entry is about; after is its permit after it.
func pointsOf(e permits.Entry, after permits.Permit) []isolation.NodeID {
	byTag := func(tag permits.TagDigest) []isolation.NodeID {
		if l, ok := after.LockByTag(tag); ok {
			return []isolation.NodeID{l.Step.Point}
		}
		return nil
	}
	byStep := func(n int) []isolation.NodeID {
		if l, ok := after.Lock(n); ok {
			return []isolation.NodeID{l.Step.Point}
		}
		return nil
	}
	switch a := e.Act.(type) {
	case permits.FitLock:
		return byTag(a.Tag)
	case permits.RemoveLock:
		return byTag(a.Tag)
	case permits.CheckLock:
		return byStep(a.N)
	case permits.FindWrong:
		return byStep(a.N)
	case permits.CheckRestored:
		return byStep(a.N)
	case permits.RecordPassing:
		return []isolation.NodeID{a.Point}
	case permits.RecordRepair:
		return []isolation.NodeID{a.Point}
	case permits.HangLabels:
		var out []isolation.NodeID
		for point := range a.Labels {
			out = append(out, point)
		}
		return out
	}
	return nil
}

// permitRow returns the row that lists show of a permit, after its entry n.
func permitRow(p permits.Permit, n int64) store.PermitRow {
	row := store.PermitRow{ID: int64(p.ID()), State: p.State().String(), Work: p.Work(),
		RequestedBy: string(p.Requested().By), RequestedAt: p.Requested().At.UnixMicro(), Changed: p.Changed().UnixMicro(),
		LocksOn: p.LocksOn(), SignedOn: len(p.SignedOn()), Entries: p.Entries(), LastEntry: n}
	if p.State().IsOver() {
		row.Over = 1
	}
	plan := p.Plan()
	row.Job, row.Machine, row.MachineName, row.Title = plan.Job, plan.Machine, plan.MachineName, plan.Title
	row.Exposure, row.Locks = string(plan.Exposure), len(plan.Steps)
	if !p.Until().IsZero() {
		row.Until = p.Until().UnixMicro()
	}
	return row
}

// permitLine returns what a list shows of a row.
func permitLine(row store.PermitRow) PermitLine {
	state, _ := permits.ParseState(row.State)
	l := PermitLine{ID: permits.PermitID(row.ID), State: state, Job: row.Job, Machine: row.Machine,
		MachineName: row.MachineName,
		Title:       row.Title, Work: row.Work, Exposure: isolation.Exposure(row.Exposure),
		RequestedBy: permits.PersonID(row.RequestedBy),
		RequestedAt: fromMicro(row.RequestedAt), Changed: fromMicro(row.Changed), Locks: row.Locks, LocksOn: row.LocksOn,
		SignedOn: row.SignedOn, Entries: row.Entries, LastEntry: row.LastEntry}
	if row.Until != 0 {
		l.Until = fromMicro(row.Until)
	}
	return l
}

func fromMicro(us int64) time.Time { return time.UnixMicro(us).UTC() }
