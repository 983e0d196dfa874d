package plantfile

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/goccy/go-yaml/ast"

	"stillwatch/isolation"
)

// Amendable are the keys of a node that Amend changes: what people see at the point and what can be put on it. What
// decides how energy flows is changed in the file itself. The words of a place are those of PlaceWords.
var Amendable = []string{"name", "place", "lockable", "measure"}

// PlaceWords returns a place as a value for Amend.
func PlaceWords(p isolation.Place) string {
	words := fmt.Sprintf("deck: %d, frame: %d", p.Deck, p.Frame)
	if p.Side != "" {
		words += ", side: " + p.Side
	}
	return words
}

// ErrAmend is wrapped by the errors of Amend for a text in which the change cannot be made safely.
var ErrAmend = errors.New("change it in the plant file itself")

// Amend returns the plant with keys of one node set to new words, its text otherwise byte for byte as it was. A key
// with "" for words is left as it is. It reads the new text back, and returns it only if nothing but the keys asked for
// is another; an error wraps ErrAmend, or *FileErrors where the new words make no sound plant.
func Amend(p *isolation.Plant, id isolation.NodeID, set map[string]string) (*isolation.Plant, error) {
	text := p.Text
	for _, key := range Amendable {
		words := set[key]
		if words == "" {
			continue
		}
		var err error
		if text, err = amendKey(text, id, key, words); err != nil {
			return nil, err
		}
	}
	out, err := Read("plant.yaml", text)
	if err != nil {
		return nil, err
	}
	for _, d := range Differences(p, out) {
		foreign := slices.ContainsFunc(d.Changes, func(c Change) bool { return set[c.Key] == "" || c.After != set[c.Key] })
		if d.Of != "node" || d.ID != string(id) || d.Fate != Changed || foreign {
			return nil, fmt.Errorf("the change of %s would change more: %s: %w", id, d, ErrAmend)
		}
	}
	return out, nil
}

// amendKey sets one key of a node in a plant file's text.
func amendKey(text []byte, id isolation.NodeID, key, words string) ([]byte, error) {
	node := nodeNamed(text, id)
	if node == nil {
		return nil, fmt.Errorf("the plant file has no node %s: %w", id, ErrAmend)
	}
	lines := strings.SplitAfter(string(text), "\n")
	written := written(key, words)
	if v := node.values[key]; v != nil {
		from, to, err := spanOf(lines, v)
		if err != nil {
			return nil, fmt.Errorf("%s of %s: %w", key, id, err)
		}
		line := []rune(lines[placeOf(v).Line-1])
		lines[placeOf(v).Line-1] = string(line[:from]) + written + string(line[to:])
		return []byte(strings.Join(lines, "")), nil
	}
	at := node.values["id"]
	_, end, err := spanOf(lines, at)
	if err != nil {
		return nil, fmt.Errorf("id of %s: %w", id, err)
	}
	n := placeOf(at).Line - 1
	line := []rune(lines[n])
	between := ", "
	if !node.braces {
		between = "\n" + strings.Repeat(" ", node.keys["id"].Column-1)
	}
	lines[n] = string(line[:end]) + between + key + ": " + written + string(line[end:])
	return []byte(strings.Join(lines, "")), nil
}

// written returns words as a value of YAML, which reads every JSON string.
func written(key, words string) string {
	switch key {
	case "lockable":
		return words
	case "place":
		return "{" + words + "}"
	}
	text, err := json.Marshal(words)
	if err != nil {
		panic(err) // a string always has a form
	}
	return string(text)
}

// placedNode is a node with where its keys stand.
type placedNode struct {
	*entry
	braces bool // written as {id: V1, …}
}

func nodeNamed(text []byte, id isolation.NodeID) *placedNode {
	r := newReport("", text)
	root := parseYAML(r, text)
	if root == nil {
		return nil
	}
	for _, n := range newEntry(r, "", root).items("nodes") {
		e := newEntry(r, "", n)
		if e == nil {
			continue
		}
		if s, _ := scalarText(e.values["id"]); s == string(id) {
			m, isMapping := n.(*ast.MappingNode)
			return &placedNode{e, isMapping && m.IsFlowStyle}
		}
	}
	return nil
}

// spanOf returns from which to which character of its line a value stands: a plain one, or one in braces. Only a value
// on one line has a span.
func spanOf(lines []string, v ast.Node) (from, to int, err error) {
	line := []rune(strings.TrimRight(lines[placeOf(v).Line-1], "\r\n"))
	if m, ok := v.(*ast.MappingNode); ok && m.IsFlowStyle && m.Start.Position.Line == m.End.Position.Line {
		return m.Start.Position.Column - 1, m.End.Position.Column, nil
	}
	raw := []rune(strings.TrimSpace(v.GetToken().Origin))
	from = placeOf(v).Column - 1
	to = from + len(raw)
	if _, plain := scalarText(v); !plain || from < 0 || to > len(line) || string(line[from:to]) != string(raw) {
		return 0, 0, fmt.Errorf("it stands on more than one line: %w", ErrAmend)
	}
	return from, to, nil
}
