package sheets

import (
	"fmt"
	"slices"

	"stillwatch/permits"
	"stillwatch/permits/paper"
	"stillwatch/web/screens"
)

// EmergencyActs are the acts that stand on the sheet of an emergency, beside the one that declared it.
var EmergencyActs = []permits.Kind{permits.KindStopForEmergency, permits.KindSignOff, permits.KindCountOut,
	permits.KindOrderOpening, permits.KindOpenAtOnce, permits.KindEndEmergency, permits.KindFindWrong,
	permits.KindAccount}

// emergencyReport is what the parts of the sheet are made from.
type emergencyReport struct {
	set     permits.Setting
	tell    *screens.Teller
	acts    []permits.Entry                    // of EmergencyActs, since it was declared, in the order of the log
	end     permits.Entry                      // zero: it is not over
	counted map[permits.PermitID]permits.Entry // how each permit that it stopped is accounted for; zero: not yet
	stopped []permits.PermitID
}

// Emergency puts an emergency on paper: who came out and how, what was stopped, what was opened at once, and which
// locks were counted after it.
func Emergency(set permits.Setting, declared permits.Entry, acts []permits.Entry,
	tell *screens.Teller) ([]paper.Fact, []paper.ReportPart) {
	r := emergencyReport{set: set, tell: tell, acts: acts, counted: map[permits.PermitID]permits.Entry{}}
	for _, e := range acts {
		was, stopped := r.counted[e.Permit]
		switch e.Act.(type) {
		case permits.EndEmergency:
			r.end = e
		case permits.StopForEmergency:
			r.counted[e.Permit], r.stopped = permits.Entry{}, append(r.stopped, e.Permit)
		case permits.Account:
			if stopped && was.At.IsZero() {
				r.counted[e.Permit] = e
			}
		}
	}
	ended := "NOT ENDED"
	if !r.end.At.IsZero() {
		ended = r.said(r.end)
	}
	return []paper.Fact{{Label: "Declared", Text: r.said(declared)}, {Label: "Ended", Text: ended}},
		[]paper.ReportPart{r.notOut(), r.out(), r.locks(), r.opened(), r.ownLocks()}
}

// EmergencyWords says that an emergency is declared, by whom and when; "" if none is.
func EmergencyWords(on permits.Emergency, tell *screens.Teller) string {
	if on.IsZero() {
		return ""
	}
	return permits.AsSentence(on.Words) + " Declared by " + tell.Name(on.By) + ", " + onPaper(on.At) + ". NOT ENDED."
}

// said is an entry in one line: who, when, what.
func (r emergencyReport) said(e permits.Entry) string {
	return r.tell.Name(e.By) + ", " + onPaper(e.At) + ": " + r.tell.Tell(e)
}

// job names the work of a permit.
func (r emergencyReport) job(id permits.PermitID) string {
	return screens.JobOf(r.tell.Names(permits.Entry{Permit: id}).Permit)
}

func (r emergencyReport) notOut() paper.ReportPart {
	part := paper.ReportPart{Heading: "NOT OUT", None: "Nobody: everybody who was signed on is out.",
		Columns: []paper.ReportColumn{{Head: "name", Share: 28}, {Head: "permit", Share: 8}, {Head: "work", Share: 44},
			{Head: "signed on since", Share: 24}}}
	for _, id := range r.set.OpenIDs() {
		for _, a := range r.set.Open[id].Crew() {
			if a.Off.IsZero() && r.end.At.IsZero() {
				part.Rows = append(part.Rows, []string{r.tell.Name(a.Person), screens.PermitNumber(id), r.job(id), onPaper(a.On)})
			}
		}
	}
	return part
}

// out is who came out between the declaration and the end, each with how.
func (r emergencyReport) out() paper.ReportPart {
	part := paper.ReportPart{Heading: "Out of the work", None: "Nobody was signed on.",
		Columns: []paper.ReportColumn{{Head: "name", Share: 28}, {Head: "permit", Share: 8}, {Head: "when", Share: 24},
			{Head: "how", Share: 44}}}
	for _, e := range r.acts {
		who, how := e.By, "signed off"
		switch a := e.Act.(type) {
		case permits.CountOut:
			who, how = a.Person, "counted out by "+r.tell.Name(e.By)+", seen: "+a.Where
		case permits.SignOff:
			if !r.end.At.IsZero() && e.N > r.end.N {
				continue
			}
		default:
			continue
		}
		part.Rows = append(part.Rows, []string{r.tell.Name(who), screens.PermitNumber(e.Permit), onPaper(e.At), how})
	}
	return part
}

// locks is what was stopped, and how many locks hung afterwards.
func (r emergencyReport) locks() paper.ReportPart {
	part := paper.ReportPart{Heading: "Stopped, and accounted for afterwards",
		None: "No permit had locks on or people at work.", Columns: []paper.ReportColumn{{Head: "permit", Share: 8},
			{Head: "work", Share: 36}, {Head: "locks and tags counted", Share: 60}}}
	for _, id := range r.stopped {
		how := "NOT YET"
		if a, counted := r.counted[id].Act.(permits.Account); counted {
			how = fmt.Sprintf("%d hang right; %s By %s, %s", a.Hang, permits.AsSentence(a.Words), r.tell.Name(r.counted[id].By),
				onPaper(r.counted[id].At))
		}
		part.Rows = append(part.Rows, []string{screens.PermitNumber(id), r.job(id), how})
	}
	return part
}

// opened is what was ordered off and opened at once, and what was found wrong until the locks were counted.
func (r emergencyReport) opened() paper.ReportPart {
	part := paper.ReportPart{Heading: "Ordered off, opened at once, found wrong", None: "Nothing.",
		Columns: []paper.ReportColumn{{Head: "when", Share: 24}, {Head: "who", Share: 22}, {Head: "permit", Share: 8},
			{Head: "what", Share: 50}}}
	for _, e := range r.acts {
		switch e.Act.(type) {
		case permits.FindWrong:
			if by := r.counted[e.Permit]; !slices.Contains(r.stopped, e.Permit) || !by.At.IsZero() && e.N > by.N {
				continue
			}
		case permits.OrderOpening, permits.OpenAtOnce:
		default:
			continue
		}
		part.Rows = append(part.Rows, []string{onPaper(e.At), r.tell.Name(e.By), screens.PermitNumber(e.Permit),
			r.tell.Tell(e)})
	}
	return part
}

// ownLocks is whose own lock hangs on a group box while they are out.
func (r emergencyReport) ownLocks() paper.ReportPart {
	part := paper.ReportPart{Heading: "Own locks of people who are out, still on a group box", None: "None.",
		Columns: []paper.ReportColumn{{Head: "lock", Share: 14}, {Head: "of", Share: 28}, {Head: "permit", Share: 8},
			{Head: "on since", Share: 24}, {Head: "out since", Share: 30}}}
	for _, id := range r.set.OpenIDs() {
		for _, a := range r.set.Open[id].OwnLocks() {
			if !a.Off.IsZero() {
				part.Rows = append(part.Rows, []string{string(a.Padlock), r.tell.Name(a.Person), screens.PermitNumber(id),
					onPaper(a.On), onPaper(a.Off)})
			}
		}
	}
	return part
}
