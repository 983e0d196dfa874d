package sample

import (
	"maps"
	"time"

	"stillwatch/isolation"
	"stillwatch/isolation/proved"
	"stillwatch/permits"
	"stillwatch/web/screens"
)

// CannedStages walks permits to the states that matter and returns the pages of each.
func CannedStages(s *Ship) ([]Page, error) {
	const job, work = "F1-clean", "Differential pressure high: clean the elements, renew the cover's joint"
	made, err := proved.Make(s.plant, s.rules, job, isolation.Circumstances{})
	if err != nil {
		return nil, err
	}
	plan := screens.PlanViewOf(made.Plan, s.plant, permits.Held{}, 0)
	out := []Page{
		{"request", "permit_request", func(b screens.Frame) any {
			return screens.RequestPage{Frame: b, Machines: screens.JobsByMachine(s.plant, ""), May: true}
		}},
		{"request-plan", "permit_request", func(b screens.Frame) any {
			return screens.RequestPage{Frame: b, Machines: screens.JobsByMachine(s.plant, job), Job: job, Plan: &plan,
				Hash: made.Hash,
				May:  true}
		}},
		{"request-uncut", "permit_request", func(b screens.Frame) any {
			no := isolation.Plan{Job: "S1-belt", Title: "Drive belt", MachineName: "Separator 1",
				Words: "The path from the main switchboard to the separator has no point that isolates.",
				Uncut: []isolation.NodeID{"MSB", "S1-Q1", "S1-bowl"}}
			v := screens.PlanViewOf(&no, s.plant, permits.Held{}, 0)
			return screens.RequestPage{Frame: b, Machines: screens.JobsByMachine(s.plant, "S1-belt"), Job: "S1-belt", Plan: &v,
				May: true}
		}},
	}
	for _, stage := range []struct {
		name string
		walk func(id permits.PermitID)
	}{
		// before there is another permit that relies on the same locks
		{"under-test", s.test},
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
		s.endTest(id)
	}
	return append(out, s.pointPages()...), nil
}

// apart returns the same ship for something that happens on some pages alone.
func (s *Ship) apart() *Ship {
	other := *s
	other.Permits = maps.Clone(s.Permits)
	return &other
}

// wrongPages is a live permit of which a lock was found wrong: board, permit, point and tag.
func (s *Ship) wrongPages(id permits.PermitID, history []screens.EntryLine) []Page {
	w := s.apart()
	w.do(id, "bao", permits.FindWrong{N: 3, Words: "It stands half open, the lock hangs"})
	s.Fault = w.Fault
	p := w.Permits[id]
	l, _ := p.Lock(3)
	return []Page{
		{"board-found-wrong", "board_show", func(b screens.Frame) any { return w.board(b) }},
		{"permit-found-wrong", "permit_show", func(b screens.Frame) any {
			return screens.PermitPage{Frame: b, PermitView: screens.ViewPermit(reader(w.Setting(b.Me), b), p), History: history}
		}},
		{"point-found-wrong", "point_show", func(b screens.Frame) any {
			set := w.Setting(b.Me)
			return screens.PointPage{Frame: b, Node: w.plant.Node(l.Step.Point), Held: set.Held.At(l.Step.Point, 0),
				ToDo: screens.TasksAt(set, l.Step.Point, []permits.Permit{p}), Labelled: true, History: history}
		}},
		{"tag-found-wrong", "tag_open", func(b screens.Frame) any {
			return screens.TagPage{Frame: b, TagView: screens.ViewTag(reader(w.Setting(b.Me), b), p, 3),
				Code: "7K3MQ2XD9PTR4W6ZB", How: "phone"}
		}},
	}
}

// seenPage is the second person's walk when all is seen and not signed.
func (s *Ship) seenPage(id permits.PermitID) Page {
	w := s.apart()
	for _, l := range w.Permits[id].Unchecked() {
		w.do(id, "bao", permits.Look{N: l.Step.N})
	}
	s.Fault = w.Fault
	return Page{"looks-all-seen", "walk_show", func(b screens.Frame) any {
		b.Me = CannedCrew[3]
		return screens.ViewLooks(b, reader(w.Setting(b.Me), b), w.Permits[id])
	}}
}

// reader returns a setting as it is for whoever a page is made for.
func reader(set permits.Setting, b screens.Frame) permits.Setting {
	set.By, set.At = b.Me, b.Clock
	return set
}

// cannedTrust is the page of an authority that does not exist.
func cannedTrust(b screens.Frame) screens.TrustPage {
	const address = "http://192.168.1.10:8080/trust"
	qr, err := screens.DrawQR(address)
	if err != nil {
		panic(err) // the address is fixed above
	}
	page := screens.TrustPage{Frame: b, Address: address, QR: qr}
	page.Trust = screens.Trust{Until: time.Date(2036, 11, 23, 0, 0, 0, 0, time.UTC), Plain: "http://192.168.1.10:8080",
		Secure: "https://192.168.1.10:8443/"}
	for range 16 {
		page.Groups = append(page.Groups, "5F0C")
	}
	return page
}
