package lookback

import (
	"cmp"
	"math"
	"slices"
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/register"
)

// Asked is what the register was asked for, for a time from From to To.
type Asked struct {
	From, To time.Time
	Zone     *time.Location // of the ship: months begin in it
	Lives    []register.Life
	Refused  []permits.Entry // refusals, oldest first
	Passing  []permits.Entry // points found passing
	Repaired []permits.Entry
	Audits   []permits.Entry // audits signed; those of 60 days before the time may be among them
	Setting  permits.Setting // as the ship stands now
}

// Figures are what they come to.
type Figures struct {
	From, To  time.Time
	Requested int // permits
	ToLive    Spread
	Months    []Month
	Locks     []Count // permits by how many steps their plan had
	LocksHalf int     // steps of the middle permit
	Refusals  []Count // by gate, most first
	Refused   int
	Passing   []Passing // points that pass now
	Found     int       // times that a point was found passing
	Repaired  int
	Audits    []Audit
	Tags      Due
	Plans     Due
}

// Spread is how long permits took from their request to their first acceptance. A share is the smallest value that so
// many do not exceed: a value that did occur.
type Spread struct {
	N                int           // went live
	Half, Nine, Most time.Duration // of half of them, of nine in ten, of all
}

// Month is the permits that were requested in one month of the ship.
type Month struct {
	Begins    time.Time
	Requested int
	ToLive    Spread
}

// Count is how often something occurred.
type Count struct {
	Words string
	N     int
}

// Passing is a point that is recorded as passing.
type Passing struct {
	Point isolation.NodeID
	Words string
	Since time.Time // zero: before the time that was asked for
}

// Audit is one signed audit of the tags.
type Audit struct {
	At    time.Time
	By    permits.PersonID
	Tags  int
	After time.Duration // since the one before; 0: none is known
	Late  bool          // longer than tags may go unseen at all
}

// Due is what must be looked at again and again.
type Due struct{ All, Overdue int }

// Figures counts.
func (a Asked) Figures() Figures {
	f := Figures{From: a.From, To: a.To, Requested: len(a.Lives), Refused: len(a.Refused), Found: len(a.Passing),
		Repaired: len(a.Repaired)}
	f.ToLive = spreadOf(a.Lives)
	f.Months = a.months()
	f.locks(a.Lives)
	f.Refusals = byGate(a.Refused)
	f.Passing = a.passing()
	f.Audits = a.audits()
	for _, d := range permits.AuditDue(a.Setting) {
		f.Tags.count(d.Overdue)
	}
	for _, d := range permits.InspectionsDue(a.Setting) {
		if !d.Due.IsZero() {
			f.Plans.count(d.Overdue)
		}
	}
	return f
}

func (d *Due) count(overdue bool) {
	d.All++
	if overdue {
		d.Overdue++
	}
}

// spreadOf takes the shares by nearest rank (R. J. Hyndman and Y. Fan, Sample quantiles in statistical packages, 1996,
// definition 1, from memory).
func spreadOf(lives []register.Life) Spread {
	var all []time.Duration
	for _, l := range lives {
		if !l.Live.IsZero() {
			all = append(all, l.Live.Sub(l.Requested))
		}
	}
	slices.Sort(all)
	return Spread{N: len(all), Half: share(all, 0.5), Nine: share(all, 0.9), Most: share(all, 1)}
}

// share returns the smallest of sorted values that so large a share does not exceed; the zero value of none.
func share[T any](sorted []T, of float64) (v T) {
	if len(sorted) == 0 {
		return v
	}
	return sorted[max(0, int(math.Ceil(of*float64(len(sorted))-1e-9))-1)]
}

// months returns every month of the time from the first permit on, those without a permit too.
func (a Asked) months() []Month {
	var out []Month
	from := a.From.In(a.Zone)
	for at := time.Date(from.Year(), from.Month(), 1, 0, 0, 0, 0, a.Zone); at.Before(a.To); at = at.AddDate(0, 1, 0) {
		var of []register.Life
		for _, l := range a.Lives {
			if !l.Requested.Before(at) && l.Requested.Before(at.AddDate(0, 1, 0)) {
				of = append(of, l)
			}
		}
		if len(of)+len(out) > 0 {
			out = append(out, Month{Begins: at, Requested: len(of), ToLive: spreadOf(of)})
		}
	}
	return out
}

// locks counts permits by their steps.
func (f *Figures) locks(lives []register.Life) {
	of := map[int]int{}
	all := make([]int, len(lives))
	for i, l := range lives {
		of[l.Locks]++
		all[i] = l.Locks
	}
	slices.Sort(all)
	f.LocksHalf = share(all, 0.5)
	for _, n := range slices.Compact(all) {
		f.Locks = append(f.Locks, Count{permits.Plural(n, "lock or tag", "locks and tags"), of[n]})
	}
}

// byGate counts refusals by the gate that refused.
func byGate(refused []permits.Entry) []Count {
	var out []Count
	for _, e := range refused {
		a, ok := e.Act.(permits.RefusedAct)
		if !ok {
			continue
		}
		i := slices.IndexFunc(out, func(c Count) bool { return c.Words == a.Gate })
		if i < 0 {
			out = append(out, Count{Words: a.Gate})
			i = len(out) - 1
		}
		out[i].N++
	}
	slices.SortStableFunc(out, func(x, y Count) int {
		return cmp.Or(cmp.Compare(y.N, x.N), cmp.Compare(x.Words, y.Words))
	})
	return out
}

// passing returns the points that pass now, with since when.
func (a Asked) passing() []Passing {
	var out []Passing
	for _, point := range a.Setting.Ship.PassingPoints() {
		p := Passing{Point: point, Words: a.Setting.Ship.Passing[point]}
		for _, e := range a.Passing {
			if found, ok := e.Act.(permits.RecordPassing); ok && found.Point == point {
				p.Since = e.At
			}
		}
		out = append(out, p)
	}
	return out
}

// audits returns the audits of the time, each with how long after the one before.
func (a Asked) audits() []Audit {
	var out []Audit
	var before time.Time
	for _, e := range a.Audits {
		act, ok := e.Act.(permits.SignAudit)
		if !ok {
			continue
		}
		x := Audit{At: e.At, By: e.By, Tags: act.Tags}
		if !before.IsZero() {
			x.After = e.At.Sub(before)
			x.Late = x.After > permits.AuditMostDays*24*time.Hour
		}
		if before = e.At; !e.At.Before(a.From) {
			out = append(out, x)
		}
	}
	return out
}
