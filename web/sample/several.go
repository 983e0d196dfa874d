package sample

import (
	"stillwatch/permits"
	"stillwatch/web/screens"
)

// severalPages are a permit with another trade under its locks and a group box, then the same in an emergency and after
// it, on a ship of their own: an emergency stops all.
func severalPages() ([]Page, error) {
	s, err := NewShip()
	if err != nil {
		return nil, err
	}
	parent, err := s.request("F1-clean", "Clean the elements, renew the cover's joint")
	if err != nil {
		return nil, err
	}
	s.authorise(parent)
	s.fit(parent, s.steps(parent), s.steps(parent))
	s.live(parent)
	s.do(parent, "tove", permits.SignOff{})
	keys := 0
	for _, l := range s.Permits[parent].Locks() {
		if l.Padlock != "" {
			keys++
		}
	}
	s.do(parent, "bao", permits.UseBox{Box: "B2", Keys: keys})
	s.do(parent, "tove", permits.SignOn{Lock: "T-14"})
	under := s.do(0, "tove", s.Permits[parent].RequestUnder("Renew the cable gland of the drain pump"))
	out := s.pageOf("draft-under", under)
	s.do(under, "ilse", permits.Authorise{Hours: 8})
	out = append(out, s.pageOf("authorised-under", under)...)
	s.do(under, "tove", permits.Accept{ToolsOut: 3})
	s.do(under, "bao", permits.SignOn{Lock: "B-02"})
	out = append(append(out, s.pageOf("group-box", parent)...), s.pageOf("live-under", under)...)
	out = append(out, s.emergencyPage("emergency-none"), s.handoverPage("handover-several"))

	s.aboard("ilse", permits.DeclareEmergency{Words: "fire in the purifier room"})
	out = append(out, s.emergencyPage("emergency"), s.boardPage("board-emergency"))
	s.do(parent, "tove", permits.SignOff{LockOff: true})
	s.do(under, "ilse", permits.CountOut{Person: "bao", Where: "muster station"})
	out = append(out, s.emergencyPage("emergency-out"), s.pageOf("own-lock-left", under)[0])
	s.do(parent, "ilse", permits.OrderOpening{Steps: []int{2}, By: "tove", Seen: "bao", Words: "supply of the fire pump"})
	out = append(out, s.pageOf("emergency", parent)...)
	l, _ := s.Permits[parent].Lock(2)
	s.do(parent, "tove", permits.OpenAtOnce{Tag: l.Tag, Position: l.Step.Clearance})
	s.aboard("ilse", permits.EndEmergency{Words: "fire out, space vented"})
	out = append(out, s.emergencyPage("emergency-after"), s.boardPage("board-after"))
	return append(out, s.pageOf("account", parent)[0]), s.Fault
}

// pageOf returns the page of a permit as it stands now, and that of the tag of its second step if it comes off at once.
func (s *Ship) pageOf(name string, id permits.PermitID) []Page {
	p, history, set := s.Permits[id], s.lines(30), s.Setting(CannedCrew[2])
	out := []Page{{"permit-" + name, "permit_show", func(b screens.Frame) any {
		set := set
		set.By = b.Me
		return screens.PermitPage{Frame: b, PermitView: screens.ViewPermit(set, p), History: history}
	}}}
	if permits.UseOfTag(set, p, 2).Use == permits.UseOpen {
		out = append(out, Page{"tag-" + name, "tag_open", func(b screens.Frame) any {
			return screens.TagPage{Frame: b, TagView: screens.ViewTag(set, p, 2), Code: "7K3MQ2XD9PTR4W6ZB", How: "phone"}
		}})
	}
	return out
}

// emergencyPage returns the page of the emergency as the ship stands now, for its officer.
func (s *Ship) emergencyPage(name string) Page {
	set := s.Setting(CannedCrew[1])
	return Page{name, "emergency_show", func(b screens.Frame) any {
		b.Me = CannedCrew[1]
		page := screens.EmergencyOf(b, set)
		page.Sheet = name != "emergency-none"
		return page
	}}
}

// handoverPage returns the page of the handover as the ship stands now, for its officer.
func (s *Ship) handoverPage(name string) Page {
	set, open := s.Setting(CannedCrew[1]), s.Open()
	return Page{name, "handover_show", func(b screens.Frame) any {
		b.Me = CannedCrew[1]
		return screens.HandoverOf(b, set, open)
	}}
}

// boardPage returns the board as the ship stands now.
func (s *Ship) boardPage(name string) Page {
	set, open, held := s.Setting(CannedCrew[1]), s.Open(), s.held()
	return Page{name, "board_show", func(b screens.Frame) any {
		page := screens.BoardOf(set, open)
		page.Frame, page.Alarms, page.Hang = b, screens.BoardAlarms(set, open), screens.HangLines(held, s.plant)
		return page
	}}
}

// aboard does an act that concerns the whole ship, and what follows from it.
func (s *Ship) aboard(who permits.PersonID, act permits.ShipAct) {
	set := s.Setting(s.Ship.People[who])
	set.Signed, _ = permits.Sign(set.By, "", everyPIN{}, s.at) // everyPIN takes it
	e, err := permits.DecideShip(set, act)
	if err != nil {
		s.Fault = err
		return
	}
	e.N = int64(len(s.log))
	s.log = append(s.log, e)
	s.Ship = permits.ApplyShip(s.Ship, e)
	for _, p := range s.Open() {
		if then, follows := permits.FollowsFrom(e, p); follows {
			s.do(p.ID(), who, then)
		}
	}
}
