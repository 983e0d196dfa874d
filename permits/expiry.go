package permits

import (
	"slices"
	"time"
)

// lifeEdition is the first by which an authorisation that has run out leaves only the way out, and by which a lock is
// not fitted where another permit's test run has the point open.
const lifeEdition Edition = 5

// lifeAdds are the gates that edition 5 adds beside the acts' own.
var lifeAdds = map[Kind]func(Setting, Permit, PermitAct) error{
	KindFitLock: func(s Setting, p Permit, a PermitAct) error { return a.(FitLock).noTestThere(s, p) },
}

// afterExpiry are the acts that remain when the authorisation has run out before the work was handed back: people come
// out, what is wrong is recorded, locks are looked at and change hands, the work ends, or the officer signs anew. (A
// permit is good for its period and no longer: UK COSWP, second hand. What makes safe is never refused.)
var afterExpiry = []Kind{KindSignOff, KindHandBack, KindSuspend, KindFindWrong, KindCancel, KindExtend, KindEndTest,
	KindRecordTest, KindCheckLock, KindLook, KindSignLooks, KindReleaseOwner, KindOfferWatch, KindTakeWatch,
	KindOfferWork, KindTakeWork, KindReckonAnew, KindSightTag, KindComeOut, KindTakePost, KindLeavePost, KindPutBack,
	KindTakeOwnLock, KindStopForEmergency, KindCountOut, KindOrderOpening, KindOpenAtOnce, KindAccount, KindDropChange}

// notRunOut refuses what goes on under an authorisation that has run out. On a live permit a reading is taken all the
// same: it may be the one that calls people out. On the way back nothing is waited for but the locks.
func notRunOut(s Setting, p Permit, kind Kind, gate string) error {
	if s.Judge.Edition < lifeEdition || !p.IsOverdue(s.At) || p.Has(KindRemoveLock) || slices.Contains(afterExpiry, kind) {
		return nil
	}
	if p.state == Live && (slices.Contains([]Kind{KindRecordDrain, KindRecordStored, KindRecordAir}, kind)) {
		return nil
	}
	return inPeriod(s, p, gate)
}

// extendedLate says where a new signature leads that comes when the authorisation has run out: nobody answered for the
// work meanwhile, so it stops, and goes on as after every stop.
func extendedLate(s Setting, p Permit) State {
	if s.Judge.Edition >= lifeEdition && p.state == Live && p.IsOverdue(s.At) {
		return Suspended
	}
	return p.state
}

// ranOutWords says when the authorisation ran out.
func (p Permit) ranOutWords() string {
	return "The authorisation ran out at " + p.until.Format("2006-01-02 15:04 MST")
}

// nextRunOut is what a permit waits for whose authorisation has run out: people come out, and the officer signs anew or
// has it ended.
func (p Permit) nextRunOut() []Next {
	var out []Next
	if on := len(p.SignedOn()); on > 0 {
		out = append(out, Next{Who: "people at work", Roles: anybody, Kind: KindSignOff, Since: p.until,
			What: p.ranOutWords() + ". Come out and sign off: " + people(on) + " still signed on."})
	}
	what := p.ranOutWords() + ". Extend the authorisation, or cancel the permit."
	if p.Has(KindHandBack) {
		what = p.ranOutWords() + ". Extend the authorisation, and it goes on as after a stop; or have the work handed back."
	}
	return append(out, Next{Who: string(Officer), Roles: KindExtend.Roles(), Kind: KindExtend, Since: p.until, What: what})
}

// runOutAlarm is the danger of a permit whose authorisation has run out with people at the work.
func (p Permit) runOutAlarm(now time.Time, who string) (Alarm, bool) {
	if who == "" || p.state != Live || !p.IsOverdue(now) {
		return Alarm{}, false
	}
	return Alarm{p.id, p.ranOutWords() + ".", who, "Get them out, then each signs off."}, true
}
