package plantfile

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml/ast"

	"github.com/goccy/go-yaml/token"
	"stillwatch/isolation"
)

// entry is one group of keys of a file: a node, a link, a rule. Its reading methods note what is wrong in the report
// and give the zero value then; done refuses every key that nobody read.
type entry struct {
	r      *report
	what   string // how sentences name it: "node S1-V1"
	at     token.Position
	order  []string
	values map[string]ast.Node
	keys   map[string]token.Position
	read   map[string]bool
}

// newEntry takes a mapping apart, or notes that there is none and returns nil.
func newEntry(r *report, what string, n ast.Node) *entry {
	m, ok := n.(ast.MapNode)
	if !ok {
		p := placeOf(n)
		r.refuse(p.Line, p.Column, "%s: keys and values in braces or below one another are wanted here, not %s", what,
			shapeOf(n))
		return nil
	}
	e := &entry{r: r, what: what, at: placeOf(n), values: map[string]ast.Node{}, keys: map[string]token.Position{},
		read: map[string]bool{}}
	for it := m.MapRange(); it.Next(); {
		t := it.Key().GetToken()
		e.order = append(e.order, t.Value)
		e.values[t.Value], e.keys[t.Value] = it.Value(), *t.Position
	}
	return e
}

// refuse notes a fault at a key's value, or at the entry if it has no such key.
func (e *entry) refuse(key, format string, args ...any) {
	p := e.at
	if v := e.values[key]; v != nil {
		p = placeOf(v)
	}
	e.r.refuse(p.Line, p.Column, e.what+": "+format, args...)
}

// has reports whether the entry states a key, and marks it as read. A key without a value is refused.
func (e *entry) has(key string) bool {
	v, ok := e.values[key]
	if !ok {
		return false
	}
	seen := e.read[key]
	e.read[key] = true
	if _, null := v.(*ast.NullNode); null || v == nil {
		if !seen {
			p := e.keys[key]
			e.r.refuse(p.Line, p.Column, "%s: %s has no value; leave the key out if there is nothing to say", e.what, key)
		}
		return false
	}
	return true
}

// text returns a key's words, trimmed, "" if it is not stated.
func (e *entry) text(key string) string {
	if !e.has(key) {
		return ""
	}
	s, ok := scalarText(e.values[key])
	if !ok {
		e.refuse(key, "%s wants words, not %s", key, shapeOf(e.values[key]))
		return ""
	}
	if s == "" {
		e.refuse(key, "%s is empty; leave the key out if there is nothing to say", key)
	}
	if fault := textFault(s); fault != "" {
		e.refuse(key, "%s %s", key, fault)
		return ""
	}
	return s
}

// textFault says what makes words unfit for a label or a paper. Control characters can come in by an escape.
func textFault(s string) string {
	if utf8.RuneCountInString(s) > longestText {
		return fmt.Sprintf("has more than %d characters", longestText)
	}
	for _, c := range s {
		if (c < ' ' && c != '\n') || (c >= 0x7f && c < 0xa0) || c == utf8.RuneError || isBidiControl(c) {
			return fmt.Sprintf("has the character %U in it, which shows nothing", c)
		}
	}
	return ""
}

// required returns a key's words and notes that they are missing.
func (e *entry) required(key string) string {
	s := e.text(key)
	if _, stated := e.values[key]; !stated {
		e.refuse("", "%s is missing", key)
	}
	return s
}

const longestText = 2000

// scalarText returns a value as it is written. Numbers and true/false are words too where words are wanted: an id may
// be 12.
func scalarText(n ast.Node) (string, bool) {
	switch v := n.(type) {
	case *ast.StringNode:
		return strings.TrimSpace(v.Value), true
	case *ast.LiteralNode:
		if v.Value == nil {
			return "", true
		}
		return strings.TrimSpace(v.Value.Value), true
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode:
		return strings.TrimSpace(n.GetToken().Value), true
	}
	return "", false
}

// number returns a key's figure within its bound; given is false where it is not stated or refused.
func (e *entry) number(key string) (figure float64, given bool) {
	if !e.has(key) {
		return 0, false
	}
	return e.figure(key, e.values[key], bounds[key])
}

// figure reads one number and holds it against a bound.
func (e *entry) figure(key string, n ast.Node, b bound) (float64, bool) {
	p := placeOf(n)
	say := func(format string, args ...any) (float64, bool) {
		e.r.refuse(p.Line, p.Column, e.what+": "+key+" "+format, args...)
		return 0, false
	}
	s, ok := scalarText(n)
	switch n.(type) {
	case *ast.InfinityNode, *ast.NanNode:
		return say("is not a number that can be measured")
	}
	x, good := parseDecimal(s)
	switch {
	case !ok:
		return say("wants one number, not %s", shapeOf(n))
	case !good:
		return say("%q is not a plain number%s", shorten(s), b.inUnit())
	case x < b.low || (x == b.low && b.above) || x > b.high:
		return say("%s is out of reach: %s", s, b.words())
	}
	return x, true
}

// parseDecimal reads digits with an optional sign, decimal point and exponent; no hexadecimal, no underscores, no
// leading zeros (010 would be eight to some readers of YAML), nothing that is not finite.
func parseDecimal(s string) (float64, bool) {
	digits := strings.TrimLeft(s, "+-")
	if strings.Trim(s, "0123456789.+-eE") != "" || digits == "" ||
		(len(digits) > 1 && digits[0] == '0' && digits[1] >= '0' && digits[1] <= '9') {
		return 0, false
	}
	x, err := strconv.ParseFloat(s, 64)
	return x, err == nil && !math.IsInf(x, 0) && !math.IsNaN(x)
}

