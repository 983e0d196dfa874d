package sample

import (
	"slices"
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/web/screens"
)

// atWorkPages are what is looked after at a tank that is entered for hot work: before the work, while two are inside,
// and when air is found bad.
func (s *Ship) atWorkPages() ([]Page, error) {
	id, err := s.request("T1-coat", "Coating by the manhole burnt off and renewed")
	if err != nil {
		return nil, err
	}
	s.authorise(id)
	s.do(id, "yara", permits.Countersign{})
	s.fit(id, s.steps(id), s.steps(id))
	out := []Page{s.atWorkPage("before", id)}
	s.entryProof(id)
	s.do(id, "aram", permits.TakePost{Post: isolation.Attendant})
	s.do(id, "yara", permits.TakePost{Post: isolation.FireWatch})
	s.do(id, "ilse", permits.Inhibit{What: "Loop 3, tank deck", Means: "the fire watch calls the bridge"})
	both := []permits.PersonID{"tove", "bao"}
	for _, who := range both {
		s.do(id, who, permits.SignOn{})
	}
	for _, a := range s.Permits[id].Air() { // again at the entrance
		s.do(id, "aram", s.airAt(id, a.Level))
	}
	s.do(id, "aram", permits.GoIn{People: both, Meters: true})
	out = append(out, s.atWorkPage("inside", id), s.permitPages("entry", id)[0])
	bad := s.airAt(id, "bottom")
	bad.Values[0].Value = 19.2
	s.do(id, "bao", bad)
	out = append(out, s.atWorkPage("bad-air", id))
	s.do(id, "aram", permits.ComeOut{People: both})
	for _, who := range both {
		s.do(id, who, permits.SignOff{})
	}
	return out, nil
}

// entryProof walks an entry from its checked locks to live.
func (s *Ship) entryProof(id permits.PermitID) {
	var yes permits.AnswerMeasures
	for _, m := range s.Permits[id].Measures() {
		yes.Checks = append(yes.Checks, m.Check.ID)
	}
	s.do(id, "tove", yes)
	p := s.Permits[id]
	s.at = s.at.Add(20*time.Minute + p.EarliestOpen(s.at).Left(s.at)) // longer than the hold
	for _, d := range p.Drains() {
		s.do(id, "tove", permits.RecordDrain{Section: d.Section.ID, Into: "Bilge",
			Reading: isolation.DrainReading{OutL: d.Section.OutL, HoldS: 900, TempC: 20}})
	}
	for _, r := range p.Stored() {
		if r.Check.Stored.Kind != isolation.KindMeasure {
			s.do(id, "tove", permits.RecordStored{Check: r.Check.ID, Value: 1})
		}
	}
	for _, a := range p.Air() {
		s.do(id, "tove", s.airAt(id, a.Level))
	}
	s.do(id, "tove", permits.Prove{})
	s.do(id, "ilse", permits.Issue{})
	s.do(id, "bao", permits.Accept{ToolsOut: 6})
}

// airAt is a test of the air that finds nothing.
func (s *Ship) airAt(id permits.PermitID, level string) permits.RecordAir {
	a := permits.RecordAir{Level: level, Meter: "G-07", Tested: true, Still: true}
	for _, l := range s.Permits[id].Plan().Air.Limits {
		a.Values = append(a.Values, permits.AirValue{Gas: l.Gas, Value: map[bool]float64{true: 20.9}[l.Gas == "O2"]})
	}
	return a
}

func (s *Ship) atWorkPage(name string, id permits.PermitID) Page {
	p, set := s.Permits[id], s.Setting(CannedCrew[slices.IndexFunc(CannedCrew,
		func(p permits.Person) bool { return p.ID == "aram" })])
	return Page{"at-work-" + name, "work_show", func(b screens.Frame) any { return screens.ViewAtWork(b, set, p) }}
}
