package plantfile

import "github.com/goccy/go-yaml/token"

const (
	deepestFlow = 12  // brackets inside brackets; the format needs four
	deepestDash = 4   // list dashes on one line
	deepestLine = 81  // column at which the first word of a line may stand
	mostKeys    = 500 // in one group: the parser's time grows with their square
)

// tokenGuard watches the tokens of a file go by, before anything builds a tree of them.
type tokenGuard struct {
	line, dashes int
	flow         []int // keys so far in each open bracket
	block        []struct{ column, keys int }
}

// fault returns what is wrong at a token, in words, or "".
func (g *tokenGuard) fault(t *token.Token) string {
	p := t.Position
	if p.Line != g.line {
		g.line, g.dashes = p.Line, 0
		if p.Column > deepestLine {
			return "the lines are indented too deeply"
		}
	}
	switch t.Type {
	case token.AnchorType, token.AliasType, token.MergeKeyType:
		return "anchors and aliases (& * <<) are not used here: write the value out"
	case token.TagType, token.DirectiveType:
		return "tags and directives (! %) are not used here"
	case token.MappingKeyType:
		return "a key is plain text, without a question mark"
	case token.MappingStartType, token.SequenceStartType:
		if g.flow = append(g.flow, 0); len(g.flow) > deepestFlow {
			return "too many brackets inside brackets"
		}
	case token.MappingEndType, token.SequenceEndType:
		g.flow = g.flow[:max(0, len(g.flow)-1)]
	case token.SequenceEntryType:
		g.leave(p.Column)
		if g.dashes++; g.dashes > deepestDash {
			return "too many list dashes on one line"
		}
	case token.MappingValueType:
		if g.key(t) > mostKeys {
			return "too many keys in one group"
		}
	}
	return ""
}

// key counts one more key in the innermost group and returns how many it has.
func (g *tokenGuard) key(t *token.Token) int {
	if n := len(g.flow); n > 0 {
		g.flow[n-1]++
		return g.flow[n-1]
	}
	column := t.Position.Column
	if t.Prev != nil && t.Prev.Position != nil {
		column = t.Prev.Position.Column
	}
	g.leave(column)
	if n := len(g.block); n == 0 || g.block[n-1].column < column {
		g.block = append(g.block, struct{ column, keys int }{column, 0})
	}
	in := &g.block[len(g.block)-1]
	in.keys++
	return in.keys
}

// leave forgets the groups that are indented more than a column: they have ended.
func (g *tokenGuard) leave(column int) {
	for n := len(g.block); n > 0 && g.block[n-1].column > column; n-- {
		g.block = g.block[:n-1]
	}
}
