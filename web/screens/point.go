package screens

import (
	"slices"
	"strconv"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// hanging returns those holdings whose lock or tag hangs.
func hanging(list []permits.Holding) []permits.Holding {
	return slices.DeleteFunc(list, func(h permits.Holding) bool { return !h.On })
}

// IsLabelled reports whether a point carries a label, which fitting asks for.
func IsLabelled(set permits.Setting, point isolation.NodeID) bool {
	_, ok := set.Ship.Labels[point]
	return ok
}

// PointPage is one point of the plant: how it stands, what is to do there, its history. A scanned label opens it.
type PointPage struct {
	Frame
	Node     *isolation.Node
	Scanned  bool // its label was just scanned, and counts for the tag scanned next
	ToDo     []pointTask
	Held     []permits.Holding
	Labelled bool
	Passing  string // what was found; "": nothing
	Seen     string // what a finding that names the point as a suspect said, for the form
	History  []EntryLine
	MayLabel bool
	Sides    []string // that a place may have
}

// pointTask is something that an open permit wants done at the point.
type pointTask struct {
	Permit permits.PermitID
	Step   int
	Words  string
	Now    bool // it is its turn
}

// TasksAt returns what open permits want done at a point.
func TasksAt(set permits.Setting, id isolation.NodeID, open []permits.Permit) []pointTask {
	var out []pointTask
	names := permits.Names{Ship: set.Ship}
	for _, p := range open {
		for _, l := range p.Locks() {
			if l.Step.Point != id || p.State() == permits.Draft {
				continue
			}
			if t := taskOf(permits.UseOfTag(set, p, l.Step.N), names.Name); t.Words != "" {
				t.Permit, t.Words = p.ID(), permits.AsSentence(t.Words)
				out = append(out, t)
			}
		}
	}
	return out
}

// taskOf puts what a tag is good for into the words of a point's page, whoever may do it.
func taskOf(use permits.TagUse, name func(permits.PersonID) string) pointTask {
	l := use.Lock
	t := pointTask{Step: l.Step.N, Now: true}
	held := PositionWords(l.Step.Kind, l.Step.Position)
	switch {
	case use.Use == permits.UseFit:
		t.Words = "bring it to " + held + ", hang tag " + strconv.Itoa(l.Step.N) + " and scan that tag"
	case use.Use == permits.UseCheck:
		t.Words = "a second person looks, without touching: it must be " + held + ". Scan its tag to sign"
	case use.Use == permits.UseRemove && (use.No == nil || use.No.Kind == permits.Forbidden):
		t.Words = "take it off: scan tag " + strconv.Itoa(l.Step.N)
		if l.Padlock != "" {
			t.Words = "take off lock " + string(l.Padlock) + " of " + name(l.Owner) + ": scan tag " + strconv.Itoa(l.Step.N)
		}
	case l.IsWrong():
		t.Now, t.Words = false, "FOUND WRONG: it is to be "+held+", and is not. Do not rely on it"
	case l.IsOn():
		t.Now, t.Words = false, "stays "+held+": do not operate"
		if use.Use == permits.UseRemove {
			t.Words = "stays " + held + ". " + use.No.Opens
		}
	case l.Removed.IsZero() && use.No != nil:
		t.Now, t.Words = false, "later: held "+held+" as step "+strconv.Itoa(l.Step.N)+". "+use.No.Opens
	}
	return t
}
