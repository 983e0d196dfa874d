package plantfile

import (
	"crypto/sha256"
	_ "embed" // the shipped rules
	"encoding/hex"
	"fmt"
	"slices"
	"strings"
	"sync"

	"github.com/goccy/go-yaml/ast"

	"stillwatch/isolation"
	"stillwatch/isolation/atmosphere"
)

//go:embed rules/shipped.yaml
var shippedText []byte

var shipped = sync.OnceValue(func() *isolation.Rules {
	r, err := ReadRules("rules/shipped.yaml", shippedText)
	if err != nil {
		panic(err) // the file is part of the program; TestShippedRulesAreReadable reads it
	}
	return r
})

// ShippedRules returns the rules that hold where the company brings none of its own. They cite where each comes from.
func ShippedRules() *isolation.Rules { return shipped() }

// ReadRules reads a rules file (YAML, UTF-8, at most MaxFileBytes), with the same care as Read: what is wrong comes
// back as an error that wraps *FileErrors. Every rule must say why. A rule below one that matches everything is
// refused, because it would never hold.
func ReadRules(name string, text []byte) (*isolation.Rules, error) {
	sum := sha256.Sum256(text)
	r := &isolation.Rules{
		MaxPeriodH: isolation.DefaultPeriodH, AirRules: atmosphere.Sets()[0].ID,
		AirEveryMin: isolation.DefaultAirEveryMin, AirBreakMin: isolation.DefaultAirBreakMin,
		SHA256: hex.EncodeToString(sum[:]),
		Text:   append([]byte(nil), text...),
	}
	rep := newReport(name, text)
	if root := parseYAML(rep, text); root != nil {
		load(r, newEntry(rep, "rules file", root))
	}
	if err := rep.err(); err != nil {
		return nil, fmt.Errorf("read rules: %w", err)
	}
	return r, nil
}

// load reads the rules file into r.
func load(r *isolation.Rules, top *entry) {
	for i, n := range top.items("rules") {
		readRule(r, top.r, fmt.Sprintf("rule %d", i+1), n)
	}
	if len(r.Demands) == 0 && len(top.r.errs) == 0 {
		top.refuse("rules", "there are no rules; every source needs one that says how it is cut")
	}
	readOrder(r, top)
	if h, given := top.number("period_h"); given {
		r.MaxPeriodH = h
	}
	r.Countersign = readExposures(top, "countersign")
	readAir(r, top)
	top.done("rules", "order", "period_h", "countersign", "atmosphere", "air_every_min", "air_break_min")
}

// readRule reads one rule.
func readRule(r *isolation.Rules, rep *report, what string, n ast.Node) {
	e := newEntry(rep, what, n)
	if e == nil {
		return
	}
	d := isolation.DemandRule{Line: e.at.Line, Column: e.at.Column}
	d.Energy = readEnergies(e, "energy", e.words("energy"))
	d.Exposure = readExposures(e, "exposure")
	for key, to := range map[string]**float64{
		"above_bar": &d.AboveBar, "above_c": &d.AboveC, "above_volt": &d.AboveVolt, "above_bore_mm": &d.AboveBoreMM,
	} {
		if x, given := e.number(key); given {
			*to = &x
		}
	}
	d.Demand = strings.ToLower(e.required("demand"))
	if d.Demand != "" && !slices.Contains(isolation.Demands, d.Demand) {
		e.refuse("demand", "unknown demand %q%s", shorten(d.Demand), offerOrList(d.Demand, isolation.Demands))
	}
	d.Because = e.required("because")
	e.done("energy", "exposure", "above_bar", "above_c", "above_volt", "above_bore_mm", "demand", "because")
	checkSense(&d, e)
	if k := len(r.Demands); k > 0 && r.Demands[k-1].MatchesAll() {
		e.refuse("", "it never holds: the rule in line %d above it matches everything", r.Demands[k-1].Line)
		return
	}
	r.Demands = append(r.Demands, d)
}

// checkSense refuses a rule that could never hold because its threshold says nothing about its energies.
func checkSense(d *isolation.DemandRule, e *entry) {
	if _, listed := e.values["energy"]; listed && len(d.Energy) == 0 {
		if len(e.items("energy")) == 0 {
			e.refuse("energy", "energy lists nothing; leave the key out for a rule about every energy")
		}
		return
	}
	flows := slices.ContainsFunc(d.Energy, isolation.Energy.Flows)
	if len(d.Energy) > 0 && !flows {
		for _, key := range []string{"above_bar", "above_c", "above_bore_mm"} {
			if _, stated := e.values[key]; stated {
				e.refuse(key, "%s says nothing about %s", key, d.Energy[0])
			}
		}
	}
	if d.AboveVolt == nil {
		return
	}
	if len(d.Energy) > 0 && !slices.Contains(d.Energy, "electrical") {
		e.refuse("above_volt", "above_volt says nothing about %s", d.Energy[0])
	}
	if d.AboveBar != nil || d.AboveC != nil {
		e.refuse("above_volt", "nothing has both volts and a pressure or temperature; the rule would never hold")
	}
}

// readEnergies returns the energies that a list of words means.
func readEnergies(e *entry, key string, list []word) []isolation.Energy {
	var out []isolation.Energy
	for _, w := range list {
		is, ok := isolation.ParseEnergy(w.text)
		if isolation.Hyphened(w.text) == "oil" { // in a rule the word for all oils, not an alias
			is, ok = "oil", true
		}
		if !ok {
			e.r.refuse(w.at.Line, w.at.Column, "%s: unknown energy %q in %s%s", e.what, shorten(w.text), key,
				offerOrList(w.text, isolation.EnergyWords()))
			continue
		}
		out = append(out, is)
	}
	return out
}

// readExposures returns the exposures that a list of words means.
func readExposures(e *entry, key string) []isolation.Exposure {
	var out []isolation.Exposure
	for _, w := range e.words(key) {
		x, ok := parseExposure(w.text)
		if !ok {
			e.r.refuse(w.at.Line, w.at.Column, "%s: unknown exposure %q in %s%s", e.what, shorten(w.text), key,
				offerOrList(w.text, Words(isolation.Exposures())))
			continue
		}
		out = append(out, x)
	}
	if v, is := e.values[key].(*ast.SequenceNode); is && len(v.Values) == 0 {
		e.refuse(key, "%s lists nothing; leave the key out for a rule about every exposure", key)
	}
	return out
}

// readOrder reads the groups of energies that are isolated one after the other. An energy stands in one group at most.
func readOrder(r *isolation.Rules, top *entry) {
	seen := map[isolation.Energy]bool{}
	for i, n := range top.items("order") {
		what := fmt.Sprintf("order: group %d", i+1)
		list := []ast.Node{n}
		if s, ok := n.(*ast.SequenceNode); ok {
			list = s.Values
		}
		g := &entry{r: top.r, what: what}
		var words []word
		for _, m := range list {
			s, ok := scalarText(m)
			p := placeOf(m)
			if !ok || s == "" {
				top.r.refuse(p.Line, p.Column, "%s wants words for energies, not %s", what, shapeOf(m))
				continue
			}
			words = append(words, word{s, p})
		}
		var group []isolation.Energy
		for _, en := range readEnergies(g, "order", words) {
			if seen[en] {
				p := placeOf(n)
				top.r.refuse(p.Line, p.Column, "%s: %s stands in the order twice", what, en)
				continue
			}
			seen[en] = true
			group = append(group, en)
		}
		if len(group) > 0 {
			r.Order = append(r.Order, group)
		}
	}
}
