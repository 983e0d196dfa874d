package metrics

import (
	"context"
	"time"

	"stillwatch/permits"
	"stillwatch/permits/register"
)

// againAfter is how long after being cut off the log is followed again. Reading up what was missed takes pages of
// atOnce.
const (
	againAfter = time.Second
	atOnce     = 500
)

// beginAtZero makes every kind of act a counter that stands at 0, so that a first refusal is seen as one.
func (m *Metrics) beginAtZero() {
	for _, kind := range permits.Kinds() {
		if kind == permits.KindRefusedAct || kind == permits.KindRefusedPIN {
			continue
		}
		m.acts.WithLabelValues(string(kind), taken)
		m.acts.WithLabelValues(string(kind), refused)
	}
}

// follow counts every entry of the log after the entry last, each once, until ctx ends. Who counts from the log misses
// no act, whichever page or command it came from, and counts none that the disk did not keep.
func (m *Metrics) follow(ctx context.Context, last int64) {
	for ctx.Err() == nil {
		entries, cancel := m.reg.Subscribe()
		last = m.listen(ctx, entries, m.readUp(ctx, last))
		cancel()
		select {
		case <-ctx.Done():
		case <-time.After(againAfter): // cut for being slow, or the register is closing
		}
	}
}

// readUp counts what was written after the entry last, and returns the last entry counted.
func (m *Metrics) readUp(ctx context.Context, last int64) int64 {
	for {
		list, err := m.reg.Entries(ctx, register.EntryQuery{After: &last, Limit: atOnce})
		if err != nil {
			if ctx.Err() == nil {
				m.log.Warn("count the log", "err", err)
			}
			return last
		}
		for _, e := range list {
			m.count(e)
			last = e.N
		}
		if len(list) < atOnce {
			return last
		}
	}
}

// listen counts entries as they are written, until it is cut off.
func (m *Metrics) listen(ctx context.Context, entries <-chan permits.Entry, last int64) int64 {
	for {
		select {
		case <-ctx.Done():
			return last
		case e, open := <-entries:
			switch {
			case !open:
				return last
			case e.N > last+1: // what could not be read up is read up now
				last = m.readUp(ctx, last)
			case e.N == last+1:
				m.count(e)
				last = e.N
			}
		}
	}
}

// count counts one entry.
func (m *Metrics) count(e permits.Entry) {
	switch a := e.Act.(type) {
	case permits.RefusedAct:
		m.acts.WithLabelValues(string(a.Of), refused).Inc()
		m.refusals.WithLabelValues(a.Gate).Inc()
	case permits.RefusedPIN:
		m.wrong.Inc()
		if a.Locked {
			m.locked.Inc()
		}
	default:
		m.acts.WithLabelValues(string(e.Kind), taken).Inc()
	}
}
