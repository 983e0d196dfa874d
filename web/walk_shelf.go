package web

import (
	"html/template"

	"stillwatch/isolation"
)

// stepsKept is how many later forms of walks are kept as they were made: a plan of 25 steps has as many, and they are
// the same for everybody and every permit as long as nothing but the plan's step speaks in them.
const stepsKept = 4096

// stepKey is all that a plain form shows.
type stepKey struct {
	turn                      tagTurn
	n, of                     int
	point                     isolation.NodeID
	name, measure             string
	place                     isolation.Place
	kind                      isolation.Kind
	phase                     isolation.Phase
	position, clearance, left isolation.Position
	lock                      bool
}

func (f stepForm) key() stepKey {
	s := f.V.Lock.Step
	return stepKey{f.V.Turn, s.N, f.V.Of, s.Point, s.Name, s.Measure, s.Place, s.Kind, s.Phase, s.Position, s.Clearance,
		f.V.Leave, s.Lock}
}

// isPlain reports whether a form says nothing but what the plan says.
func (f stepForm) isPlain() bool {
	return !f.V.Barred && f.V.Words == "" && f.V.LeaveWhy == "" && len(f.V.Others) == 0 && !f.V.Labelled
}

// keepSteps puts into forms what is kept of them, and keeps what is not yet.
func (s *Server) keepSteps(forms []stepForm) error {
	if s.cfg.Dev { // the template may have been changed since
		return nil
	}
	for i := range forms {
		f := &forms[i]
		if !f.isPlain() {
			continue
		}
		var err error
		f.Kept, err = s.steps.get(f.key(), func() (template.HTML, error) {
			text, err := s.screens.writePart("walk_show", "walk-later", *f)
			return template.HTML(text), err
		})
		if err != nil {
			return err
		}
	}
	return nil
}
