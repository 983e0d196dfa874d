package register

import (
	"strings"
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

// indexRow returns the row by which an entry is found.
func indexRow(e permits.Entry) store.IndexRow {
	return store.IndexRow{N: e.N, At: e.At.UnixMicro(), ActID: string(e.ActID), Kind: string(e.Kind),
		Permit: int64(e.Permit),
		Person: string(e.By), About: string(permits.Touches(e, permits.Permit{}).Person)}
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
	for _, k := range plan.Kinds {
		row.Kinds += string(k) + ","
	}
	if row.Kinds != "" {
		row.Kinds = "," + row.Kinds
	}
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
	l.Kinds = strings.ReplaceAll(strings.Trim(row.Kinds, ","), ",", ", ")
	return l
}

// useRow returns the row of somebody's use of a job's plan.
func useRow(job string, who permits.PersonID, used permits.Used) store.UseRow {
	return store.UseRow{Job: job, Person: string(who), First: used.First.Unix() / daySeconds,
		Last: used.Last.Unix() / daySeconds}
}

const daySeconds = 86400

// day returns the beginning of a day that is counted from 1970.
func day(n int64) time.Time { return time.Unix(n*daySeconds, 0).UTC() }

func fromMicro(us int64) time.Time { return time.UnixMicro(us).UTC() }
