package screens

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// PointsPage lists the points of the plant.
type PointsPage struct {
	Frame
	Groups   []pointGroup
	Text     string
	MayLabel bool
	TickAll  bool // every point shown is ticked for a label
	NoPlant  bool
}

// pointGroup is the points of one place; those of other places are folded away.
type pointGroup struct {
	Place         string
	Points        []pointLine
	Held, Passing int
	Open          bool
	at            isolation.Place
}

type pointLine struct {
	Node     *isolation.Node
	Labelled bool
	Passing  bool
	On       []permits.Holding
}

// FewPoints is how many points are listed without folding any away.
const FewPoints = 12

// framesAGroup is how many frames lie in one group: a few steps' walk.
const framesAGroup = 10

// PointGroups puts points together by deck, side and a few frames, the uppermost deck first, from aft forward.
func PointGroups(list []pointLine, sought bool) []pointGroup {
	var out []pointGroup
	for _, l := range list {
		place := l.Node.Place
		name := "No place given"
		if !place.IsZero() {
			aft := place.Frame / framesAGroup * framesAGroup
			name = fmt.Sprintf("Deck %d, frames %d–%d, %s", place.Deck, aft, aft+framesAGroup-1, place.Side)
		}
		i := slices.IndexFunc(out, func(g pointGroup) bool { return g.Place == name })
		if i < 0 {
			out = append(out, pointGroup{Place: name, at: place, Open: sought || len(list) <= FewPoints})
			i = len(out) - 1
		}
		g := &out[i]
		g.Points = append(g.Points, l)
		if len(l.On) > 0 {
			g.Held++
		}
		if l.Passing {
			g.Passing++
		}
	}
	slices.SortStableFunc(out, func(a, b pointGroup) int {
		return cmp.Or(cmp.Compare(b.at.Deck, a.at.Deck), cmp.Compare(a.at.Frame/framesAGroup, b.at.Frame/framesAGroup),
			strings.Compare(a.at.Side, b.at.Side))
	})
	return out
}

// PointLines returns the points whose id, name or place has the text in it; all for "".
func PointLines(set permits.Setting, text string) []pointLine {
	var out []pointLine
	text = strings.ToLower(text)
	for _, n := range set.Plant.Points() {
		if !strings.Contains(strings.ToLower(n.Label()+" "+n.Place.String()+" "+string(n.Kind)), text) {
			continue
		}
		l := pointLine{Node: n, Labelled: IsLabelled(set, n.ID), Passing: set.Ship.IsPassing(n.ID)}
		l.On = hanging(set.Held.At(n.ID, 0))
		out = append(out, l)
	}
	return out
}
