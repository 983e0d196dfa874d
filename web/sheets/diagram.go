package sheets

import (
	"stillwatch/isolation"
	"stillwatch/isolation/drawing/diagram"
	"stillwatch/permits/paper"
	"stillwatch/web/screens"
)

// Diagram draws a plan for the printer; nil where the plant is not the one that the plan was made from.
func Diagram(plant *isolation.Plant, plan *isolation.Plan) *paper.Drawing {
	if plant.SHA256 != plan.PlantSHA256 {
		return nil
	}
	d := diagram.Sheet(plant, plan)
	if !screens.UsesBothColumns(d) {
		d = diagram.Of(plant, plan)
	}
	d = d.Plain()
	if d.W <= 0 || d.H <= 0 {
		return nil
	}
	out := &paper.Drawing{Title: d.Title, Width: d.W, Height: d.H}
	for _, op := range d.Ops {
		if stroke := paperStroke(op); stroke != nil {
			out.Ops = append(out.Ops, stroke)
		}
	}
	return out
}

// heavyMM is from which width on a line is drawn heavy on paper: what can bring energy, and the line to what is opened.
const heavyMM = 0.7

// middleAbove is how far the middle of capitals lies above the base line, in heights of the type.
const middleAbove = 0.35

// paperLine is how high a line of words is on paper, in heights of its type; there sizes are those of lines.
const paperLine = 1.22

// paperStroke turns one stroke of a plain drawing into the paper's.
func paperStroke(op diagram.Op) paper.DrawOp {
	switch o := op.(type) {
	case diagram.Line:
		return paper.Line{X1: o.X1, Y1: o.Y1, X2: o.X2, Y2: o.Y2, Stroke: paperLook(o.Style)}
	case diagram.Polygon:
		corners := make([]paper.Corner, len(o.Points))
		for i, p := range o.Points {
			corners[i] = paper.Corner{X: p.X, Y: p.Y}
		}
		return paper.Polygon{Corners: corners, Fill: o.Style == diagram.Solid || o.Style == diagram.Zone,
			Stroke: paperLook(o.Style)}
	case diagram.Text:
		align := map[diagram.Anchor]paper.Align{diagram.Left: paper.AlignLeft, diagram.Middle: paper.AlignCentre,
			diagram.Right: paper.AlignRight}[o.Anchor]
		return paper.Text{X: o.X, Y: o.Y - middleAbove*o.Size, Size: o.Size * paperLine, Words: o.Words, Align: align,
			Bold: o.Style.Look().Bold}
	}
	return nil
}

func paperLook(s diagram.Style) paper.Stroke {
	look := s.Look()
	return paper.Stroke{Heavy: look.Width >= heavyMM, Dashed: look.Dash > 0, Gray: look.Gray}
}
