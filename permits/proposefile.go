package permits

import (
	"maps"
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
)

// KindProposeFile says that somebody proposes a plant file or a rules file.
const KindProposeFile Kind = "propose file"

// FileKind is which of the ship's two files a proposal is of.
type FileKind string

// The two files.
const (
	PlantFile FileKind = "plant"
	RulesFile FileKind = "rules"
)

// ProposeFile lays a file before those who put it in force. Every later plan rests on it, so two people answer for it:
// who proposes and who puts it in force (common practice for drawings: drawn and checked by two, no source).
type ProposeFile struct {
	Of     FileKind `json:"of"`
	Name   string   `json:"name"`
	SHA256 string   `json:"sha256"`
	Text   string   `json:"text"`
}

// Kind says which act this is.
func (ProposeFile) Kind() Kind { return KindProposeFile }

func (ProposeFile) rule() rule {
	return signedBy("propose a plant file or a rules file", Technician, Officer, ChiefEngineer, Master)
}

func (a ProposeFile) tell(Names, Entry) string {
	return "proposed the " + string(a.Of) + " file " + a.Name + ", hash " + short(a.SHA256)
}

func (ProposeFile) touches(Permit) Touched { return Touched{} }

func (a ProposeFile) decideShip(Setting) error {
	switch a.Of {
	case PlantFile:
		_, err := soundPlant(a.Name, a.Text, a.SHA256, "propose file")
		return err
	case RulesFile:
		return soundRules(a.Name, a.Text, a.SHA256, "propose file")
	}
	return invalid("of", "Say whether it is a plant file or a rules file.")
}

func (a ProposeFile) applyShip(e Entry, ship *Ship) {
	ship.Proposed = with(ship.Proposed, a.Of, Proposal{Mark{e.By, e.At}, a.Name, a.SHA256, e.N})
}

// Proposal is a file that somebody proposed and that is not in force yet.
type Proposal struct {
	Mark
	Name, SHA256 string
	Entry        int64 // of the log, which has its text
}

// ProposalOf returns the file of a kind that is proposed, nil if none is.
func (s Ship) ProposalOf(of FileKind) *Proposal {
	if p, there := s.Proposed[of]; there {
		return &p
	}
	return nil
}

// withoutProposal returns the proposals without that of one kind.
func withoutProposal(m map[FileKind]Proposal, of FileKind) map[FileKind]Proposal {
	out := maps.Clone(m)
	delete(out, of)
	return out
}

// FileFaults refuses a file for what is wrong in it; errors.As finds the single faults.
func FileFaults(gate string, err error) *Refusal {
	return &Refusal{Kind: Invalid, Gate: gate, Field: "file", What: err.Error(), cause: err}
}

// soundPlant reads a plant file, or refuses one that cannot be read or whose hash is that of another.
func soundPlant(name, text, sum, gate string) (*isolation.Plant, error) {
	p, err := plantfile.Read(name, []byte(text))
	switch {
	case err != nil:
		return nil, FileFaults(gate, err)
	case p.SHA256 != sum:
		return nil, invalid("file", "The plant file's hash does not fit its text. Choose the file again.")
	}
	return p, nil
}

// soundRules is soundPlant for a rules file.
func soundRules(name, text, sum, gate string) error {
	r, err := plantfile.ReadRules(name, []byte(text))
	switch {
	case err != nil:
		return FileFaults(gate, err)
	case r.SHA256 != sum:
		return invalid("file", "The rules file's hash does not fit its text. Choose the file again.")
	}
	return nil
}

// proposedByAnother refuses a file that was not proposed, or by the very person who puts it in force.
func proposedByAnother(s Setting, of FileKind, sum string) error {
	gate := "adopt " + string(of)
	pr, there := s.Ship.Proposed[of]
	switch {
	case s.Judge.Edition < changeEdition:
		return nil
	case of == RulesFile && s.Ship.RulesSHA256 == "":
		return nil // the first run of a register puts those that come with the program in force
	case !there || pr.SHA256 != sum:
		return refuse(gate, "Somebody proposes it on the page Plant and rules; then another puts it in force.",
			"This very %s file was not proposed.", of)
	case pr.By == s.Actor().ID:
		return refuse(gate, "Somebody else puts it in force, or somebody else proposes it.",
			"%s proposed this %s file. Two people answer for it.", s.Actor(), of)
	}
	return nil
}

// heldStays refuses a plant file that lacks a point at which a lock or tag of an open permit hangs, or has another kind
// of thing under its name: nobody would find that lock by the new plant.
func heldStays(s Setting, p *isolation.Plant) error {
	if s.Judge.Edition < changeEdition || s.Plant == nil {
		return nil
	}
	for h := range s.Held.All() {
		was, is := s.Plant.Node(h.Point), p.Node(h.Point)
		if !h.On || was == nil || is != nil && is.Kind == was.Kind {
			continue
		}
		return refuse("adopt plant", "Close that permit first, or leave the point in the file as it is.",
			"Permit %d has a lock or tag on %s, which the new file does not have as a %s.", h.Permit, h.Point, was.Kind)
	}
	return nil
}

// FileTouches is what another plant file would do to one open permit.
type FileTouches struct {
	Permit PermitID
	Points []isolation.NodeID // of its plan, which the new file has otherwise or not at all
	Plan   bool               // a plan for its job would be another now
	Anew   bool               // not authorised yet: it must be requested anew
}

// TouchedByFile returns the open permits that another plant file touches, by their numbers: those whose points or jobs
// are among the changed, and those that are not authorised yet.
func (s Setting) TouchedByFile(changed []isolation.NodeID, jobs []string) []FileTouches {
	var out []FileTouches
	for _, id := range s.OpenIDs() {
		p := s.Open[id]
		t := FileTouches{Permit: id, Anew: p.State() == Draft, Plan: slices.Contains(jobs, p.Plan().Job)}
		for _, l := range p.Locks() {
			if slices.Contains(changed, l.Step.Point) {
				t.Points = append(t.Points, l.Step.Point)
			}
		}
		if t.Anew || t.Plan || len(t.Points) > 0 {
			out = append(out, t)
		}
	}
	return out
}
