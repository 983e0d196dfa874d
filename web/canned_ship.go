package web

import (
	_ "embed" // the sample plant
	"errors"
	"fmt"
	"time"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
	"stillwatch/permits"
)

//go:embed canned.yaml
var cannedPlant []byte

// cannedShip is a made-up ship on which permits are walked in memory, by the real gates, for showing the pages. Nothing
// of it reaches a register.
type cannedShip struct {
	plant   *isolation.Plant
	rules   *isolation.Rules
	ship    permits.Ship
	at      time.Time
	permits map[permits.PermitID]permits.Permit
	log     []permits.Entry
	fault   error // the first act that a gate refused although it should not have
	wanted  bool  // a refusal is wanted now, to be shown
}

// everyPIN takes every PIN. It signs for canned people, who exist on pages only.
type everyPIN struct{}

func (everyPIN) VerifyPIN(permits.PersonID, string) error { return nil }

var cannedCrew = []permits.Person{
	{ID: "aram", Name: "Aram", Rank: "Chief engineer", Roles: []permits.Role{permits.ChiefEngineer}},
	{ID: "ilse", Name: "Ilse", Rank: "Second engineer", Roles: []permits.Role{permits.Officer, permits.Technician}},
	{ID: "tove", Name: "Tove", Rank: "Fitter", Roles: []permits.Role{permits.Technician}},
	{ID: "bao", Name: "Bao", Rank: "Motorman", Roles: []permits.Role{permits.Technician}},
	{ID: "noor", Name: "Noor", Rank: "Visitor", Roles: []permits.Role{permits.Visitor}},
}

// newCannedShip reads the sample plant and musters the crew.
func newCannedShip() (*cannedShip, error) {
	plant, err := plantfile.Read("canned.yaml", cannedPlant)
	if err != nil {
		return nil, fmt.Errorf("read the sample plant: %w", err)
	}
	s := &cannedShip{plant: plant, rules: plantfile.ShippedRules(), at: time.Date(2026, 11, 25, 4, 10, 0, 0, time.Local),
		permits: map[permits.PermitID]permits.Permit{}}
	s.ship = permits.Ship{People: map[permits.PersonID]permits.Person{}, PlantSHA256: plant.SHA256,
		RulesSHA256: s.rules.SHA256, PlantEntry: 2,
		Passing: map[isolation.NodeID]string{"S1-Q1": "one pole stays live after opening"}}
	for _, p := range cannedCrew {
		s.ship.People[p.ID] = p
	}
	return s, nil
}

// setting returns how things stand on the canned ship for somebody.
func (s *cannedShip) setting(who permits.Person) permits.Setting {
	return permits.Setting{At: s.at, ActID: "canned", By: who, Ship: s.ship, Next: permits.PermitID(len(s.permits) + 1),
		Held: s.held(), Plant: s.plant, Rules: s.rules}
}

func (s *cannedShip) held() permits.Held {
	var out permits.Held
	for id := permits.PermitID(1); int(id) <= len(s.permits); id++ {
		out = out.With(id, s.permits[id].Holdings())
	}
	return out
}

func (s *cannedShip) open() []permits.Permit {
	var out []permits.Permit
	for id := permits.PermitID(1); int(id) <= len(s.permits); id++ {
		if p := s.permits[id]; !p.State().IsOver() {
			out = append(out, p)
		}
	}
	return out
}

// do walks a permit one act on, by the gates; what a gate refuses is kept as an entry, as a register would.
func (s *cannedShip) do(id permits.PermitID, who permits.PersonID, act permits.PermitAct) permits.PermitID {
	s.at = s.at.Add(3 * time.Minute)
	set := s.setting(s.ship.People[who])
	if act.Kind().IsSigned() {
		set.Signed, _ = permits.Sign(set.By, "", everyPIN{}, s.at) // everyPIN takes it
	}
	e, err := permits.Decide(set, s.permits[id], act)
	var no *permits.Refusal
	if errors.As(err, &no) {
		e = permits.Entry{At: s.at, By: who, Kind: permits.KindRefusedAct, Permit: id,
			Act: permits.RefusedAct{Of: act.Kind(), Gate: no.Gate, What: no.What, Opens: no.Opens}}
		if s.fault == nil && !s.wanted {
			s.fault = fmt.Errorf("canned permit %d: %w", id, no)
		}
	}
	e.N = int64(len(s.log))
	s.log = append(s.log, e)
	if no == nil {
		s.permits[e.Permit] = permits.Apply(s.permits[e.Permit], e)
	}
	return e.Permit
}

// request walks a permit to its draft.
func (s *cannedShip) request(job, work string) (permits.PermitID, error) {
	made, err := provedPlan(s.plant, s.rules, job, isolation.Circumstances{})
	if err != nil {
		return 0, err
	}
	return s.do(0, "tove", permits.Request{Plan: made.Proved, Work: work}), nil
}

// authorise walks a draft on; tags are made up from the step's number.
func (s *cannedShip) authorise(id permits.PermitID) {
	var tags []permits.TagDigest
	for n := range s.permits[id].Locks() {
		tags = append(tags, permits.TagDigest(fmt.Sprintf("tag-%d-%d", id, n+1)))
	}
	s.do(id, "ilse", permits.Authorise{Hours: 12, Tags: tags})
}

// fit walks the first n locks on, and the checks of the first so many of them.
func (s *cannedShip) fit(id permits.PermitID, n, checked int) {
	for _, l := range s.permits[id].Locks()[:n] {
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
func (s *cannedShip) readings(id permits.PermitID, short bool) {
	p := s.permits[id]
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
func (s *cannedShip) live(id permits.PermitID) {
	s.readings(id, false)
	s.do(id, "tove", permits.Prove{})
	s.do(id, "tove", permits.Accept{ToolsOut: 12})
	s.do(id, "tove", permits.SignOn{})
}

// back walks a live permit to where n locks are off again.
func (s *cannedShip) back(id permits.PermitID, n int) {
	s.do(id, "tove", permits.SignOff{})
	s.do(id, "tove", permits.HandBack{ToolsBack: 12, GuardsBack: true})
	for range n {
		l, _ := s.permits[id].NextRemove()
		left, _ := s.permits[id].LeaveAt(s.held(), l)
		s.do(id, "tove", permits.RemoveLock{Tag: l.Tag, Position: left})
	}
	if s.permits[id].LocksOn() > 0 {
		return
	}
	for _, l := range s.permits[id].Unseen() {
		s.do(id, "bao", permits.CheckRestored{N: l.Step.N})
	}
}
