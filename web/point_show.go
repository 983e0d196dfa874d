package web

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/register"
)

// pointShowPage is one point of the plant: how it stands, what is to do there, its history. A scanned label opens it.
type pointShowPage struct {
	base
	Node     *isolation.Node
	Scanned  bool // its label was just scanned, and counts for the tag scanned next
	ToDo     []pointTask
	Held     []permits.Holding
	Labelled bool
	Passing  string // what was found; "": nothing
	Seen     string // what a finding that names the point as a suspect said, for the form
	History  []entryLine
	MayLabel bool
}

// pointTask is something that an open permit wants done at the point.
type pointTask struct {
	Permit permits.PermitID
	Step   int
	Words  string
	Now    bool // it is its turn
}

// historyOfPoint is how many entries a point's page shows.
const historyOfPoint = 50

func (s *Server) pointShow(c *gin.Context) error {
	return s.pointAgain(c, isolation.NodeID(c.Param("id")), false, back{})
}

func (s *Server) pointAgain(c *gin.Context, id isolation.NodeID, scanned bool, b back) error {
	set := s.setting(me(c))
	if set.Plant == nil || set.Plant.Node(id) == nil {
		return notThere("The plant file in force has no point "+shorten(string(id), 40)+".",
			"The list of points shows all there are.")
	}
	entries, err := s.reg.Entries(c.Request.Context(), register.EntryQuery{Point: id, Limit: historyOfPoint})
	if err != nil {
		return err
	}
	page := pointShowPage{base: s.base(c, string(id), "points"), Node: set.Plant.Node(id), Scanned: scanned,
		ToDo: tasksAt(set, id, s.reg.OpenPermits())}
	page.back, page.Live, page.Path = b, true, "/points/"+string(id)
	page.Held = set.Held.At(id, 0)
	page.Labelled = isLabelled(set, id)
	page.Passing = set.Ship.Passing[id]
	page.Seen = shorten(strings.TrimSpace(c.Query("seen")), 400)
	page.MayLabel = page.Me.Has(permits.KindHangLabels.Roles()...)
	tell := s.teller(c.Request.Context())
	for _, e := range entries {
		page.History = append(page.History, tell.line(e))
	}
	return s.render(c, b.status(), "point_show", page)
}

// tasksAt returns what open permits want done at a point.
func tasksAt(set permits.Setting, id isolation.NodeID, open []permits.Permit) []pointTask {
	var out []pointTask
	for _, p := range open {
		for _, l := range p.Locks() {
			if l.Step.Point != id || p.State() == permits.Draft {
				continue
			}
			if t := taskOf(permits.UseOfTag(set, p, l.Step.N)); t.Words != "" {
				t.Permit = p.ID()
				out = append(out, t)
			}
		}
	}
	return out
}

