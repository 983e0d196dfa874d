package web

import (
	"errors"
	"net/http"

	"github.com/gin-gonic/gin"

	"stillwatch/permits"
)

// door says who may come to a route at all. Whether an act may happen is asked of the register, which keeps refusals.
type door uint8

const (
	anybodyAtAll door = iota // also who is not signed in
	signedIn                 // whoever is signed in, visitors too
	crewOnly                 // whoever is signed in and more than a visitor
)

var errNobody = errors.New("nobody is signed in")

// admits lets a person in, or says why not; errNobody asks for signing in.
func (d door) admits(who permits.Person) error {
	switch {
	case d == anybodyAtAll:
		return nil
	case who.ID == "":
		return errNobody
	case d == crewOnly && !who.IsCompetent():
		return &permits.Refusal{Kind: permits.Forbidden, Gate: "door", What: who.String() +
			" is aboard as a visitor, and visitors only read.",
			Opens: "Somebody of the crew does that, signed in under their own name."}
	}
	return nil
}

// route is one line of the table.
type route struct {
	Method, Path string
	door         door
	limit        int64 // of the body, bytes; 0: formLimit
	handle       func(*gin.Context) error
}

const (
	get  = http.MethodGet
	post = http.MethodPost
)

// routes is everything that answers. Every POST carries act_id (16 to 64 letters, digits, - or _; the page that shows
// the form draws it) and by (who filled it in; may be left out), except sign-in, first-run, sign-out and palette. With
// "Accept: application/json" it is answered for a script (type told). "signer, pin" are whoever signs and their PIN;
// signer left out is whoever is signed in. Boxes say "yes". Figures take a comma or a point.
//
//	POST /first-run                      id, name, rank, pin, pin_again
//	POST /sign-in                        person, pin, next
//	POST /sign-out
//	POST /palette                        palette (day, dusk, night), from
//	POST /permits                        job, work, plan (hash of the plan shown; may be left out)
//	POST /permits/:id/authorise          hours, unproved, signer, pin
//	POST /permits/:id/answer             signer, pin
//	POST /permits/:id/issue              signer, pin
//	POST /permits/:id/extend             hours, signer, pin
//	POST /permits/:id/countersign        signer, pin
//	POST /permits/:id/drain/:section     out_l (in all since the drain was opened), hold_min, hold_in_l, gauge_bar,
//	                                     temp_c, into, words, from
//	POST /permits/:id/reading/:check     value ("yes" or "no" where the check has no unit), words
//	POST /permits/:id/dead/:test         proved_before, dead, proved_after, words
//	POST /permits/:id/start              still, controls_off
//	POST /permits/:id/deviation/:section words, signer, pin
//	POST /permits/:id/reading/:check/deviation words, signer, pin
//	POST /permits/:id/consent/:section   signer, pin
//	POST /permits/:id/air/:level         gas_O2, gas_LEL, ... (each gas of the plan), meter, tested, still, words
//	POST /permits/:id/measures           measure (one or more)
//	POST /permits/:id/take-post          post, signer, pin; also /leave-post with quiet
//	POST /permits/:id/go-in              people (one or more), meters; also /come-out
//	POST /permits/:id/inhibit            what, means, signer, pin; /put-back/:n: tried, signer, pin
//	POST /permits/:id/prove              signer, pin
//	POST /permits/:id/accept             tools_out, signer, pin
//	POST /permits/:id/offer-work         to, signer, pin
//	POST /permits/:id/take-work          from, locks, tools (of who is in charge), signer, pin
//	POST /permits/:id/sign-on            lock (their own, where there is a group box), signer, pin
//	POST /permits/:id/sign-off           lock_off, signer, pin
//	POST /permits/:id/change             job, part, point (each none or more), plan (hash of the plan shown), words,
//	                                     signer, pin
//	POST /permits/:id/change/authorise   number (of the plan), asked (entry of the wish), hours, unproved, signer, pin
//	POST /permits/:id/change/drop        words, signer, pin
//	POST /permits/:id/under              work
//	POST /permits/:id/box                box, keys, signer, pin
//	POST /permits/:id/own-lock           person, signer, pin
//	POST /permits/:id/opening            step (one or more), by_whom, seen_by, words, signer, pin
//	POST /permits/:id/account            hang, words, signer, pin
//	POST /permits/:id/count-out          person, where
//	POST /emergency                      words, signer, pin; also at /emergency/end
//	POST /permits/:id/suspend            words, signer, pin
//	POST /permits/:id/resume             stop (short, long), near, untouched, signer, pin
//	POST /permits/:id/hand-back          tools_back, guards_back, signer, pin
//	POST /permits/:id/back/:step         signer, pin; also at /permits/:id/walk/back/:step
//	POST /permits/:id/leave-out/:step    words, signer, pin
//	POST /permits/:id/release            owner, verified, tried, will_tell, aboard, words,
//	                                     signer, pin
//	POST /permits/:id/close              positions, told, words, signer, pin
//	POST /permits/:id/cancel             words, signer, pin
//	POST /T/:code/fit                    position (open, closed, fitted, removed), padlock, label, measure_done,
//	                                     no_pressure, how
//	POST /T/:code/look                   (a look without a signature)
//	POST /permits/:id/walk/look          code, n (the tag that the page shows)
//	POST /permits/:id/looks              step (one or more), signer, pin
//	POST /T/:code/check                  seen ("right" or "wrong"), wrong (what is), signer, pin
//	POST /T/:code/remove                 position, how
//	POST /T/:code/lift                   position, how; also /T/:code/open
//	POST /permits/:id/walk/fit           code, and as above; kept_s (for how long the phone kept it without a line;
//	                                     walk/look, drain, reading, dead and start take it too)
//	POST /permits/:id/walk/remove        code, position, how; also /walk/lift
//	POST /points/labels                  point (one or more)
//	POST /points/:id/passing             words
//	POST /points/:id/repair              words, signer, pin
//	POST /people                         id, name, rank, role (one or more), new_pin, signer, pin
//	POST /people/:id                     name, rank, role (one or more), left, signer, pin
//	POST /people/:id/pin                 new_pin, new_pin_again, pin (of whoever is signed in)
//	POST /pin                            old_pin, new_pin, new_pin_again
//	POST /heard                          signer, pin
//	POST /clock                          words, signer, pin
//	POST /loss                           size, hash, words, signer, pin
//	POST /handover/offer                 permit (one or more), to, words, signer, pin
//	POST /handover/take                  permit (one or more), signer, pin
//	POST /audit                          tags (how many hang), words, signer, pin
//	POST /audit/sight                    tag (permit-step), seen (as found, wrong position, tag missing, unreadable),
//	                                     code (as found only), words, how
//	POST /T/:code/sight                  seen, words, how
//	POST /audit/interval                 days, signer, pin
//	POST /inspections                    job, with (one or more), words, wrong, signer, pin
//	POST /screens                        name, signer, pin; at /screens/end: name, signer, pin
//	POST /plant/propose                  file, signer, pin; also /rules/propose
//	POST /plant                          sha256 (of what was proposed), signer, pin; also /rules
//	POST /points/:id/amend               name, deck, frame, side, lockable, measure, signer, pin
func (s *Server) routes() []route {
	return []route{
		{get, "/", signedIn, 0, s.boardShow},
		{get, "/first-run", anybodyAtAll, 0, s.shipFoundShow},
		{post, "/first-run", anybodyAtAll, 0, s.shipFound},
		{get, "/sign-in", anybodyAtAll, 0, s.signInShow},
		{post, "/sign-in", anybodyAtAll, 0, s.signIn},
		{post, "/sign-out", anybodyAtAll, 0, s.signOut},
		{post, "/palette", anybodyAtAll, 0, s.paletteChoose},
		{get, "/find", signedIn, 0, s.tagFind},

		{get, "/permits", signedIn, 0, s.permitsList},
		{get, "/permits.csv", signedIn, 0, s.permitsCSV},
		{get, "/permits.pdf", signedIn, 0, s.permitsPrint},
		{get, "/machines/:id", signedIn, 0, s.machineShow},
		{get, "/machines/:id/history.csv", signedIn, 0, s.machineCSV},
		{get, "/machines/:id/history.pdf", signedIn, 0, s.machinePrint},
		{get, "/figures", signedIn, 0, s.figuresShow},
		{get, "/figures.csv", signedIn, 0, s.figuresCSV},
		{get, "/figures.pdf", signedIn, 0, s.figuresPrint},
		{get, "/permits/new", signedIn, 0, s.permitRequestShow},
		{post, "/permits", crewOnly, 0, s.permitRequest},
		{get, "/permits/:id", signedIn, 0, s.permitShow},
		{get, "/P/:id", signedIn, 0, s.permitShow}, // as the code on the permit's paper has it
		{get, "/permits/:id/plan", signedIn, 0, s.planShow},
		{post, "/permits/:id/authorise", crewOnly, 0, s.permitAuthorise},
		{post, "/permits/:id/answer", crewOnly, 0, s.unprovedAnswer},
		{post, "/permits/:id/issue", crewOnly, 0, s.permitIssue},
		{post, "/permits/:id/extend", crewOnly, 0, s.permitExtend},
		{post, "/permits/:id/countersign", crewOnly, 0, s.permitCountersign},
		{post, "/permits/:id/drain/:section", crewOnly, 0, s.drainRecord},
		{post, "/permits/:id/reading/:check", crewOnly, 0, s.readingRecord},
		{post, "/permits/:id/dead/:test", crewOnly, 0, s.deadRecord},
		{post, "/permits/:id/start", crewOnly, 0, s.startRecord},
		{post, "/permits/:id/deviation/:section", crewOnly, 0, s.deviationAccept},
		{post, "/permits/:id/reading/:check/deviation", crewOnly, 0, s.heatAccept},
		{post, "/permits/:id/prove", crewOnly, 0, s.permitProve},
		{post, "/permits/:id/accept", crewOnly, 0, s.permitAccept},
		{post, "/permits/:id/offer-work", crewOnly, 0, s.workOffer},
		{post, "/permits/:id/take-work", crewOnly, 0, s.workTake},
		{post, "/permits/:id/sign-on", crewOnly, 0, s.crewSignOn},
		{post, "/permits/:id/sign-off", crewOnly, 0, s.crewSignOff},
		{post, "/permits/:id/suspend", crewOnly, 0, s.permitSuspend},
		{post, "/permits/:id/resume", crewOnly, 0, s.permitResume},
		{get, "/permits/:id/change", signedIn, 0, s.changeShow},
		{post, "/permits/:id/change", crewOnly, 0, s.changeAsk},
		{post, "/permits/:id/change/authorise", crewOnly, 0, s.changeAuthorise},
		{post, "/permits/:id/change/drop", crewOnly, 0, s.changeDrop},
		{post, "/permits/:id/test", crewOnly, 0, s.testAsk},
		{post, "/permits/:id/test/sanction", crewOnly, 0, s.testSanction},
		{post, "/permits/:id/test/record", crewOnly, 0, s.testRecord},
		{post, "/permits/:id/test/end", crewOnly, 0, s.testEnd},
		{post, "/permits/:id/under", crewOnly, 0, s.underRequest},
		{post, "/permits/:id/box", crewOnly, 0, s.boxUse},
		{post, "/permits/:id/own-lock", crewOnly, 0, s.ownLockTake},
		{post, "/permits/:id/opening", crewOnly, 0, s.openingOrder},
		{post, "/permits/:id/account", crewOnly, 0, s.emergencyAccount},
		{post, "/permits/:id/count-out", crewOnly, 0, s.countOut},
		{get, "/emergency", signedIn, 0, s.emergencyShow},
		{get, "/emergency.pdf", signedIn, 0, s.emergencyPrint},
		{post, "/emergency", crewOnly, 0, s.emergencyDeclare},
		{post, "/emergency/end", crewOnly, 0, s.emergencyEnd},
		{post, "/permits/:id/hand-back", crewOnly, 0, s.permitHandBack},
		{post, "/permits/:id/back/:step", crewOnly, 0, s.restoreStep},
		{post, "/permits/:id/leave-out/:step", crewOnly, 0, s.stepLeaveOut},
		{post, "/permits/:id/walk/back/:step", crewOnly, 0, s.restoreStep},
		{post, "/permits/:id/release", crewOnly, 0, s.ownerRelease},
		{post, "/permits/:id/close", crewOnly, 0, s.permitClose},
		{post, "/permits/:id/cancel", crewOnly, 0, s.permitCancel},
		{get, "/permits/:id/at-work", signedIn, 0, s.atWorkShow},
		{post, "/permits/:id/air/:level", crewOnly, 0, s.airRecord},
		{post, "/permits/:id/measures", crewOnly, 0, s.measuresAnswer},
		{post, "/permits/:id/take-post", crewOnly, 0, s.postTake},
		{post, "/permits/:id/leave-post", crewOnly, 0, s.postLeave},
		{post, "/permits/:id/go-in", crewOnly, 0, s.peopleGoIn},
		{post, "/permits/:id/come-out", crewOnly, 0, s.peopleComeOut},
		{post, "/permits/:id/inhibit", crewOnly, 0, s.detectorInhibit},
		{post, "/permits/:id/put-back/:n", crewOnly, 0, s.detectorPutBack},
		{post, "/permits/:id/consent/:section", crewOnly, 0, s.deviationConsent},
		{get, "/permits/:id/walk", signedIn, 0, s.walkShow},
		{post, "/permits/:id/walk/fit", crewOnly, 0, s.lockFit},
		{post, "/permits/:id/walk/look", crewOnly, 0, s.lockLook},
		{get, "/permits/:id/looks", signedIn, 0, s.looksShow},
		{post, "/permits/:id/looks", crewOnly, 0, s.looksSign},
		{post, "/permits/:id/walk/remove", crewOnly, 0, s.lockRemove},
		{post, "/permits/:id/walk/lift", crewOnly, 0, s.lockLift},
		{post, "/permits/:id/walk/open", crewOnly, 0, s.lockOpen},
		{get, "/permits/:id/tags.pdf", crewOnly, 0, s.tagsPrint},
		{get, "/permits/:id/plan.pdf", signedIn, 0, s.planPrint},
		{get, "/permits/:id/scan.pdf", signedIn, 0, s.scanPrint},
		{get, "/permits/:id/permit.pdf", signedIn, 0, s.permitPrint},
		{get, "/handover.pdf", signedIn, 0, s.handoverPrint},
		{get, "/handover", signedIn, 0, s.handoverShow},
		{post, "/handover/offer", crewOnly, 0, s.watchOffer},
		{post, "/handover/take", crewOnly, 0, s.watchTake},
		{get, "/audit", signedIn, 0, s.auditShow},
		{get, "/audit.pdf", signedIn, 0, s.auditPrint},
		{post, "/audit", crewOnly, 0, s.auditSign},
		{post, "/audit/sight", crewOnly, 0, s.tagSight},
		{post, "/audit/interval", crewOnly, 0, s.auditEvery},
		{get, "/inspections", signedIn, 0, s.inspectionsList},
		{post, "/inspections", crewOnly, 0, s.planInspect},

		{get, "/T/:code", signedIn, 0, s.tagOpen},
		{get, "/t/:code", signedIn, 0, s.tagOpen},
		{post, "/T/:code/fit", crewOnly, 0, s.lockFit},
		{post, "/T/:code/check", crewOnly, 0, s.lockCheck},
		{post, "/T/:code/look", crewOnly, 0, s.lockLook},
		{post, "/T/:code/remove", crewOnly, 0, s.lockRemove},
		{post, "/T/:code/lift", crewOnly, 0, s.lockLift},
		{post, "/T/:code/open", crewOnly, 0, s.lockOpen},
		{post, "/T/:code/see", crewOnly, 0, s.restoredCheck},
		{post, "/T/:code/wrong", crewOnly, 0, s.lockFindWrong},
		{post, "/T/:code/sight", crewOnly, 0, s.lockSight},
		{post, "/t/:code/fit", crewOnly, 0, s.lockFit},
		{post, "/t/:code/check", crewOnly, 0, s.lockCheck},
		{post, "/t/:code/look", crewOnly, 0, s.lockLook},
		{post, "/t/:code/remove", crewOnly, 0, s.lockRemove},
		{post, "/t/:code/lift", crewOnly, 0, s.lockLift},
		{post, "/t/:code/open", crewOnly, 0, s.lockOpen},
		{post, "/t/:code/see", crewOnly, 0, s.restoredCheck},
		{post, "/t/:code/wrong", crewOnly, 0, s.lockFindWrong},
		{post, "/t/:code/sight", crewOnly, 0, s.lockSight},

		{get, "/points", signedIn, 0, s.pointList},
		{get, "/points/:id", signedIn, 0, s.pointShow},
		{get, "/points/:id/history.csv", signedIn, 0, s.pointCSV},
		{get, "/points/:id/history.pdf", signedIn, 0, s.pointPrint},
		{post, "/points/labels", crewOnly, 0, s.labelsIssue},
		{get, "/points/labels.pdf", crewOnly, 0, s.labelsPrint},
		{post, "/points/:id/passing", crewOnly, 0, s.passingRecord},
		{post, "/points/:id/repair", crewOnly, 0, s.repairRecord},
		{post, "/points/:id/amend", crewOnly, 0, s.pointAmend},

		{get, "/people", signedIn, 0, s.peopleList},
		{post, "/people", crewOnly, 0, s.personAdd},
		{post, "/people/:id", crewOnly, 0, s.personChange},
		{post, "/people/:id/pin", crewOnly, 0, s.pinSet},
		{get, "/pin", signedIn, 0, s.pinChangeShow},
		{post, "/pin", signedIn, 0, s.pinChange},

		{get, "/log", signedIn, 0, s.logShow},
		{get, "/log/head", signedIn, 0, s.headShow},
		{get, "/entries/:n", signedIn, 0, s.entryShow},
		{get, "/E/:n", signedIn, 0, s.entryShow}, // as the code at the foot of papers has it
		{post, "/heard", crewOnly, 0, s.releaseHeard},
		{post, "/clock", crewOnly, 0, s.clockRight},
		{post, "/loss", crewOnly, 0, s.lossAccept},
		{get, "/plant", signedIn, 0, s.plantShow},
		{post, "/plant", crewOnly, 0, s.plantAdopt},
		{post, "/rules", crewOnly, 0, s.rulesAdopt},
		{post, "/plant/propose", crewOnly, fileLimit, s.plantPropose},
		{post, "/rules/propose", crewOnly, fileLimit, s.rulesPropose},
		{get, "/plant/proposed", signedIn, 0, s.plantProposed},
		{get, "/plant/proposed/file", signedIn, 0, s.plantProposedFile},
		{get, "/plant/workbook", signedIn, 0, s.plantTemplate},
		{get, "/plant/file", signedIn, 0, s.plantFile},
		{get, "/plant/rules", signedIn, 0, s.rulesFile},

		{get, "/events", signedIn, 0, s.events},
		{get, "/screens", signedIn, 0, s.screensList},
		{post, "/screens", crewOnly, 0, s.screenAllow},
		{post, "/screens/end", crewOnly, 0, s.screenEnd},
		{get, "/screen", anybodyAtAll, 0, s.screenShow}, // these three are for a board screen or whoever is signed in
		{get, "/screen/now", anybodyAtAll, 0, s.screenNow},
		{get, "/screen/events", anybodyAtAll, 0, s.screenEvents},
		{get, "/healthz", anybodyAtAll, 0, s.health},
		{get, "/metrics", anybodyAtAll, 0, s.metricsShow},
		{get, "/trust", anybodyAtAll, 0, s.trustShow},
		{get, "/trust/secure", anybodyAtAll, 0, s.trustTry},
		{get, "/trust/authority.crt", anybodyAtAll, 0, s.authorityDER},
		{get, "/trust/authority.pem", anybodyAtAll, 0, s.authorityPEM},
		{get, "/worker.js", anybodyAtAll, 0, s.workerShow},
		{get, "/kept", anybodyAtAll, 0, s.keptShow},
		{get, "/static/:hash/*name", anybodyAtAll, 0, s.assetShow},
	}
}
