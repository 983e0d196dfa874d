package sample

import (
	"context"
	_ "embed"
	"errors"
	"fmt"
	"maps"
	"net/url"
	"slices"
	"time"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proved"
	"stillwatch/permits"
	"stillwatch/permits/register"
	"stillwatch/web/screens"
)

//go:embed plant.yaml
var cannedPlant []byte

// Ship is a made-up ship on which permits are walked in memory, by the real gates, for showing the pages. Nothing
// of it reaches a register.
type Ship struct {
	plant   *isolation.Plant
	rules   *isolation.Rules
	Ship    permits.Ship
	at      time.Time
	Permits map[permits.PermitID]permits.Permit
	log     []permits.Entry
	Fault   error // the first act that a gate refused although it should not have
	wanted  bool  // a refusal is wanted now, to be shown
	uses    permits.Uses
}

// everyPIN takes every PIN. It signs for canned people, who exist on pages only.
type everyPIN struct{}

func (everyPIN) VerifyPIN(permits.PersonID, string) error { return nil }

// CannedCrew is the made-up ship's crew.
var CannedCrew = []permits.Person{
	{ID: "aram", Name: "Aram", Rank: "Chief engineer", Roles: []permits.Role{permits.ChiefEngineer}},
	{ID: "ilse", Name: "Ilse", Rank: "Second engineer", Roles: []permits.Role{permits.Officer, permits.Technician}},
	{ID: "tove", Name: "Tove", Rank: "Fitter", Roles: []permits.Role{permits.Technician}},
	{ID: "bao", Name: "Bao", Rank: "Motorman", Roles: []permits.Role{permits.Technician}},
	{ID: "noor", Name: "Noor", Rank: "Visitor", Roles: []permits.Role{permits.Visitor}},
	{ID: "yara", Name: "Yara", Rank: "Master", Roles: []permits.Role{permits.Master}},
}

// NewShip reads the sample plant and musters the crew.
func NewShip() (*Ship, error) {
	plant, err := plantfile.Read("canned.yaml", cannedPlant)
	if err != nil {
		return nil, fmt.Errorf("read the sample plant: %w", err)
	}
	s := &Ship{plant: plant, rules: plantfile.ShippedRules(), at: time.Date(2026, 11, 25, 4, 10, 0, 0, time.Local),
		Permits: map[permits.PermitID]permits.Permit{}}
	s.Ship = permits.Ship{People: map[permits.PersonID]permits.Person{}, PlantSHA256: plant.SHA256,
		RulesSHA256: s.rules.SHA256, PlantEntry: 2,
		Passing: map[isolation.NodeID]string{"S1-Q1": "one pole stays live after opening"}}
	for _, p := range CannedCrew {
		s.Ship.People[p.ID] = p
	}
	return s, nil
}

// Setting returns how things stand on the canned ship for somebody.
func (s *Ship) Setting(who permits.Person) permits.Setting {
	open := map[permits.PermitID]*permits.Permit{}
	for _, p := range s.Open() {
		open[p.ID()] = &p
	}
	return permits.Setting{At: s.at, ActID: "canned", By: who, Ship: s.Ship, Next: permits.PermitID(len(s.Permits) + 1),
		Held: s.held(), Uses: s.uses, Plant: s.plant, Rules: s.rules, Judge: permits.Judges()[len(permits.Judges())-1],
		Open: open}
}

func (s *Ship) held() permits.Held {
	var out permits.Held
	for id := permits.PermitID(1); int(id) <= len(s.Permits); id++ {
		out = out.With(id, s.Permits[id].Holdings())
	}
	return out
}

// Open returns the permits that are not over, oldest first.
func (s *Ship) Open() []permits.Permit {
	var out []permits.Permit
	for id := permits.PermitID(1); int(id) <= len(s.Permits); id++ {
		if p := s.Permits[id]; !p.State().IsOver() {
			out = append(out, p)
		}
	}
	return out
}

// do walks a permit one act on, by the gates; what a gate refuses is kept as an entry, as a register would.
func (s *Ship) do(id permits.PermitID, who permits.PersonID, act permits.PermitAct) permits.PermitID {
	s.at = s.at.Add(3 * time.Minute)
	set := s.Setting(s.Ship.People[who])
	if act.Kind().IsSigned() {
		set.Signed, _ = permits.Sign(set.By, "", everyPIN{}, s.at) // everyPIN takes it
	}
	e, err := permits.Decide(set, s.Permits[id], act)
	var no *permits.Refusal
	if errors.As(err, &no) {
		e = permits.Entry{At: s.at, By: who, Kind: permits.KindRefusedAct, Permit: id,
			Act: permits.RefusedAct{Of: act.Kind(), Gate: no.Gate, What: no.What, Opens: no.Opens}}
		if s.Fault == nil && !s.wanted {
			s.Fault = fmt.Errorf("canned permit %d: %w", id, no)
		}
	}
	e.N = int64(len(s.log))
	s.log = append(s.log, e)
	if no == nil {
		s.Permits[e.Permit] = permits.Apply(s.Permits[e.Permit], e)
		if e.Kind.IsUse() {
			s.uses = s.uses.With(s.Permits[e.Permit].Plan().Job, e.By, e.At)
		}
	}
	return e.Permit
}

