package sample

import (
	"stillwatch/isolation"
	"stillwatch/isolation/proved"
	"stillwatch/permits"
	"stillwatch/web/screens"
)

// changePages are a permit to which work is added: what is chosen, what cannot be, what waits for the officer, and the
// permit and its plan afterwards. On a ship of their own.
func changePages() ([]Page, error) {
	s, err := NewShip()
	if err != nil {
		return nil, err
	}
	id, err := s.request("F1-clean", "Clean the elements, renew the cover's joint")
	if err != nil {
		return nil, err
	}
	s.authorise(id)
	s.fit(id, s.steps(id), s.steps(id))
	s.live(id)
	out := s.changePage("change-people-in", id, isolation.Added{}, proved.Plan{})
	s.do(id, "tove", permits.SignOff{})
	added := isolation.Added{Jobs: []string{"F1-strainer"}}
	made, err := proved.Change(s.plant, s.rules, s.Permits[id].Plan(), added,
		permits.CircumstancesOf(s.Ship, s.held(), id))
	if err != nil {
		return nil, err
	}
	out = append(out, s.changePage("change-choose", id, isolation.Added{}, proved.Plan{})...)
	out = append(out, s.changePage("change-plan", id, added, made)...)
	hangs := isolation.Added{Opens: []isolation.NodeID{"F1-V2"}}
	out = append(out, s.changePage("change-none", id, hangs, proved.Plan{})...)
	s.do(id, "bao", permits.AskChange{Plan: made.Proved, Words: "The strainer behind the filter is full of sludge too"})
	out = append(append(out, s.changePage("change-asked", id, added, made)...), s.pageOf("change-asked", id)[0])
	asked, _ := s.Permits[id].Changing()
	signs := permits.AuthoriseChange{Number: 2, Asked: asked.Entry, Hours: 8}
	for _, st := range made.Plan.NewSteps() {
		signs.Tags = append(signs.Tags, permits.TagDigest("change-"+st.Point))
	}
	s.do(id, "ilse", signs)
	p, set := s.Permits[id], s.Setting(CannedCrew[2])
	out = append(out, s.pageOf("changed", id)[0], Page{"plan-changed", "plan_show", func(b screens.Frame) any {
		return screens.PlanPage{Frame: b, ID: id, State: p.State(), Work: p.Work(),
			Plan: screens.PlanViewOf(p.Plan(), s.plant, set.Held, id), Former: screens.FormerPlans(p)}
	}})
	return out, s.Fault
}

// changePage returns the page of added work as the permit stands now.
func (s *Ship) changePage(name string, id permits.PermitID, chosen isolation.Added, made proved.Plan) []Page {
	p, set := s.Permits[id], s.Setting(CannedCrew[2])
	if s.Permits[id].State() == permits.Suspended {
		set = s.Setting(CannedCrew[1])
	}
	return []Page{{name, "change_show", func(b screens.Frame) any {
		b.Me = set.By
		page := screens.ChangePage{Frame: b, PermitView: screens.ViewPermit(set, p), Chosen: chosen, Hash: made.Hash}
		page.Jobs, page.Parts, page.Points = screens.AddChoices(s.plant, p)
		if made.Plan != nil {
			page.Show(screens.ChangeOf(set, p, made.Plan))
		} else if chosen.Len() > 0 {
			_, err := proved.Change(s.plant, s.rules, p.Plan(), chosen, isolation.Circumstances{})
			page.Fault = err.Error()
		}
		return page
	}}}
}
