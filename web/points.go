package web

import (
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/register"
	"stillwatch/web/screens"
)

// historyOfPoint is how many entries a point's page shows.
const historyOfPoint = 50

func (s *Server) pointShow(c *gin.Context) error {
	return s.pointAgain(c, isolation.NodeID(c.Param("id")), false, screens.Back{})
}

func (s *Server) pointAgain(c *gin.Context, id isolation.NodeID, scanned bool, b screens.Back) error {
	set := s.setting(me(c))
	if set.Plant == nil || set.Plant.Node(id) == nil {
		return notThere("The plant file in force has no point "+screens.Shorten(string(id), 40)+".",
			"The list of points shows all there are.")
	}
	entries, err := s.reg.Entries(c.Request.Context(), register.EntryQuery{Point: id, Limit: historyOfPoint})
	if err != nil {
		return err
	}
	page := screens.PointPage{Frame: s.base(c, string(id), "points"), Node: set.Plant.Node(id), Scanned: scanned,
		ToDo: screens.TasksAt(set, id, s.reg.OpenPermits())}
	page.Back, page.Live, page.Path = b, true, "/points/"+string(id)
	page.Held = set.Held.At(id, 0)
	page.Labelled = screens.IsLabelled(set, id)
	page.Sides = append([]string{""}, isolation.Sides()...)
	page.Passing = set.Ship.Passing[id]
	page.Seen = screens.Shorten(strings.TrimSpace(c.Query("seen")), 400)
	page.MayLabel = page.Me.Has(permits.KindHangLabels.Roles()...)
	tell := s.teller(c.Request.Context())
	for _, e := range entries {
		page.History = append(page.History, tell.Line(e))
	}
	return s.render(c, statusOfForm(b), "point_show", page)
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
		again: func(c *gin.Context, b screens.Back) error { return s.pointAgain(c, id, false, b) }})
}

func (s *Server) pointList(c *gin.Context) error { return s.pointsAgain(c, screens.Back{}) }

func (s *Server) pointsAgain(c *gin.Context, b screens.Back) error {
	set := s.setting(me(c))
	page := screens.PointsPage{Frame: s.base(c, "Points", "points"), Text: screens.Shorten(c.Query("text"), 60),
		NoPlant: set.Plant == nil, TickAll: c.Query("tick") == "all"}
	page.Back = b
	page.MayLabel = page.Me.Has(permits.KindHangLabels.Roles()...)
	if set.Plant != nil {
		page.Groups = screens.PointGroups(screens.PointLines(set, page.Text), page.Text != "")
	}
	return s.render(c, statusOfForm(b), "point_list", page)
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
		done: "Issued: " + screens.Plural(len(act.Labels), "label", "labels") +
			". Print them, fix them to their points; fitting asks for them from now on."})
}