// request walks a permit to its draft.
func (s *Ship) request(job, work string) (permits.PermitID, error) {
	made, err := proved.Make(s.plant, s.rules, job, isolation.Circumstances{})
	if err != nil {
		return 0, err
	}
	return s.do(0, "tove", permits.Request{Plan: made.Proved, Work: work}), nil
}

// authorise walks a draft on; tags are made up from the step's number.
func (s *Ship) authorise(id permits.PermitID) {
	var tags []permits.TagDigest
	for n := range s.Permits[id].Locks() {
		tags = append(tags, permits.TagDigest(fmt.Sprintf("tag-%d-%d", id, n+1)))
	}
	s.do(id, "ilse", permits.Authorise{Hours: min(12, s.Permits[id].MostHours(s.Setting(CannedCrew[1]))), Tags: tags,
		Unproved: true})
	if s.Permits[id].NeedsAnswer() {
		s.do(id, "aram", permits.AnswerUnproved{})
	}
}

// fit walks the first n locks on, and the checks of the first so many of them.
func (s *Ship) fit(id permits.PermitID, n, checked int) {
	for _, l := range s.Permits[id].Locks()[:n] {
		act := permits.FitLock{Tag: l.Tag, Position: l.Step.Position, How: "phone", MeasureDone: true, NoPressure: true}
		if l.Step.Lock {
			act.Padlock = permits.Padlock(fmt.Sprintf("R-%02d", int(id)*20+l.Step.N))
		}
		s.do(id, "tove", act)
		if l.Step.N <= checked {
			s.do(id, "bao", permits.CheckLock{N: l.Step.N})
		}
	}
}

// readings walks all records; short says that the first section gave too little.
func (s *Ship) readings(id permits.PermitID, short bool) {
	p := s.Permits[id]
	s.at = s.at.Add(20*time.Minute + p.EarliestOpen(s.at).Left(s.at)) // longer than the hold, and than every wait
	for i, d := range p.Drains() {
		out := d.Section.OutL
		if short && i == 0 {
			out /= 3
		}
		s.do(id, "tove", permits.RecordDrain{Section: d.Section.ID, Into: "Sludge tank",
			Reading: isolation.DrainReading{OutL: out, HoldS: 900, TempC: 40}})
	}
	if short {
		return
	}
	for _, r := range p.Stored() {
		s.do(id, "tove", permits.RecordStored{Check: r.Check.ID, Value: r.Check.Limit})
	}
	for _, d := range p.Dead() {
		s.do(id, "tove", permits.RecordDead{Test: d.Test.ID, ProvedBefore: true, Dead: true, ProvedAfter: true})
	}
	s.do(id, "tove", permits.RecordStart{Still: true, ControlsOff: true})
}

// live walks a permit from proving to live with somebody at work.
func (s *Ship) live(id permits.PermitID) {
	s.readings(id, false)
	s.do(id, "tove", permits.Prove{})
	s.do(id, "ilse", permits.Issue{})
	s.do(id, "bao", permits.Accept{ToolsOut: 12})
	s.do(id, "tove", permits.SignOn{})
}

// test walks a draft to where the locks for a test run are off.
func (s *Ship) test(id permits.PermitID) {
	s.authorise(id)
	s.fit(id, s.steps(id), s.steps(id))
	s.live(id)
	s.do(id, "tove", permits.SignOff{})
	plan := s.Permits[id].Plan()
	lift, err := proved.Lift(s.plant, plan, plan.Runs(s.plant)[0])
	if err != nil {
		s.Fault = err
		return
	}
	s.do(id, "bao", permits.AskTest{Lifting: lift, ToolsBack: 12, Closed: true})
	s.do(id, "ilse", permits.SanctionTest{})
	for _, n := range lift.Steps {
		l, _ := s.Permits[id].Lock(n)
		s.do(id, "tove", permits.LiftLock{Tag: l.Tag, Position: l.Step.Clearance})
	}
}

// endTest ends a test run: nobody else fits a lock where one has the point open.
func (s *Ship) endTest(id permits.PermitID) {
	if s.Permits[id].State() == permits.Testing {
		s.do(id, "tove", permits.EndTest{Stopped: true})
	}
}

