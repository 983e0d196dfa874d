package web

import (
	"fmt"
	"strconv"

	"github.com/gin-gonic/gin"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proved"
	"stillwatch/permits"
	"stillwatch/web/screens"
)

// proposed reads what was proposed back from the log.
func (s *Server) proposed(c *gin.Context, of permits.FileKind) (permits.ProposeFile, error) {
	p, there := s.reg.Ship().Proposed[of]
	if !there {
		return permits.ProposeFile{}, notThere("No "+string(of)+" file is proposed.",
			"Propose one on the page Plant and rules.")
	}
	e, err := s.reg.Entry(c.Request.Context(), p.Entry)
	if err != nil {
		return permits.ProposeFile{}, err
	}
	a, ok := e.Act.(permits.ProposeFile)
	if !ok {
		return a, fmt.Errorf("entry %d proposes no file", p.Entry)
	}
	return a, nil
}

func (s *Server) plantProposed(c *gin.Context) error { return s.plantProposedAgain(c, screens.Back{}) }

// jobsCompared is how many jobs a page computes anew: some three seconds of one processor.
const jobsCompared = 200

func (s *Server) plantProposedAgain(c *gin.Context, b screens.Back) error {
	a, err := s.proposed(c, permits.PlantFile)
	if err != nil {
		return err
	}
	after, err := plantfile.Read(a.Name, []byte(a.Text))
	if err != nil {
		return err // it was sound when it was proposed
	}
	set := s.setting(me(c))
	facts := permits.CircumstancesOf(set.Ship, set.Held, 0)
	key := fmt.Sprint(set.Ship.PlantSHA256, set.Ship.RulesSHA256, a.SHA256, facts)
	effects, err := s.effects.get(key, func() ([]isolation.Effect, error) {
		return proved.Effects(set.Plant, after, set.Rules, facts, jobsCompared), nil
	})
	if err != nil {
		return err
	}
	page := screens.ProposalOf(set, set.Plant, after, effects)
	page.Frame = s.base(c, "A plant file is proposed", "plant")
	page.Back, page.Path = b, "/plant/proposed"
	return s.render(c, statusOfForm(b), "plant_proposed", page)
}

// plantProposedFile returns the proposed plant file, byte for byte.
func (s *Server) plantProposedFile(c *gin.Context) error {
	a, err := s.proposed(c, permits.PlantFile)
	if err != nil {
		return err
	}
	return sendText(c, "proposed.yaml", []byte(a.Text))
}

// plantAdopt puts the plant file that was proposed in force: the very one that the page showed.
func (s *Server) plantAdopt(c *gin.Context) error {
	a, err := s.proposed(c, permits.PlantFile)
	if err != nil {
		return err
	}
	act := permits.AdoptPlant{Name: a.Name, SHA256: formOf(c).text("sha256"), Text: a.Text}
	return s.do(c, doing{form: "plant", act: act, then: "/plant", done: "The plant file is in force.",
		again: s.plantProposedAgain})
}

// rulesAdopt puts the rules that were proposed in force.
func (s *Server) rulesAdopt(c *gin.Context) error {
	a, err := s.proposed(c, permits.RulesFile)
	if err != nil {
		return err
	}
	act := permits.AdoptRules{Name: a.Name, SHA256: formOf(c).text("sha256"), Text: a.Text}
	return s.do(c, doing{form: "rules", act: act, then: "/plant", done: "The rules file is in force.",
		again: s.plantAgain})
}

// pointAmend proposes the plant with another name, place or lock for one point. It rests on what is proposed already,
// so that one change after another goes into one file.
func (s *Server) pointAmend(c *gin.Context) error {
	f := formOf(c)
	id := isolation.NodeID(c.Param("id"))
	base := s.reg.Plant()
	if a, err := s.proposed(c, permits.PlantFile); err == nil {
		if base, err = plantfile.Read(a.Name, []byte(a.Text)); err != nil {
			return err
		}
	}
	if base == nil || base.Node(id) == nil {
		return notThere("The plant file has no point "+screens.Shorten(string(id), 40)+".",
			"The list of points shows all there are.")
	}
	changed, err := plantfile.Amend(base, id, f.amendment(base.Node(id)))
	if err != nil {
		f.wrong("name", "%s", permits.AsSentence(err.Error()))
		changed = base
	}
	if f.fault == nil && changed.SHA256 == base.SHA256 {
		f.wrong("name", "Nothing was changed.")
	}
	return s.do(c, doing{form: "amend", act: proposalOf(permits.PlantFile, "plant.yaml", changed.Text),
		then: "/plant/proposed", done: "Proposed. Somebody else looks at it and puts it in force.",
		again: func(c *gin.Context, b screens.Back) error { return s.pointAgain(c, id, false, b) }})
}

// amendment returns the keys of a point that the form wants otherwise than they are.
func (f *form) amendment(n *isolation.Node) map[string]string {
	set := map[string]string{}
	if name := f.text("name"); name != n.Name {
		set["name"] = name
	}
	place := isolation.Place{Deck: f.count("deck", "The deck"), Frame: f.count("frame", "The frame"), Side: f.text("side")}
	if place != n.Place {
		set["place"] = plantfile.PlaceWords(place)
	}
	if lock := f.text("lockable") == "yes"; lock != n.Lockable {
		set["lockable"] = strconv.FormatBool(lock)
	}
	if measure := f.text("measure"); measure != n.Measure {
		set["measure"] = measure
	}
	return set
}
