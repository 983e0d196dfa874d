package metrics

import (
	"context"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"stillwatch/permits"
	"stillwatch/permits/register"
)

// ship reads how things stand each time it is asked; it keeps nothing.
type ship struct {
	reg    *register.Register
	now    func() time.Time
	backup func(context.Context) (time.Time, bool)
	figure map[string]*prometheus.Desc
}

// The figures of the ship: name, what it says, label.
var shipFigures = [][3]string{
	{"stillwatch_permits_open", "Permits that are not over, by state.", "state"},
	{"stillwatch_permits_overdue", "Open permits whose authorisation has run out.", ""},
	{"stillwatch_tags_overdue", "Tags that hang and were not sighted in time by an audit.", ""},
	{"stillwatch_plans_overdue", "Plans in use that were not inspected in time.", ""},
	{"stillwatch_locks_on", "Locks and tags that hang now, over all permits.", ""},
	{"stillwatch_people_signed_on", "People signed on to work, over all permits.", ""},
	{"stillwatch_log_entries", "Entries in the log.", ""},
	{"stillwatch_last_entry_age_seconds", "Seconds since the last entry of the log.", ""},
	{"stillwatch_last_backup_age_seconds", "Seconds since the last backup, where that is known.", ""},
	{"stillwatch_notice", "1 while the board tells the officer of something wrong: with the disk, the clock, PINs, " +
		"backups, the tables, an older copy, the witness.", "about"},
}

func newShip(reg *register.Register, now func() time.Time, backup func(context.Context) (time.Time, bool)) *ship {
	s := &ship{reg: reg, now: now, backup: backup, figure: map[string]*prometheus.Desc{}}
	for _, f := range shipFigures {
		var labels []string
		if f[2] != "" {
			labels = []string{f[2]}
		}
		s.figure[f[0]] = prometheus.NewDesc(f[0], f[1], labels, nil)
	}
	return s
}

// Describe names the figures.
func (s *ship) Describe(out chan<- *prometheus.Desc) {
	for _, d := range s.figure {
		out <- d
	}
}

// Collect reads the figures.
func (s *ship) Collect(out chan<- prometheus.Metric) {
	ctx, cancel := context.WithTimeout(context.Background(), 3*time.Second)
	defer cancel()
	say := func(name string, v float64, label ...string) {
		out <- prometheus.MustNewConstMetric(s.figure[name], prometheus.GaugeValue, v, label...)
	}
	now := s.now()
	s.collectPermits(now, say)
	head := s.reg.Head()
	say("stillwatch_log_entries", float64(head.Size))
	if at, ok := s.lastEntry(ctx, head); ok {
		say("stillwatch_last_entry_age_seconds", now.Sub(at).Seconds())
	}
	if s.backup != nil {
		if at, known := s.backup(ctx); known {
			say("stillwatch_last_backup_age_seconds", now.Sub(at).Seconds())
		}
	}
	told := map[register.NoticeKind]float64{}
	for _, n := range s.reg.Notices(ctx) {
		told[n.Kind] = 1
	}
	for _, kind := range register.NoticeKinds() {
		say("stillwatch_notice", told[kind], string(kind))
	}
}

func (s *ship) collectPermits(now time.Time, say func(string, float64, ...string)) {
	states := map[permits.State]float64{}
	var overdue, locks, working float64
	for _, p := range s.reg.OpenPermits() {
		states[p.State()]++
		locks += float64(p.LocksOn())
		working += float64(len(p.SignedOn()))
		if p.IsOverdue(now) {
			overdue++
		}
	}
	for _, state := range permits.States() {
		if !state.IsOver() {
			say("stillwatch_permits_open", states[state], state.String())
		}
	}
	say("stillwatch_permits_overdue", overdue)
	set, tags, plans := s.reg.Setting(now, permits.Person{}), 0.0, 0.0
	for _, d := range permits.AuditDue(set) {
		if d.Overdue {
			tags++
		}
	}
	for _, d := range permits.InspectionsDue(set) {
		if d.Overdue {
			plans++
		}
	}
	say("stillwatch_tags_overdue", tags)
	say("stillwatch_plans_overdue", plans)
	say("stillwatch_locks_on", locks)
	say("stillwatch_people_signed_on", working)
}

// lastEntry returns when the last entry was written; the head knows it unless it was read from the disk.
func (s *ship) lastEntry(ctx context.Context, head register.Head) (time.Time, bool) {
	if !head.At.IsZero() || head.Size == 0 {
		return head.At, head.Size > 0
	}
	e, err := s.reg.Entry(ctx, head.Size-1)
	return e.At, err == nil
}