// back walks a live permit to where n locks are off again.
func (s *Ship) back(id permits.PermitID, n int) {
	s.do(id, "tove", permits.SignOff{})
	s.do(id, "bao", permits.HandBack{ToolsBack: 12, GuardsBack: true})
	for range n {
		s.between(id)
		l, _ := s.Permits[id].NextRemove()
		left, _ := s.Permits[id].LeaveAt(s.held(), l)
		s.do(id, "tove", permits.RemoveLock{Tag: l.Tag, Position: left})
	}
	if s.Permits[id].LocksOn() > 0 {
		return
	}
	for _, l := range s.Permits[id].Unseen() {
		s.do(id, "bao", permits.CheckRestored{N: l.Step.N})
	}
	s.between(id)
}

// between walks what comes before the next lock, or after the last.
func (s *Ship) between(id permits.PermitID) {
	for a, due, _ := s.Permits[id].NextAdded(); due && s.Fault == nil; a, due, _ = s.Permits[id].NextAdded() {
		if s.Permits[id].HeldBack(s.Setting(s.Ship.People["aram"]), a) != nil {
			s.do(id, "aram", permits.LeaveOut{N: a.N, Words: "another permit still holds what it needs"})
			continue
		}
		s.do(id, "tove", permits.RestoreStep{N: a.N})
	}
}

func (s *Ship) board(b screens.Frame) screens.BoardPage {
	page := screens.BoardOf(later(s.Setting(b.Me), 9*time.Hour), s.Open())
	page.Frame = b
	page.Alarms = screens.BoardAlarms(s.Setting(b.Me), s.Open())
	page.Hang = screens.HangLines(s.held(), s.plant)
	page.Passing = []screens.PassingLine{{Point: "S1-Q1", Words: s.Ship.Passing["S1-Q1"]}}
	page.Notices = []register.Notice{{Kind: register.NoticePIN, Since: b.Clock,
		Words: "No PIN of Bao is taken for a while: ten wrong ones in a row.", Do: "Ask Bao whether it was them."}}
	return page
}

// boardScreen is the board as it hangs on the bridge.
func (s *Ship) boardScreen(b screens.Frame) screens.BoardScreenPage {
	var refused []permits.Entry
	for _, e := range slices.Backward(s.log) {
		if e.Kind == permits.KindRefusedAct {
			refused = append(refused, e)
		}
	}
	page := screens.BoardScreenOf(later(s.Setting(permits.Person{}), 9*time.Hour), refused)
	b.Me, b.Screen, b.Clock = permits.Person{}, "Bridge", page.Made
	page.Frame, page.Size = b, b.Head.Size
	page.Passing = []screens.PassingLine{{Point: "S1-Q1", Words: s.Ship.Passing["S1-Q1"]}}
	return page
}

// lines returns the newest n entries of a canned log in words; 0: all.
func (s *Ship) lines(n int) []screens.EntryLine {
	tell := &screens.Teller{Ctx: context.Background(), Ship: s.Ship, Permit: func(_ context.Context,
		id permits.PermitID) (permits.Permit,
		error) {
		return s.Permits[id], nil
	}, Permits: map[permits.PermitID]permits.Permit{}}
	var out []screens.EntryLine
	for _, e := range slices.Backward(s.log) {
		if out = append(out, tell.Line(e)); len(out) == n {
			break
		}
	}
	return out
}

func (s *Ship) permitLines() []register.PermitLine {
	var out []register.PermitLine
	for id := permits.PermitID(len(s.Permits)); id > 0; id-- {
		p := s.Permits[id]
		out = append(out, register.PermitLine{ID: id, State: p.State(), MachineName: p.Plan().MachineName,
			Title: p.Plan().Title, Work: p.Work(), RequestedBy: p.Requested().By,
			RequestedAt: p.Requested().At, Until: p.Until(), Locks: len(p.Locks()), LocksOn: p.LocksOn()})
	}
	return out
}

func (s *Ship) steps(id permits.PermitID) int { return len(s.Permits[id].Locks()) }

