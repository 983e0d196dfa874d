package web

import (
	"bytes"
	"html/template"

	"stillwatch/isolation"
	"stillwatch/isolation/diagram"
)

// diagramView is one drawing of a plan: narrow for a phone, or in two columns for a desk. The style sheet shows one.
type diagramView struct {
	Class string
	SVG   template.HTML // made by package diagram, which escapes every word; the only HTML that no template makes
}

// diagramsOf draws a plan. What cannot be drawn is left out: the tables beside it say the same.
func diagramsOf(plant *isolation.Plant, plan *isolation.Plan) []diagramView {
	var out []diagramView
	for _, d := range []struct {
		class string
		draw  func(*isolation.Plant, *isolation.Plan) diagram.Drawing
	}{{"slim", diagram.Of}, {"broad", diagram.Sheet}} {
		var b bytes.Buffer
		if err := d.draw(plant, plan).SVG(&b, diagram.Options{ID: "dg-" + d.class}); err != nil {
			continue
		}
		out = append(out, diagramView{d.class, template.HTML(b.String())})
	}
	return out
}
