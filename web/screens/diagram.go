package screens

import (
	"bytes"
	"html/template"

	"stillwatch/isolation"
	"stillwatch/isolation/drawing/diagram"
)

// diagramView is one drawing of a plan: narrow for a phone, or for a desk. The style sheet shows one.
type diagramView struct {
	Class string
	// made by package diagram, which escapes every word; the only HTML but charts that no template makes
	SVG template.HTML
}

// diagramsOf draws a plan. What cannot be drawn is left out: the tables beside it say the same.
func diagramsOf(plant *isolation.Plant, plan *isolation.Plan) []diagramView {
	var out []diagramView
	slim, broad := diagram.Of(plant, plan), diagram.Sheet(plant, plan)
	kind := "broad"
	if !UsesBothColumns(broad) {
		broad, kind = slim, "broad one" // half the card would stay empty
	}
	for _, d := range []struct {
		id, class string
		drawing   diagram.Drawing
	}{{"slim", "slim", slim}, {"broad", kind, broad}} {
		var b bytes.Buffer
		if err := d.drawing.SVG(&b, diagram.Options{ID: "dg-" + d.id}); err != nil || len(d.drawing.Ops) == 0 {
			continue
		}
		out = append(out, diagramView{d.class, template.HTML(b.String())})
	}
	return out
}

// UsesBothColumns reports whether something beside the key, which is words and a few marks at the top, is drawn in the
// right half of a sheet.
func UsesBothColumns(d diagram.Drawing) bool {
	n := 0
	for _, op := range d.Ops {
		if leftOf(op) > d.W/2 {
			n++
		}
	}
	return n > len(d.Ops)/5
}

// leftOf returns where a stroke begins.
func leftOf(op diagram.Op) float64 {
	switch o := op.(type) {
	case diagram.Line:
		return min(o.X1, o.X2)
	case diagram.Circle:
		return o.X - o.R
	case diagram.Text:
		return o.X
	case diagram.Polyline:
		return leftmost(o.Points)
	case diagram.Polygon:
		return leftmost(o.Points)
	}
	return 0
}

func leftmost(points []diagram.Point) float64 {
	if len(points) == 0 {
		return 0
	}
	x := points[0].X
	for _, p := range points {
		x = min(x, p.X)
	}
	return x
}
