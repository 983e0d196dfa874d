package register

import (
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// The rows of the tables of the log and of its projections; the tables stand in migrations.

type entryRow struct {
	N    int64 `gorm:"primaryKey;autoIncrement:false"`
	Body []byte
}

func (entryRow) TableName() string { return "entries" }

type treeRow struct {
	N      int64 `gorm:"primaryKey;autoIncrement:false"`
	Hashes []byte
}

func (treeRow) TableName() string { return "tree" }

type headRow struct {
	One  int `gorm:"primaryKey;autoIncrement:false"`
	Size int64
	Note string
}

func (headRow) TableName() string { return "head" }

type lineRow struct {
	N      int64 `gorm:"primaryKey;autoIncrement:false"`
	At     int64
	ActID  string
	Kind   string
	Permit int64
	Person string
	About  string
}

func (lineRow) TableName() string { return "lines" }

type touchedRow struct {
	Point string `gorm:"primaryKey"`
	N     int64  `gorm:"primaryKey;autoIncrement:false"`
}

func (touchedRow) TableName() string { return "touched" }

type permitRow struct {
	ID          int64 `gorm:"primaryKey;autoIncrement:false"`
	State       string
	Over        bool
	Job         string
	Machine     string
	MachineName string
	Title       string
	Work        string
	Exposure    string
	RequestedBy string
	RequestedAt int64
	Changed     int64
	Until       int64
	Locks       int
	LocksOn     int
	SignedOn    int
	Entries     int
	LastEntry   int64
}

func (permitRow) TableName() string { return "permits" }

type codeRow struct {
	Digest string `gorm:"primaryKey"`
	Code   string
	Kind   string
	Permit int64
	Step   int
	Point  string
	Issued int64
}

func (codeRow) TableName() string { return "codes" }

// lineOf returns the row by which an entry is found.
func lineOf(e permits.Entry) lineRow {
	return lineRow{N: e.N, At: e.At.UnixMicro(), ActID: string(e.ActID), Kind: string(e.Kind), Permit: int64(e.Permit),
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
	switch a := e.Act.(type) {
	case permits.FitLock:
		return byTag(a.Tag)
	case permits.RemoveLock:
		return byTag(a.Tag)
	case permits.CheckLock:
		if l, ok := after.Lock(a.N); ok {
			return []isolation.NodeID{l.Step.Point}
		}
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

// rowOf returns the row that lists show of a permit, after its entry n.
func rowOf(p permits.Permit, n int64) permitRow {
	row := permitRow{ID: int64(p.ID()), State: p.State().String(), Over: p.State().IsOver(), Work: p.Work(),
		RequestedBy: string(p.Requested().By), RequestedAt: p.Requested().At.UnixMicro(), Changed: p.Changed().UnixMicro(),
		LocksOn: p.LocksOn(), SignedOn: len(p.SignedOn()), Entries: p.Entries(), LastEntry: n}
	plan := p.Plan()
	row.Job, row.Machine, row.MachineName, row.Title = plan.Job, plan.Machine, plan.MachineName, plan.Title
	row.Exposure, row.Locks = string(plan.Exposure), len(plan.Steps)
	if !p.Until().IsZero() {
		row.Until = p.Until().UnixMicro()
	}
	return row
}

// line returns what a list shows of the row.
func (row permitRow) line() PermitLine {
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
