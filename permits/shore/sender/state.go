package sender

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"
)

const stateFile = "shore.json"

// State is what the shore said last.
type State struct {
	Shore string    `json:"shore"` // its address
	Ship  string    `json:"ship"`  // name under which the ship is enrolled
	Size  int64     `json:"size"`  // entries ashore
	Head  string    `json:"head"`  // of so many, signed by the ship
	At    time.Time `json:"at"`    // when it answered
	Words string    `json:"words"` // what it has against the log; "": nothing
}

// ReadState returns what the shore said last to the ship of a data folder; known is false if it never answered.
func ReadState(dir string) (s State, known bool, err error) {
	text, err := os.ReadFile(filepath.Join(dir, stateFile))
	if errors.Is(err, fs.ErrNotExist) {
		return s, false, nil
	}
	if err == nil {
		err = json.Unmarshal(text, &s)
	}
	if err != nil {
		return s, false, fmt.Errorf("read what the shore said last, in %s: %w", stateFile, err)
	}
	return s, true, nil
}

// write puts the state in place of the one before, whole or not at all.
func (s State) write(dir string) error {
	text, err := json.Marshal(s)
	if err != nil {
		return err
	}
	name := filepath.Join(dir, stateFile)
	if err := os.WriteFile(name+".new", append(text, '\n'), 0o600); err != nil {
		return err
	}
	return os.Rename(name+".new", name)
}
