package web

import (
	"html/template"
	"sync"

	"stillwatch/isolation"
)

// stepShelf keeps the later forms of walks as they were made: a plan of 25 steps has as many, and they are the same for
// everybody and every permit as long as nothing but the plan's step speaks in them.
type stepShelf struct {
	mu   sync.Mutex
	kept map[stepKey]template.HTML
}

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
	return stepKey{f.V.Turn, s.N, f.V.Of, s.Point, s.Name, s.Measure, s.Place, s.Kind, s.Phase, s.Position, s.Clearance, f.V.Leave, s.Lock}
}

// stepsMost is how many forms are kept; when there are more all go.
const stepsMost = 4096

// isPlain reports whether a form says nothing but what the plan says.
func (f stepForm) isPlain() bool {
	return !f.V.Barred && f.V.Words == "" && f.V.LeaveWhy == "" && len(f.V.Others) == 0 && !f.V.Labelled
}

// keep puts into forms what is kept of them, and keeps what is not yet.
func (k *stepShelf) keep(s *screens, forms []stepForm) error {
	if s.dev { // the template may have been changed since
		return nil
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	for i := range forms {
		f := &forms[i]
		if !f.isPlain() {
			continue
		}
		key := f.key()
		made, ok := k.kept[key]
		if !ok {
			text, err := s.writePart("walk_show", "walk-later", *f)
			if err != nil {
				return err
			}
			if made = template.HTML(text); k.kept == nil || len(k.kept) >= stepsMost {
				k.kept = map[stepKey]template.HTML{}
			}
			k.kept[key] = made
		}
		f.Kept = made
	}
	return nil
}
