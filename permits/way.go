package permits

import (
	"fmt"
	"slices"
	"strings"
)

// step is one line of the way: in state From an act of this kind may happen, through the gate; then the permit stands
// in one of To.
type step struct {
	From State
	Act  Kind
	To   []State
	Gate string
}

// to is a shorthand that keeps the table narrow.
func to(s ...State) []State { return s }

// way is the way of a permit. Nothing else says which act may follow in which state.
//
//	draft -> authorised -> isolating -> proving -> live <-> suspended
//	                                               live -> testing -> isolating
//	                                               live -> handed back -> restoring -> closed
//	cancelled: from draft or authorised at once; later only through restoring, so that no lock is dropped.
var way = []step{
	{unset, KindRequest, to(Draft), "request"},

	{Draft, KindAuthorise, to(Authorised), "authorise"},
	{Draft, KindCancel, to(Cancelled), "cancel"},

	{Authorised, KindFitLock, to(Isolating), "fit lock"},
	{Authorised, KindCountersign, to(Authorised), "countersign"},
	{Authorised, KindAnswerUnproved, to(Authorised), "unproved"},
	{Authorised, KindRecordStored, to(Authorised), "record"},
	{Authorised, KindExtend, to(Authorised), "authorise"},
	{Authorised, KindCancel, to(Cancelled), "cancel"},
	{Authorised, KindAccept, to(Live), "live"}, // of a permit that works under another's locks

	{Isolating, KindFitLock, to(Isolating), "fit lock"},
	{Isolating, KindCheckLock, to(Isolating, Proving), "check lock"},
	{Isolating, KindRecordStored, to(Isolating), "record"},
	{Isolating, KindRecordDead, to(Isolating), "record"},
	{Isolating, KindAcceptDeviation, to(Isolating), "deviation"},
	{Isolating, KindLook, to(Isolating), "check lock"},
	{Isolating, KindSignLooks, to(Isolating, Proving), "sign looks"},
	{Isolating, KindFindWrong, to(Isolating), "find lock wrong"},
	{Isolating, KindCountersign, to(Isolating), "countersign"},
	{Isolating, KindSignOff, to(Isolating), "sign off"},
	{Isolating, KindSuspend, to(Suspended), "suspend"},
	{Isolating, KindExtend, to(Isolating), "authorise"},
	{Isolating, KindCancel, to(Restoring), "cancel"},

	{Proving, KindFindWrong, to(Isolating), "find lock wrong"},
	{Proving, KindRecordDrain, to(Proving), "record"},
	{Proving, KindRecordStored, to(Proving), "record"},
	{Proving, KindRecordDead, to(Proving), "record"},
	{Proving, KindRecordStart, to(Proving), "record"},
	{Proving, KindAcceptDeviation, to(Proving), "deviation"},
	{Proving, KindProve, to(Proving), "prove"},
	{Proving, KindIssue, to(Proving), "issue"},
	{Proving, KindAccept, to(Live), "live"},
	{Proving, KindSignOff, to(Proving), "sign off"},
	{Proving, KindExtend, to(Proving), "authorise"},
	{Proving, KindCancel, to(Restoring), "cancel"},

	{Live, KindSignOn, to(Live), "live"},
	{Live, KindSignOff, to(Live), "sign off"},
	{Live, KindRecordDrain, to(Live, Proving), "record"},
	{Live, KindRecordStored, to(Live, Proving), "record"},
	{Live, KindFindWrong, to(Suspended), "find lock wrong"},
	{Live, KindExtend, to(Live, Suspended), "authorise"},
	{Live, KindHandBack, to(HandedBack), "hand back"},
	{Live, KindCancel, to(Restoring), "cancel"},

	{HandedBack, KindRemoveLock, to(Restoring), "remove lock"},
	{HandedBack, KindRestoreStep, to(Restoring), "restore step"},
	{HandedBack, KindLeaveOut, to(Restoring), "restore step"},
	{HandedBack, KindFindWrong, to(HandedBack), "find lock wrong"},
	{Isolating, KindReleaseOwner, to(Isolating), "absent owner"},
	{Proving, KindReleaseOwner, to(Proving), "absent owner"},
	{Live, KindReleaseOwner, to(Live), "absent owner"},
	{Suspended, KindReleaseOwner, to(Suspended), "absent owner"},
	{HandedBack, KindReleaseOwner, to(HandedBack), "absent owner"},
	{HandedBack, KindClose, to(Closed), "close"},

	{Restoring, KindRemoveLock, to(Restoring), "remove lock"},
	{Restoring, KindRestoreStep, to(Restoring), "restore step"},
	{Restoring, KindLeaveOut, to(Restoring), "restore step"},
	{Restoring, KindFindWrong, to(Restoring), "find lock wrong"},
	{Restoring, KindLook, to(Restoring), "check restored"},
	{Restoring, KindSignLooks, to(Restoring), "sign looks"},
	{Restoring, KindCheckRestored, to(Restoring), "check restored"},
	{Restoring, KindReleaseOwner, to(Restoring), "absent owner"},
	{Restoring, KindClose, to(Closed, Cancelled), "close"},

	{Live, KindSuspend, to(Suspended), "suspend"},
	{Proving, KindSuspend, to(Suspended), "suspend"},
	{Suspended, KindSignOff, to(Suspended), "sign off"},
	{Suspended, KindFindWrong, to(Suspended), "find lock wrong"},
	{Suspended, KindExtend, to(Suspended), "authorise"},
	{Suspended, KindResume, to(Isolating, Proving, Authorised), "resume"},
	{Suspended, KindCancel, to(Restoring), "cancel"},

	{Live, KindAskTest, to(Testing), "ask for test"},
	{Testing, KindSanctionTest, to(Testing), "sanction test"},
	{Testing, KindLiftLock, to(Testing), "lift lock"},
	{Testing, KindRecordTest, to(Testing), "record test"},
	{Testing, KindEndTest, to(Isolating), "end test"},
	{Testing, KindSuspend, to(Suspended), "suspend"},
	{Testing, KindFindWrong, to(Suspended), "find lock wrong"},
	{Testing, KindExtend, to(Testing), "authorise"},
	{Testing, KindCancel, to(Restoring), "cancel"},
	{Testing, KindReleaseOwner, to(Testing), "absent owner"},
	{Testing, KindOfferWatch, to(Testing), "hand over"},
	{Testing, KindTakeWatch, to(Testing), "hand over"},
	{Testing, KindOfferWork, to(Testing), "shift"},
	{Testing, KindTakeWork, to(Testing), "shift"},
	{Testing, KindReckonAnew, to(Suspended), "clock"},

	{Isolating, KindAskChange, to(Suspended), "change"},
	{Proving, KindAskChange, to(Suspended), "change"},
	{Live, KindAskChange, to(Suspended), "change"},
	{Suspended, KindAskChange, to(Suspended), "change"},
	{Suspended, KindAuthoriseChange, to(Isolating), "change"},
	{Suspended, KindDropChange, to(Suspended), "change"},
	// of a plan in place of another, which may have no new point
	{Isolating, KindAnswerUnproved, to(Isolating), "unproved"},
	{Proving, KindAnswerUnproved, to(Proving), "unproved"},
	{Proving, KindCountersign, to(Proving), "countersign"},

	{Live, KindUseBox, to(Live), "group box"},
	{Live, KindTakeOwnLock, to(Live), "group box"},
	{Suspended, KindTakeOwnLock, to(Suspended), "group box"},
	{Isolating, KindTakeOwnLock, to(Isolating), "group box"},
	{Proving, KindTakeOwnLock, to(Proving), "group box"},

	{Isolating, KindStopForEmergency, to(Suspended), "emergency"},
	{Proving, KindStopForEmergency, to(Suspended), "emergency"},
	{Live, KindStopForEmergency, to(Suspended), "emergency"},
	{Testing, KindStopForEmergency, to(Suspended), "emergency"},
	{Suspended, KindStopForEmergency, to(Suspended), "emergency"},
	{HandedBack, KindStopForEmergency, to(HandedBack), "emergency"},
	{Restoring, KindStopForEmergency, to(Restoring), "emergency"},
	{Suspended, KindCountOut, to(Suspended), "count out"},
	{Suspended, KindOrderOpening, to(Suspended), "open at once"},
	{HandedBack, KindOrderOpening, to(HandedBack), "open at once"},
	{Restoring, KindOrderOpening, to(Restoring), "open at once"},
	{Suspended, KindOpenAtOnce, to(Suspended), "open at once"},
	{HandedBack, KindOpenAtOnce, to(HandedBack), "open at once"},
	{Restoring, KindOpenAtOnce, to(Restoring), "open at once"},
	{Suspended, KindAccount, to(Suspended), "emergency"},
	{HandedBack, KindAccount, to(HandedBack), "emergency"},
	{Restoring, KindAccount, to(Restoring), "emergency"},

	{Authorised, KindOfferWatch, to(Authorised), "hand over"},
	{Authorised, KindTakeWatch, to(Authorised), "hand over"},
	{Isolating, KindOfferWatch, to(Isolating), "hand over"},
	{Isolating, KindTakeWatch, to(Isolating), "hand over"},
	{Proving, KindOfferWatch, to(Proving), "hand over"},
	{Proving, KindTakeWatch, to(Proving), "hand over"},
	{Live, KindOfferWatch, to(Live), "hand over"},
	{Live, KindTakeWatch, to(Live), "hand over"},
	{Suspended, KindOfferWatch, to(Suspended), "hand over"},
	{Suspended, KindTakeWatch, to(Suspended), "hand over"},
	{HandedBack, KindOfferWatch, to(HandedBack), "hand over"},
	{HandedBack, KindTakeWatch, to(HandedBack), "hand over"},
	{Restoring, KindOfferWatch, to(Restoring), "hand over"},
	{Restoring, KindTakeWatch, to(Restoring), "hand over"},

	{Isolating, KindOfferWork, to(Isolating), "shift"},
	{Isolating, KindTakeWork, to(Isolating), "shift"},
	{Proving, KindOfferWork, to(Proving), "shift"},
	{Proving, KindTakeWork, to(Proving), "shift"},
	{Live, KindOfferWork, to(Live), "shift"},
	{Live, KindTakeWork, to(Live), "shift"},
	{Suspended, KindOfferWork, to(Suspended), "shift"},
	{Suspended, KindTakeWork, to(Suspended), "shift"},
	{HandedBack, KindOfferWork, to(HandedBack), "shift"},
	{HandedBack, KindTakeWork, to(HandedBack), "shift"},
	{Restoring, KindOfferWork, to(Restoring), "shift"},
	{Restoring, KindTakeWork, to(Restoring), "shift"},

	{Isolating, KindSightTag, to(Isolating), "audit"},
	{Proving, KindSightTag, to(Proving, Isolating), "audit"},
	{Live, KindSightTag, to(Live, Suspended), "audit"},
	{Suspended, KindSightTag, to(Suspended), "audit"},
	{Testing, KindSightTag, to(Testing, Suspended), "audit"},
	{HandedBack, KindSightTag, to(HandedBack), "audit"},
	{Restoring, KindSightTag, to(Restoring), "audit"},
	{Authorised, KindAnswerMeasures, to(Authorised), "measures"},
	{Isolating, KindAnswerMeasures, to(Isolating), "measures"},
	{Proving, KindAnswerMeasures, to(Proving), "measures"},
	{Proving, KindRecordAir, to(Proving), "air"},
	{Live, KindRecordAir, to(Live, Proving), "air"},
	{Proving, KindConsentDeviation, to(Proving), "deviation"},
	{Isolating, KindTakePost, to(Isolating), "post"},
	{Isolating, KindLeavePost, to(Isolating), "post"},
	{Isolating, KindComeOut, to(Isolating), "come out"},
	{Isolating, KindPutBack, to(Isolating), "put back"},
	{Proving, KindTakePost, to(Proving), "post"},
	{Proving, KindLeavePost, to(Proving), "post"},
	{Proving, KindComeOut, to(Proving), "come out"},
	{Proving, KindInhibit, to(Proving), "inhibit"},
	{Proving, KindPutBack, to(Proving), "put back"},
	{Live, KindTakePost, to(Live), "post"},
	{Live, KindLeavePost, to(Live), "post"},
	{Live, KindGoIn, to(Live), "go in"},
	{Live, KindComeOut, to(Live), "come out"},
	{Live, KindInhibit, to(Live), "inhibit"},
	{Live, KindPutBack, to(Live), "put back"},
	{Suspended, KindTakePost, to(Suspended), "post"},
	{Suspended, KindLeavePost, to(Suspended), "post"},
	{Suspended, KindComeOut, to(Suspended), "come out"},
	{Suspended, KindPutBack, to(Suspended), "put back"},
	{Testing, KindTakePost, to(Testing), "post"},
	{Testing, KindLeavePost, to(Testing), "post"},
	{Testing, KindPutBack, to(Testing), "put back"},
	{Restoring, KindTakePost, to(Restoring), "post"},
	{Restoring, KindLeavePost, to(Restoring), "post"},
	{Restoring, KindPutBack, to(Restoring), "put back"},

	{Draft, KindReckonAnew, to(Draft), "clock"},
	{Authorised, KindReckonAnew, to(Authorised), "clock"},
	{Isolating, KindReckonAnew, to(Isolating), "clock"},
	{Proving, KindReckonAnew, to(Isolating), "clock"},
	{Live, KindReckonAnew, to(Suspended), "clock"},
	{Suspended, KindReckonAnew, to(Suspended), "clock"},
	{HandedBack, KindReckonAnew, to(HandedBack), "clock"},
	{Restoring, KindReckonAnew, to(Restoring), "clock"},
}

// find returns the line of the way for an act in a state.
func find(from State, kind Kind) (step, bool) {
	i := slices.IndexFunc(way, func(s step) bool { return s.From == from && s.Act == kind })
	if i < 0 {
		return step{}, false
	}
	return way[i], true
}

// refuseState says that an act of this kind cannot follow in this state, and in which it could.
func refuseState(p Permit, kind Kind) *Refusal {
	gate, from := string(kind), []string(nil)
	for _, s := range way {
		if s.Act == kind {
			gate = s.Gate
			if s.From != unset {
				from = append(from, s.From.String())
			}
		}
	}
	if p.state == unset {
		return &Refusal{Kind: NotFound, Gate: gate, What: "There is no such permit."}
	}
	r := refuse(gate, "", "Permit %d stands at %q: nobody can %s now.", p.id, p.state, kind.Does())
	if n := p.LocksOn(); kind == KindClose && n > 0 {
		r.What += fmt.Sprintf(" %d locks and tags still hang.", n)
	}
	switch {
	case p.state.IsOver():
		r.Opens = "It is over and nothing can be done on it any more; a new job needs a new permit."
	case len(from) > 0:
		r.Opens = "That is done while a permit stands at " + strings.Join(from, " or ") + "."
	}
	return r
}
