package web

import (
	"encoding/json"
	"fmt"
	"time"
)

// sessionCodec writes what a session remembers, which are texts, as JSON: read for every request, and at start held
// against the log (holdSessions). scs's own codec learns the form of its data anew each time.
type sessionCodec struct{}

type sessionRecord struct {
	Until  time.Time         `json:"until"`
	Values map[string]string `json:"values"`
}

// Encode writes a session. A value that is no text is an error.
func (sessionCodec) Encode(deadline time.Time, values map[string]any) ([]byte, error) {
	r := sessionRecord{deadline, map[string]string{}}
	for name, value := range values {
		text, ok := value.(string)
		if !ok {
			return nil, fmt.Errorf("keep %s in a session: a %T is no text", name, value)
		}
		r.Values[name] = text
	}
	return json.Marshal(r)
}

// Decode reads what Encode wrote.
func (sessionCodec) Decode(b []byte) (deadline time.Time, values map[string]any, err error) {
	var r sessionRecord
	if err := json.Unmarshal(b, &r); err != nil {
		return time.Time{}, nil, fmt.Errorf("read a session: %w", err)
	}
	values = make(map[string]any, len(r.Values))
	for name, text := range r.Values {
		values[name] = text
	}
	return r.Until, values, nil
}
