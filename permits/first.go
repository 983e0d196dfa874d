package permits

import (
	"slices"
	"time"
)

// readBefore refuses to fit a step before each reading that must come first is in and right: a rotor at rest, a part
// cooled, a pressure gone, a conductor dead. What is stored would come out by what the step opens (29 CFR
// 1910.147(d)(5), read), and an earth put on a live conductor is a short circuit (EN 50110-1, second hand).
func readBefore(s Setting, p Permit, l Lock) error {
	for _, id := range l.Step.First {
		if d := p.deadIndex(id); d >= 0 {
			if missing := openDead(p.dead[d], s.At); missing != "" {
				return refuse("fit lock", "Test it and record it on the permit's page; then fit this step.",
					"Step %d (%s) waits for a test. %s.", l.Step.N, l.Step.Point, missing)
			}
			continue
		}
		i := p.storedIndex(id)
		if i < 0 {
			return refuse("fit lock", "Cancel this permit and request a new one: its plan will be computed anew.",
				"Step %d (%s) waits for a reading that the plan does not have: %s.", l.Step.N, l.Step.Point, id)
		}
		if missing := openStored(p.stored[i], s.At); missing != "" {
			return refuse("fit lock", "Record it on the permit's page; then fit this step.",
				"Step %d (%s) waits for a reading. %s; %s.", l.Step.N, l.Step.Point, missing,
				p.storedWait(p.stored[i]).earliest(s.At))
		}
	}
	return nil
}

// earliest says when a reading could first be right: "earliest 14:25". It is a prediction and opens nothing.
func (w Wait) earliest(now time.Time) string {
	switch {
	case !w.Known:
		return "how long that takes nobody can foretell"
	case w.Left(now) > 0:
		return "earliest " + now.Add(w.Left(now)).Round(time.Minute).UTC().Format("15:04 MST")
	}
	return "it should be at rest by now: read it"
}

// readyToRead refuses a reading of a stored energy, or a dead test, before the proof, unless the step that is fitted
// next waits for it: only then does everything hang that must hang before it, and what was read before that could come
// back.
func readyToRead(p Permit, check string) error {
	if !p.Has(KindFitLock) {
		return nil
	}
	next, fitting := p.NextFit()
	if fitting && slices.Contains(next.Step.First, check) {
		return nil
	}
	if n := p.waitsForReading(check); fitting && n > next.Step.N {
		return refuse("record", nextInWords("first", next), "This is read before step %d, when every step before that one "+
			"hangs.", n)
	}
	return refuse("record", "Fit every lock and have each seen; then read.", "This is read when every lock hangs.")
}

// waitsForReading returns the number of the first step that waits for the reading of a stored energy; 0 if none does.
func (p Permit) waitsForReading(check string) int {
	for i := range p.locks {
		if slices.Contains(p.locks[i].Step.First, check) {
			return p.locks[i].Step.N
		}
	}
	return 0
}

// FirstReadings returns the stored energies that keep the step which is fitted next from being fitted at a moment.
func (p Permit) FirstReadings(now time.Time) []StoredState {
	return slices.DeleteFunc(p.Stored(), func(c StoredState) bool {
		return !p.comesFirst(c.Check.ID) || openStored(c, now) == ""
	})
}

// FirstTests returns the dead tests that do.
func (p Permit) FirstTests(now time.Time) []DeadState {
	return slices.DeleteFunc(p.Dead(), func(d DeadState) bool {
		return !p.comesFirst(d.Test.ID) || openDead(d, now) == ""
	})
}

// comesFirst reports whether the step that is fitted next waits for a reading or a test.
func (p Permit) comesFirst(id string) bool {
	next, fitting := p.NextFit()
	return fitting && p.Has(KindFitLock) && slices.Contains(next.Step.First, id)
}