// whole returns a key's figure as a whole number.
func (e *entry) whole(key string) (int, bool) {
	x, ok := e.number(key)
	if ok && x != math.Trunc(x) {
		e.refuse(key, "%s wants a whole number, not %v", key, x)
		return 0, false
	}
	return int(x), ok
}

// flag returns a true or false.
func (e *entry) flag(key string) (is, given bool) {
	if !e.has(key) {
		return false, false
	}
	b, ok := e.values[key].(*ast.BoolNode)
	if !ok {
		e.refuse(key, "%s wants true or false, not %s", key, shapeOf(e.values[key]))
		return false, false
	}
	return b.Value, true
}

// items returns the members of a key's list; a single value counts as a list of one.
func (e *entry) items(key string) []ast.Node {
	if !e.has(key) {
		return nil
	}
	switch v := e.values[key].(type) {
	case *ast.SequenceNode:
		return v.Values
	case ast.MapNode:
		e.refuse(key, "%s wants a list, not a group of keys", key)
		return nil
	}
	return []ast.Node{e.values[key]}
}

// word is one member of a list of words, with its place.
type word struct {
	text string
	at   token.Position
}

// words returns a key's list of words, or a single word as a list of one. Empty and repeated ones are refused.
func (e *entry) words(key string) []word {
	var out []word
	seen := map[string]bool{}
	for _, n := range e.items(key) {
		p := placeOf(n)
		s, ok := scalarText(n)
		switch {
		case !ok || s == "":
			e.r.refuse(p.Line, p.Column, "%s: %s wants words in its list, not %s", e.what, key, shapeOf(n))
		case textFault(s) != "":
			e.r.refuse(p.Line, p.Column, "%s: %s %s", e.what, key, textFault(s))
		case seen[s]:
			e.r.refuse(p.Line, p.Column, "%s: %s names %q twice", e.what, key, shorten(s))
		default:
			seen[s] = true
			out = append(out, word{s, p})
		}
	}
	return out
}

// texts returns the words of a list without their places.
func (e *entry) texts(key string) []string {
	var out []string
	for _, w := range e.words(key) {
		out = append(out, w.text)
	}
	return out
}

// done refuses every key that was not read; known are the keys that such an entry may have.
func (e *entry) done(known ...string) {
	for _, k := range e.order {
		if e.read[k] {
			continue
		}
		p := e.keys[k]
		more := ""
		if _, number := parseDecimal(k); number {
			more = "; write decimals with a point, not a comma"
		} else if !e.r.full() {
			more = offerOrList(k, known)
		}
		e.r.refuse(p.Line, p.Column, "%s: unknown key %q%s", e.what, shorten(k), more)
	}
}

// bound is the range that a figure may have; above says that the low end itself is out.
type bound struct {
	low, high float64
	above     bool
	unit      string
}

func (b bound) inUnit() string {
	if b.unit == "" {
		return ""
	}
	return "; write the figure alone, in " + b.unit
}

func (b bound) words() string {
	from := "from "
	if b.above {
		from = "above "
	}
	return strings.TrimSpace(from + strconv.FormatFloat(b.low, 'f', -1, 64) + " to " +
		strconv.FormatFloat(b.high, 'f', -1, 64) + " " + b.unit)
}

// bounds are the figures that a ship's machinery can have, wide enough for any ship: common sense, no source. The low
// ends of temperature and pressure are absolute zero and a perfect vacuum.
var bounds = map[string]bound{
	"gauge_bar":      {-1.01325, 3000, false, "bar gauge"},
	"limit_c":        {30, 500, false, "°C"},
	"lifts_bar":      {0, 3000, true, "bar"},
	"minutes":        {0, 7 * 24 * 60, false, "minutes"},
	"temp_c":         {-273.15, 2000, false, "°C"},
	"volt":           {0, 100_000, false, "V"},
	"elevation_m":    {-20, 120, false, "m above the base line"},
	"top_m":          {-20, 120, false, "m above the base line"},
	"invert_m":       {-20, 120, false, "m above the base line"},
	"volume_l":       {0, 50_000_000, true, "litres"},
	"bore_mm":        {0, 4000, true, "mm"},
	"length_m":       {0, 2000, false, "m"},
	"awkward":        {0, 9, false, ""},
	"deck":           {-5, 60, false, ""},
	"frame":          {-50, 2000, false, ""},
	"density_15":     {0, 3000, true, "kg/m³"},
	"at":             {-100, 500, false, "°C"},
	"cst":            {0, 1_000_000, true, "cSt"},
	"tension":        {0, 0.2, true, "N/m (not mN/m)"},
	"speed_rpm":      {0, 200_000, true, "rpm"},
	"coast_down_s":   {0, 86_400, true, "s"},
	"mass_kg":        {0, 5_000_000, true, "kg"},
	"area_m2":        {0, 100_000, true, "m²"},
	"ambient_c":      {-60, 90, false, "°C"},
	"contact_s":      {0, 28_800, true, "s"},
	"precharge_bar":  {0, 3000, false, "bar gauge"},
	"resistance_ohm": {0, 1e12, true, "ohm"},
	"capacitance_uf": {0, 1e9, true, "µF"},
	"above_bar":      {0, 3000, false, "bar gauge"},
	"above_c":        {-273.15, 2000, false, "°C"},
	"above_volt":     {0, 100_000, false, "V"},
	"above_bore_mm":  {0, 4000, false, "mm"},
	"period_h":       {0, 24 * 7, true, "hours"},
	"limit_ppm":      {0, 10_000, true, "ppm"},
	"air_every_min":  {0, isolation.DefaultAirEveryMin, true, "minutes"},
	"air_break_min":  {0, isolation.DefaultAirBreakMin, true, "minutes"},
}