// taskOf puts what a tag is good for into the words of a point's page, whoever may do it.
func taskOf(use permits.TagUse) pointTask {
	l := use.Lock
	t := pointTask{Step: l.Step.N, Now: true}
	held := positionWords(l.Step.Kind, l.Step.Position)
	switch {
	case use.Use == permits.UseFit:
		t.Words = "bring it to " + held + ", hang tag " + strconv.Itoa(l.Step.N) + " and scan that tag"
	case use.Use == permits.UseCheck:
		t.Words = "a second person looks, without touching: it must be " + held + ". Scan its tag to sign"
	case use.Use == permits.UseRemove && (use.No == nil || use.No.Kind == permits.Forbidden):
		t.Words = "take it off: scan tag " + strconv.Itoa(l.Step.N)
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

// passingRecord says that the point lets something through.
func (s *Server) passingRecord(c *gin.Context) error {
	return s.onPoint(c, "passing", permits.RecordPassing{Point: isolation.NodeID(c.Param("id")),
		Words: formOf(c).text("words")}, "Recorded. No plan uses it until a repair is recorded.")
}

// repairRecord says that it was repaired and tested.
func (s *Server) repairRecord(c *gin.Context) error {
	return s.onPoint(c, "repair", permits.RecordRepair{Point: isolation.NodeID(c.Param("id")),
		Words: formOf(c).text("words")}, "Recorded. Plans may use it again.")
}

func (s *Server) onPoint(c *gin.Context, name string, act permits.Act, done string) error {
	id := isolation.NodeID(c.Param("id"))
	return s.do(c, doing{form: name, act: act, then: "/points/" + string(id), done: done,
		again: func(c *gin.Context, b back) error { return s.pointAgain(c, id, false, b) }})
}

// pointListPage lists the points of the plant.
type pointListPage struct {
	base
	Groups   []pointGroup
	Text     string
	MayLabel bool
	NoPlant  bool
}

// pointGroup is the points of one place; those of other places are folded away.
type pointGroup struct {
	Place         string
	Points        []pointLine
	Held, Passing int
	Open          bool
	at            isolation.Place
}

type pointLine struct {
	Node     *isolation.Node
	Labelled bool
	Passing  bool
	On       []permits.Holding
}

func (s *Server) pointList(c *gin.Context) error { return s.pointsAgain(c, back{}) }

func (s *Server) pointsAgain(c *gin.Context, b back) error {
	set := s.setting(me(c))
	page := pointListPage{base: s.base(c, "Points", "points"), Text: shorten(c.Query("text"), 60),
		NoPlant: set.Plant == nil}
	page.back = b
	page.MayLabel = page.Me.Has(permits.KindHangLabels.Roles()...)
	if set.Plant != nil {
		page.Groups = pointGroups(pointLines(set, page.Text), page.Text != "")
	}
	return s.render(c, b.status(), "point_list", page)
}

// fewPoints is how many points are listed without folding any away.
const fewPoints = 12

// framesAGroup is how many frames lie in one group: a few steps' walk.
const framesAGroup = 10

// pointGroups puts points together by deck, side and a few frames, the uppermost deck first, from aft forward.
func pointGroups(list []pointLine, sought bool) []pointGroup {
	var out []pointGroup
	for _, l := range list {
		place := l.Node.Place
		name := "No place given"
		if !place.IsZero() {
			aft := place.Frame / framesAGroup * framesAGroup
			name = fmt.Sprintf("Deck %d, frames %d–%d, %s", place.Deck, aft, aft+framesAGroup-1, place.Side)
		}
		i := slices.IndexFunc(out, func(g pointGroup) bool { return g.Place == name })
		if i < 0 {
			out = append(out, pointGroup{Place: name, at: place, Open: sought || len(list) <= fewPoints})
			i = len(out) - 1
		}
		g := &out[i]
		g.Points = append(g.Points, l)
		if len(l.On) > 0 {
			g.Held++
		}
		if l.Passing {
			g.Passing++
		}
	}
	slices.SortStableFunc(out, func(a, b pointGroup) int {
		return cmp.Or(cmp.Compare(b.at.Deck, a.at.Deck), cmp.Compare(a.at.Frame/framesAGroup, b.at.Frame/framesAGroup),
			strings.Compare(a.at.Side, b.at.Side))
	})
	return out
}

func pointLines(set permits.Setting, text string) []pointLine {
	var out []pointLine
	text = strings.ToLower(text)
	for _, n := range set.Plant.Points() {
		if !strings.Contains(strings.ToLower(n.Label()+" "+n.Place.String()+" "+string(n.Kind)), text) {
			continue
		}
		l := pointLine{Node: n, Labelled: isLabelled(set, n.ID), Passing: set.Ship.IsPassing(n.ID)}
		l.On = hanging(set.Held.At(n.ID, 0))
		out = append(out, l)
	}
	return out
}

// labelsIssue issues point labels, which makes them asked for from now on; the sheet to print is offered after it.
func (s *Server) labelsIssue(c *gin.Context) error {
	f := formOf(c)
	act := permits.HangLabels{Labels: map[isolation.NodeID]permits.TagDigest{}}
	for _, id := range f.Values["point"] {
		act.Labels[isolation.NodeID(id)] = ""
	}
	if len(act.Labels) == 0 {
		f.wrong("point", "Choose the points that get a label.")
	}
	return s.do(c, doing{form: "labels", act: act, then: "/points?issued=" + strconv.Itoa(len(act.Labels)),
		again: s.pointsAgain,
		done: "Issued: " + plural(len(act.Labels), "label", "labels") +
			". Print them, fix them to their points; fitting asks for them from now on."})
}