// permitPages returns the pages of one permit as it stands now: its own, its plan's, and those of the tags that matter.
func (s *Ship) permitPages(name string, id permits.PermitID) []Page {
	p, history, set := s.Permits[id], s.lines(30), s.Setting(CannedCrew[2])
	out := []Page{
		{"permit-" + name, "permit_show", func(b screens.Frame) any {
			return screens.PermitPage{Frame: b, PermitView: screens.ViewPermit(reader(set, b), p), History: history}
		}},
		{"plan-" + name, "plan_show", func(b screens.Frame) any {
			return screens.PlanPage{Frame: b, ID: id, State: p.State(), Work: p.Work(),
				Plan: screens.PlanViewOf(p.Plan(), s.plant, permits.Held{}, id)}
		}},
	}
	seen := map[permits.Use]bool{}
	for n := 1; n <= len(p.Locks()); n++ {
		v := screens.ViewTag(set, p, n)
		if seen[v.Use] || p.State() == permits.Draft {
			continue
		}
		seen[v.Use] = true
		out = append(out, Page{"tag-" + name + "-" + string(v.Use), "tag_open", func(b screens.Frame) any {
			return screens.TagPage{Frame: b, TagView: v, Code: "7K3MQ2XD9PTR4W6ZB", How: "phone"}
		}})
	}
	if len(permits.Walk(set, p)) > 0 {
		out = append(out, Page{"walk-" + name, "walk_show", func(b screens.Frame) any {
			return screens.ViewWalk(b,
				reader(set, b), p)
		}})
	}
	if name == "live" {
		out = append(out, s.passingPages(p, history)...)
	}
	if name == "live" {
		out = append(out, s.wrongPages(id, history)...)
	}
	if name == "isolating" {
		out = append(out, s.seenPage(id))
	}
	if name == "authorised" {
		out = append(out, s.refusedTag(set, p))
	}
	return out
}

// passingPages is a live permit of which a point was found passing: its own page, and that of a tag.
func (s *Ship) passingPages(p permits.Permit, history []screens.EntryLine) []Page {
	set := s.Setting(CannedCrew[2])
	i := slices.IndexFunc(p.Locks(), func(l permits.Lock) bool { return l.Step.Isolates() })
	set.Ship.Passing = maps.Clone(set.Ship.Passing)
	set.Ship.Passing[p.Locks()[i].Step.Point] = "a steady drip at the open drain"
	return []Page{
		{"permit-live-passing", "permit_show", func(b screens.Frame) any {
			return screens.PermitPage{Frame: b, PermitView: screens.ViewPermit(reader(set, b), p), History: history}
		}},
		{"tag-live-passing", "tag_open", func(b screens.Frame) any {
			return screens.TagPage{Frame: b, TagView: screens.ViewTag(reader(set, b), p, i+1), Code: "7K3MQ2XD9PTR4W6ZB",
				How: "phone"}
		}},
	}
}

// refill records that what was drained comes again, which sends a live permit back to proving.
func (s *Ship) refill(id permits.PermitID) {
	d := s.Permits[id].Drains()[0]
	s.do(id, "tove", permits.RecordDrain{Section: d.Section.ID, Into: "Sludge tank",
		Reading: isolation.DrainReading{OutL: d.Section.OutL, HoldS: 300, HoldInL: 2*d.Section.SpreadL + 5, TempC: 40}})
}

// refusedTag is the page of a tag whose form was refused: the wrong label, and the wrong position.
func (s *Ship) refusedTag(set permits.Setting, p permits.Permit) Page {
	v := screens.ViewTag(set, p, 1)
	v.Labelled = true
	no := &permits.Refusal{Kind: permits.Refused, Gate: "fit lock",
		What:  "The label that was scanned is of F1-V2, but this tag belongs to " + string(v.Lock.Step.Point) + ".",
		Opens: "Go to " + string(v.Lock.Step.Point) + " and scan the label there."}
	return Page{"tag-refused", "tag_open", func(b screens.Frame) any {
		b.Back = screens.Back{Form: "fit", Refusal: no, Values: url.Values{"padlock": {"R-21"},
			"position": {string(v.Lock.Step.Position)}}}
		return screens.TagPage{Frame: b, TagView: v, Code: "7K3MQ2XD9PTR4W6ZB", How: "phone",
			Label: &screens.ReadLabel{Point: "F1-V2", At: b.Clock}}
	}}
}

// pointPages returns the pages of points and of codes that are none.
func (s *Ship) pointPages() []Page {
	return []Page{
		{"point", "point_show", func(b screens.Frame) any {
			return screens.PointPage{Frame: b, Node: s.plant.Node("F1-V1"), Scanned: true,
				ToDo:     screens.TasksAt(s.Setting(b.Me), "F1-V1", s.Open()),
				Labelled: true, History: s.lines(8), MayLabel: true}
		}},
		{"point-passing", "point_show", func(b screens.Frame) any {
			return screens.PointPage{Frame: b, Node: s.plant.Node("S1-Q1"), Passing: s.Ship.Passing["S1-Q1"], MayLabel: true}
		}},
		{"tag-unknown", "tag_open", func(b screens.Frame) any {
			b.Sought = "7K3M-Q2XD-9PTR-4W6Z-C"
			return screens.TagPage{Frame: b, Unknown: "The check character does not fit: one character was misread or two " +
				"were " +
				"swapped. Read the code again."}
		}},
	}
}
