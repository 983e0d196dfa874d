package web

import "sync"

// madeOnce keeps what is costly to make under a key that names everything it depends on, so that what is kept is never
// stale. When it is full all goes.
type madeOnce[K comparable, V any] struct {
	room int
	mu   sync.Mutex
	kept map[K]V
}

// get returns what is kept under a key, or makes and keeps it. What could not be made is not kept.
func (s *madeOnce[K, V]) get(key K, making func() (V, error)) (V, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if v, ok := s.kept[key]; ok {
		return v, nil
	}
	v, err := making()
	if err != nil {
		return v, err
	}
	if s.kept == nil || len(s.kept) >= s.room {
		s.kept = map[K]V{}
	}
	s.kept[key] = v
	return v, nil
}
