package permits

import (
	"maps"
	"slices"

	"stillwatch/isolation"
)

// Kinds of what concerns the plant as it stands aboard.
const (
	KindAdoptPlant    Kind = "adopt plant"
	KindAdoptRules    Kind = "adopt rules"
	KindHangLabels    Kind = "issue labels"
	KindRecordPassing Kind = "record passing"
	KindRecordRepair  Kind = "record repair"
)

// AdoptPlant puts a plant file in force: the whole text is in the log, every later plan names its hash.
type AdoptPlant struct {
	Name   string `json:"name"`
	SHA256 string `json:"sha256"`
	Text   string `json:"text"`
}

// Kind says which act this is.
func (AdoptPlant) Kind() Kind { return KindAdoptPlant }

// Proposal returns the act by which somebody else proposes this very file first.
func (a AdoptPlant) Proposal() ProposeFile { return ProposeFile{PlantFile, a.Name, a.SHA256, a.Text} }

func (AdoptPlant) rule() rule { return signedBy("put a plant file in force", ChiefEngineer) }

func (a AdoptPlant) tell(Names, Entry) string {
	return "put the plant file " + a.Name + " in force, hash " + short(a.SHA256)
}

func (AdoptPlant) touches(Permit) Touched { return Touched{} }

func (a AdoptPlant) decideShip(s Setting) error {
	p, err := soundPlant(a.Name, a.Text, a.SHA256, "adopt plant")
	if err != nil {
		return err
	}
	if err := proposedByAnother(s, PlantFile, a.SHA256); err != nil {
		return err
	}
	return heldStays(s, p)
}

func (a AdoptPlant) applyShip(e Entry, ship *Ship) {
	ship.PlantSHA256, ship.PlantEntry = a.SHA256, e.N
	ship.Proposed = withoutProposal(ship.Proposed, PlantFile)
}

// AdoptRules puts a rules file in force.
type AdoptRules struct {
	Name   string `json:"name"`
	SHA256 string `json:"sha256"`
	Text   string `json:"text"`
}

// Kind says which act this is.
func (AdoptRules) Kind() Kind { return KindAdoptRules }

func (AdoptRules) rule() rule { return signedBy("put a rules file in force", ChiefEngineer) }

func (a AdoptRules) tell(Names, Entry) string {
	return "put the rules file " + a.Name + " in force, hash " + short(a.SHA256)
}

func (AdoptRules) touches(Permit) Touched { return Touched{} }

func (a AdoptRules) decideShip(s Setting) error {
	if err := soundRules(a.Name, a.Text, a.SHA256, "adopt rules"); err != nil {
		return err
	}
	return proposedByAnother(s, RulesFile, a.SHA256)
}

func (a AdoptRules) applyShip(_ Entry, ship *Ship) {
	ship.RulesSHA256 = a.SHA256
	ship.Proposed = withoutProposal(ship.Proposed, RulesFile)
}

// HangLabels says that point labels were issued: from now on fitting asks for both tag and label there. An earlier
// label of the same point is void.
type HangLabels struct {
	Labels map[isolation.NodeID]TagDigest `json:"labels"`
}

// Kind says which act this is.
func (HangLabels) Kind() Kind { return KindHangLabels }

func (HangLabels) rule() rule {
	return unsignedBy("issue point labels", Technician, ChiefEngineer, Officer)
}

func (a HangLabels) tell(Names, Entry) string {
	return "issued " + Plural(len(a.Labels), "point label", "point labels")
}

func (a HangLabels) touches(Permit) Touched {
	return Touched{Points: slices.Collect(maps.Keys(a.Labels))}
}

func (a HangLabels) decideShip(s Setting) error {
	if s.Plant == nil {
		return refuse("issue labels", "The chief engineer puts one in force.", "No plant file is in force.")
	}
	if len(a.Labels) == 0 {
		return invalid("points", "Choose the points that get a label.")
	}
	for point := range a.Labels {
		if s.Plant.Node(point) == nil {
			return &Refusal{Kind: NotFound, Gate: "issue labels", What: "The plant file in force has no point " + string(point) +
				"."}
		}
	}
	return nil
}

func (a HangLabels) applyShip(_ Entry, ship *Ship) {
	for point, d := range a.Labels {
		ship.Labels = with(ship.Labels, point, d)
	}
}

// Codes returns the codes of the labels, in the order of their points.
func (a HangLabels) Codes(Permit) []Code {
	var out []Code
	for _, point := range slices.Sorted(maps.Keys(a.Labels)) {
		out = append(out, Code{Point: point, Digest: a.Labels[point]})
	}
	return out
}

// WithCodes returns the act with these labels.
func (HangLabels) WithCodes(codes []Code) Act {
	labels := map[isolation.NodeID]TagDigest{}
	for _, c := range codes {
		labels[c.Point] = c.Digest
	}
	return HangLabels{labels}
}

// RecordPassing says that a point was found to let something through when shut. No plan uses it until a repair is
// recorded.
type RecordPassing struct {
	Point isolation.NodeID `json:"point"`
	Words string           `json:"words"`
}

// Kind says which act this is.
func (RecordPassing) Kind() Kind { return KindRecordPassing }

func (RecordPassing) rule() rule {
	return unsignedBy("record a passing point", Technician, ChiefEngineer, Officer)
}

func (a RecordPassing) tell(Names, Entry) string { return string(a.Point) + " leaks: " + a.Words }

func (a RecordPassing) touches(Permit) Touched { return Touched{Points: []isolation.NodeID{a.Point}} }

func (a RecordPassing) decideShip(s Setting) error {
	if err := s.knownPoint(a.Point, "record passing"); err != nil {
		return err
	}
	return words("words", a.Words, 3, 500)
}

func (s Setting) knownPoint(point isolation.NodeID, gate string) error {
	if s.Plant == nil || s.Plant.Node(point) == nil {
		return &Refusal{Kind: NotFound, Gate: gate, What: "The plant file in force has no point " + string(point) + "."}
	}
	return nil
}

func (a RecordPassing) applyShip(e Entry, ship *Ship) {
	ship.Passing = with(ship.Passing, a.Point, a.Words)
	ship.FoundPassing = with(ship.FoundPassing, a.Point, e.At)
}

// RecordRepair says that a passing point was repaired and tested, signed by the chief engineer.
type RecordRepair struct {
	Point isolation.NodeID `json:"point"`
	Words string           `json:"words"`
}

// Kind says which act this is.
func (RecordRepair) Kind() Kind { return KindRecordRepair }

func (RecordRepair) rule() rule { return signedBy("record a repair", ChiefEngineer) }

func (a RecordRepair) tell(Names, Entry) string { return string(a.Point) + " was repaired: " + a.Words }

func (a RecordRepair) touches(Permit) Touched { return Touched{Points: []isolation.NodeID{a.Point}} }

func (a RecordRepair) decideShip(s Setting) error {
	if !s.Ship.IsPassing(a.Point) {
		return &Refusal{Kind: NotFound, Gate: "record repair", What: string(a.Point) + " is not recorded as passing."}
	}
	return words("words", a.Words, 3, 500)
}

func (a RecordRepair) applyShip(e Entry, ship *Ship) {
	ship.Repaired = with(ship.Repaired, a.Point, e.At)
	next := with(ship.Passing, a.Point, "")
	delete(next, a.Point)
	ship.Passing = next
}

// short returns the head of a hash, enough to tell files apart.
func short(hash string) string { return hash[:min(len(hash), 12)] }
