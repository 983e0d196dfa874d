package web

import (
	"maps"
	"net/url"
	"slices"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// cannedStages walks permits to the states that matter and returns the pages of each.
func cannedStages(s *cannedShip) ([]cannedPage, error) {
	const job, work = "F1-clean", "Differential pressure high: clean the elements, renew the cover's joint"
	made, err := provedPlan(s.plant, s.rules, job, isolation.Circumstances{})
	if err != nil {
		return nil, err
	}
	plan := planViewOf(made.Plan, s.plant, permits.Held{}, 0)
	out := []cannedPage{
		{"request", "permit_request", func(b base) any {
			return permitRequestPage{base: b, Machines: jobsByMachine(s.plant, ""), May: true}
		}},
		{"request-plan", "permit_request", func(b base) any {
			return permitRequestPage{base: b, Machines: jobsByMachine(s.plant, job), Job: job, Plan: &plan, Hash: made.Hash,
				May: true}
		}},
		{"request-uncut", "permit_request", func(b base) any {
			no := isolation.Plan{Job: "S1-belt", Title: "Drive belt", MachineName: "Separator 1",
				Words: "The path from the main switchboard to the separator has no point that isolates.",
				Uncut: []isolation.NodeID{"MSB", "S1-Q1", "S1-bowl"}}
			v := planViewOf(&no, s.plant, permits.Held{}, 0)
			return permitRequestPage{base: b, Machines: jobsByMachine(s.plant, "S1-belt"), Job: "S1-belt", Plan: &v, May: true}
		}},
	}
	for _, stage := range []struct {
		name string
		walk func(id permits.PermitID)
	}{
		{"draft", func(permits.PermitID) {}},
		{"authorised", func(id permits.PermitID) { s.authorise(id) }},
		{"isolating", func(id permits.PermitID) {
			s.authorise(id)
			s.fit(id, 3, 2)
			s.wanted = true
			s.do(id, "tove", permits.CheckLock{N: 3})
			s.wanted = false
		}},
		{"proving", func(id permits.PermitID) { s.authorise(id); s.fit(id, s.steps(id), s.steps(id)); s.readings(id, true) }},
		{"live", func(id permits.PermitID) { s.authorise(id); s.fit(id, s.steps(id), s.steps(id)); s.live(id) }},
		{"suspended", func(id permits.PermitID) {
			s.authorise(id)
			s.fit(id, s.steps(id), s.steps(id))
			s.live(id)
			s.do(id, "bao", permits.Suspend{Words: "Smoke from the purifier flat"})
		}},
		{"lost", func(id permits.PermitID) {
			s.authorise(id)
			s.fit(id, s.steps(id), s.steps(id))
			s.live(id)
			s.do(id, "bao", permits.SignOn{})
			s.refill(id)
		}},
		{"restoring", func(id permits.PermitID) {
			s.authorise(id)
			s.fit(id, s.steps(id), s.steps(id))
			s.live(id)
			s.back(id, 2)
		}},
		{"closed", func(id permits.PermitID) {
			s.authorise(id)
			s.fit(id, s.steps(id), s.steps(id))
			s.live(id)
			s.back(id, s.steps(id))
			s.do(id, "aram", permits.Close{Positions: true, Told: true})
		}},
	} {
		id, err := s.request(job, work)
		if err != nil {
			return nil, err
		}
		stage.walk(id)
		out = append(out, s.permitPages(stage.name, id)...)
	}
	return append(out, s.pointPages()...), nil
}

func (s *cannedShip) steps(id permits.PermitID) int { return len(s.permits[id].Locks()) }

// permitPages returns the pages of one permit as it stands now: its own, its plan's, and those of the tags that matter.
func (s *cannedShip) permitPages(name string, id permits.PermitID) []cannedPage {
	p, history, set := s.permits[id], s.lines(30), s.setting(cannedCrew[2])
	out := []cannedPage{
		{"permit-" + name, "permit_show", func(b base) any {
			return permitShowPage{base: b, permitView: viewPermit(reader(set, b), p), History: history}
		}},
		{"plan-" + name, "plan_show", func(b base) any {
			return planShowPage{base: b, ID: id, State: p.State(), Work: p.Work(),
				Plan: planViewOf(p.Plan(), s.plant, permits.Held{}, id)}
		}},
	}
	seen := map[permits.Use]bool{}
	for n := 1; n <= len(p.Locks()); n++ {
		v := viewTag(set, p, n)
		if seen[v.Use] || p.State() == permits.Draft {
			continue
		}
		seen[v.Use] = true
		out = append(out, cannedPage{"tag-" + name + "-" + string(v.Use), "tag_open", func(b base) any {
			return tagOpenPage{base: b, tagView: v, Code: "7K3MQ2XD9PTR4W6ZB", How: "phone"}
		}})
	}
	if len(permits.Walk(set, p)) > 0 {
		out = append(out, cannedPage{"walk-" + name, "walk_show", func(b base) any { return viewWalk(b, reader(set, b), p) }})
	}
	if name == "live" {
		out = append(out, s.passingPages(p, history)...)
	}
	if name == "authorised" {
		out = append(out, s.refusedTag(set, p))
	}
	return out
}

// passingPages is a live permit of which a point was found passing: its own page, and that of a tag.
func (s *cannedShip) passingPages(p permits.Permit, history []entryLine) []cannedPage {
	set := s.setting(cannedCrew[2])
	i := slices.IndexFunc(p.Locks(), func(l permits.Lock) bool { return l.Step.Isolates() })
	set.Ship.Passing = maps.Clone(set.Ship.Passing)
	set.Ship.Passing[p.Locks()[i].Step.Point] = "a steady drip at the open drain"
	return []cannedPage{
		{"permit-live-passing", "permit_show", func(b base) any {
			return permitShowPage{base: b, permitView: viewPermit(reader(set, b), p), History: history}
		}},
		{"tag-live-passing", "tag_open", func(b base) any {
			return tagOpenPage{base: b, tagView: viewTag(reader(set, b), p, i+1), Code: "7K3MQ2XD9PTR4W6ZB",
				How: "phone"}
		}},
	}
}

// refill records that what was drained comes again, which sends a live permit back to proving.
func (s *cannedShip) refill(id permits.PermitID) {
	d := s.permits[id].Drains()[0]
	s.do(id, "tove", permits.RecordDrain{Section: d.Section.ID, Into: "Sludge tank",
		Reading: isolation.DrainReading{OutL: d.Section.OutL, HoldS: 300, HoldInL: 2*d.Section.SpreadL + 5, TempC: 40}})
}

// refusedTag is the page of a tag whose form was refused: the wrong label, and the wrong position.
func (s *cannedShip) refusedTag(set permits.Setting, p permits.Permit) cannedPage {
	v := viewTag(set, p, 1)
	v.Labelled = true
	no := &permits.Refusal{Kind: permits.Refused, Gate: "fit lock",
		What:  "The label that was scanned is of F1-V2, but this tag belongs to " + string(v.Lock.Step.Point) + ".",
		Opens: "Go to " + string(v.Lock.Step.Point) + " and scan the label there."}
	return cannedPage{"tag-refused", "tag_open", func(b base) any {
		b.back = back{Form: "fit", Refusal: no, Values: url.Values{"padlock": {"R-21"},
			"position": {string(v.Lock.Step.Position)}}}
		return tagOpenPage{base: b, tagView: v, Code: "7K3MQ2XD9PTR4W6ZB", How: "phone",
			Label: &readLabel{Point: "F1-V2", At: b.Clock}}
	}}
}

// pointPages returns the pages of points and of codes that are none.
func (s *cannedShip) pointPages() []cannedPage {
	return []cannedPage{
		{"point", "point_show", func(b base) any {
			return pointShowPage{base: b, Node: s.plant.Node("F1-V1"), Scanned: true, ToDo: tasksAt(s.setting(b.Me), "F1-V1", s.open()),
				Labelled: true, History: s.lines(8), MayLabel: true}
		}},
		{"point-passing", "point_show", func(b base) any {
			return pointShowPage{base: b, Node: s.plant.Node("S1-Q1"), Passing: s.ship.Passing["S1-Q1"], MayLabel: true}
		}},
		{"tag-unknown", "tag_open", func(b base) any {
			b.Sought = "7K3M-Q2XD-9PTR-4W6Z-C"
			return tagOpenPage{base: b, Unknown: "The check character does not fit: one character was misread or two were " +
				"swapped. Read the code again."}
		}},
	}
}

// reader returns a setting as it is for whoever a page is made for.
func reader(set permits.Setting, b base) permits.Setting {
	set.By, set.At = b.Me, b.Clock
	return set
}
