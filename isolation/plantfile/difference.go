package plantfile

import (
	"fmt"
	"slices"
	"strings"

	"github.com/goccy/go-yaml/ast"

	"stillwatch/isolation"
)

// Fate says what became of an entry of a plant file from one file to the next.
type Fate string

// The fates.
const (
	Added   Fate = "added"
	Removed Fate = "removed"
	Changed Fate = "changed"
)

// Difference is one entry that is not the same in two plant files: a node, link, machine, job or fluid.
type Difference struct {
	Of      string // "node", "link", "machine", "job", "fluid", or "plant" for the title
	ID      string // as the file has it; of a link its two ends
	Fate    Fate
	Changes []Change // of what was changed, in the order of the keys in the later file
}

// Change is one key whose value is another; "" stands for a key that is not there.
type Change struct{ Key, Before, After string }

// Nodes returns the nodes that the difference is about: the node itself, or the two ends of a link.
func (d Difference) Nodes() []isolation.NodeID {
	switch d.Of {
	case "node":
		return []isolation.NodeID{isolation.NodeID(d.ID)}
	case "link":
		ends, _, _ := strings.Cut(d.ID, " (")
		a, b, _ := strings.Cut(ends, " – ")
		return []isolation.NodeID{isolation.NodeID(a), isolation.NodeID(b)}
	}
	return nil
}

// String says the difference in one line: `node S1-V1 changed: name "Inlet" becomes "Oil inlet"`.
func (d Difference) String() string {
	parts := make([]string, len(d.Changes))
	for i, c := range d.Changes {
		parts[i] = c.String()
	}
	words := strings.Join(strings.Fields(d.Of+" "+d.ID), " ") + " " + string(d.Fate)
	if len(parts) > 0 {
		words += ": " + strings.Join(parts, ", ")
	}
	return words
}

// String says the change in words.
func (c Change) String() string {
	switch {
	case c.Before == "":
		return fmt.Sprintf("%s is now %q", c.Key, c.After)
	case c.After == "":
		return fmt.Sprintf("%s is no longer there, it was %q", c.Key, c.Before)
	}
	return fmt.Sprintf("%s %q becomes %q", c.Key, c.Before, c.After)
}

// Differences returns what is not the same in two plants, by the words of their files: what was removed in the order of
// the first, then what was changed or added in the order of the second. Remarks, blanks and the order of entries are no
// difference. A value that is said where it was left to its default counts as one. before may be nil: all is new then.
func Differences(before, after *isolation.Plant) []Difference {
	old, now := entriesOf(before), entriesOf(after)
	var out []Difference
	for _, was := range old.list {
		if _, there := now.at[was.name()]; !there {
			out = append(out, Difference{Of: was.of, ID: was.id, Fate: Removed})
		}
	}
	for _, is := range now.list {
		i, there := old.at[is.name()]
		if !there {
			out = append(out, Difference{Of: is.of, ID: is.id, Fate: Added})
			continue
		}
		if changes := old.list[i].changes(is); len(changes) > 0 {
			out = append(out, Difference{Of: is.of, ID: is.id, Fate: Changed, Changes: changes})
		}
	}
	return out
}

// fileEntry is one entry of a plant file by its words.
type fileEntry struct {
	of, id string
	keys   []string
	values map[string]string
}

func (e fileEntry) name() string { return e.of + " " + e.id }

func (e fileEntry) changes(now fileEntry) []Change {
	var out []Change
	for _, k := range now.keys {
		if e.values[k] != now.values[k] {
			out = append(out, Change{k, e.values[k], now.values[k]})
		}
	}
	for _, k := range e.keys {
		if _, there := now.values[k]; !there {
			out = append(out, Change{k, e.values[k], ""})
		}
	}
	return out
}

// fileEntries are the entries of a file, found by their names.
type fileEntries struct {
	list []fileEntry
	at   map[string]int
}

func (f *fileEntries) add(e fileEntry) {
	id := e.id
	for n := 2; ; n++ { // two pipes may join the same two nodes
		if _, there := f.at[e.name()]; !there {
			break
		}
		e.id = fmt.Sprintf("%s (%d)", id, n)
	}
	f.at[e.name()] = len(f.list)
	f.list = append(f.list, e)
}

// entriesOf reads the text of a plant, which was read before and so has no faults.
func entriesOf(p *isolation.Plant) *fileEntries {
	out := &fileEntries{at: map[string]int{}}
	if p == nil {
		return out
	}
	root, ok := parseYAML(newReport("", p.Text), p.Text).(ast.MapNode)
	if !ok {
		return out
	}
	for it := root.MapRange(); it.Next(); {
		switch key, v := it.Key().GetToken().Value, it.Value(); key {
		case "plant":
			out.add(fileEntry{of: "plant", keys: []string{"title"}, values: map[string]string{"title": wordsOf(v)}})
		case "fluids":
			if fluids, ok := v.(ast.MapNode); ok {
				for f := fluids.MapRange(); f.Next(); {
					out.add(entryOf("fluid", f.Key().GetToken().Value, f.Value()))
				}
			}
		default:
			if list, ok := v.(*ast.SequenceNode); ok && singular[key] != "" {
				for _, n := range list.Values {
					out.add(entryOf(singular[key], "", n))
				}
			}
		}
	}
	return out
}

// entryOf reads one entry; without a name it goes by its id, a link by its ends.
func entryOf(of, id string, n ast.Node) fileEntry {
	e := fileEntry{of: of, id: id, values: map[string]string{}}
	if m, ok := n.(ast.MapNode); ok {
		for it := m.MapRange(); it.Next(); {
			k := it.Key().GetToken().Value
			e.keys = append(e.keys, k)
			e.values[k] = wordsOf(it.Value())
		}
	}
	switch {
	case id != "":
	case of == "link":
		e.id = e.values["a"] + " – " + e.values["b"]
	default:
		e.id = e.values["id"]
	}
	return e
}

// wordsOf writes a value the same way whether it stands in braces or below one another, keys in order.
func wordsOf(n ast.Node) string {
	switch v := n.(type) {
	case ast.MapNode:
		var parts []string
		for it := v.MapRange(); it.Next(); {
			parts = append(parts, it.Key().GetToken().Value+": "+wordsOf(it.Value()))
		}
		slices.Sort(parts)
		return strings.Join(parts, ", ")
	case *ast.SequenceNode:
		parts := make([]string, len(v.Values))
		for i, one := range v.Values {
			parts[i] = wordsOf(one)
		}
		return strings.Join(parts, "; ")
	}
	s, _ := scalarText(n)
	return s
}
