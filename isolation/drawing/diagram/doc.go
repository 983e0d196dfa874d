// Package diagram draws plants and plans as line diagrams: which sources of energy there are, which points keep them
// from the work and in which position they are held, what is isolated (shaded), and where it is drained and vented.
//
// It knows the nouns of package isolation and how to place strokes in millimetres. It must not know permits, people,
// pages or papers: a Drawing is a plain list of strokes that anybody can put on a screen (Drawing.SVG) or a sheet.
// Nothing on a drawing is told by colour alone: every position is a shape and a word, the isolated part is shaded and
// hatched at its edge, and a line that can bring energy is heavier than one that cannot.
//
// Begin with Of (one plan, narrow enough for a phone), Sheet (the same in two columns for a page), Plant (all of it)
// and Mimic (the plant about one isolation, as it stands now).
package diagram
