package plantfile

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"

	"github.com/goccy/go-yaml/ast"

	"stillwatch/isolation"
)

// Read reads a plant file: name is what errors call it, text its bytes (YAML, UTF-8, at most MaxFileBytes). The plant
// is checked: ids are unique and every id that is named exists, figures are within what a ship can have, and no key
// stands where it says nothing. Otherwise the error wraps *FileErrors: up to twenty faults in the order of the lines,
// each with line, column and the words of the file around it. Text may come from anywhere; Read never panics.
//
// Left out, a point is lockable and normally in its passing position (an opening: closed, tag only), an opening is a
// drain, a job's exposure is open. What is legal but should be looked at is in Plant.Remarks.
func Read(name string, text []byte) (*isolation.Plant, error) {
	sum := sha256.Sum256(text)
	l := &loader{
		report: newReport(name, text),
		plant: &isolation.Plant{
			Fluids: map[string]isolation.FluidSpec{}, SHA256: hex.EncodeToString(sum[:]), Text: append([]byte(nil), text...),
		},
	}
	if root := parseYAML(l.report, text); root != nil {
		l.load(newEntry(l.report, "plant file", root))
	}
	if err := l.err(); err != nil {
		return nil, fmt.Errorf("read plant: %w", err)
	}
	l.plant.Remarks = l.remarks()
	return l.plant, nil
}

// loader builds a plant from a file. What names something that may stand further down is checked after all is read.
type loader struct {
	*report
	plant    *isolation.Plant
	later    []func()
	assumed  []isolation.NodeID // points that don't say whether they can be locked
	oil      []isolation.NodeID // sources whose energy was only "oil"
	sideless []isolation.NodeID
}

func (l *loader) load(top *entry) {
	l.plant.Title = top.text("plant")
	l.fluids(top)
	l.each(top, "nodes", l.node)
	l.each(top, "links", l.link)
	l.each(top, "machines", l.machine)
	l.each(top, "jobs", l.job)
	top.done("plant", "fluids", "nodes", "links", "machines", "jobs")
	if len(l.plant.Nodes) == 0 && len(l.errs) == 0 {
		l.refuse(1, 1, "the plant has no nodes")
	}
	for _, check := range l.later {
		check()
	}
}

// each reads the members of one of the file's lists. A list without members counts as none.
func (l *loader) each(top *entry, key string, read func(what string, n ast.Node)) {
	if v, ok := top.values[key]; ok {
		if _, empty := v.(*ast.NullNode); empty {
			top.read[key] = true
			return
		}
	}
	for i, n := range top.items(key) {
		read(fmt.Sprintf("%s %d", singular[key], i+1), n)
	}
}

var singular = map[string]string{"nodes": "node", "links": "link", "machines": "machine", "jobs": "job"}

// fluids reads the table of fluids: a name each, with the figures that the drain-down needs.
func (l *loader) fluids(top *entry) {
	if !top.has("fluids") {
		return
	}
	table := newEntry(l.report, "fluids", top.values["fluids"])
	if table == nil {
		return
	}
	for _, name := range table.order {
		table.read[name] = true
		e := newEntry(l.report, "fluid "+shorten(name), table.values[name])
		if e == nil {
			continue
		}
		var f isolation.FluidSpec
		f.Family = e.text("family")
		f.Density15, _ = e.number("density_15")
		f.Tension, _ = e.number("tension")
		l.viscosity(e, &f)
		e.done("family", "density_15", "viscosity", "tension")
		l.plant.Fluids[name] = f
	}
}

// viscosity reads cSt at two different temperatures; a liquid never gets thicker as it gets warmer.
func (l *loader) viscosity(e *entry, f *isolation.FluidSpec) {
	for _, n := range e.items("viscosity") {
		v := newEntry(l.report, e.what+": viscosity", n)
		if v == nil {
			return
		}
		at, hasAt := v.number("at")
		cst, hasCSt := v.number("cst")
		if v.done("at", "cst"); !hasAt || !hasCSt {
			if len(v.values) < 2 {
				v.refuse("", "wants both at (°C) and cst")
			}
			return
		}
		f.Viscosity = append(f.Viscosity, struct {
			At  float64 `yaml:"at"`
			CSt float64 `yaml:"cst"`
		}{at, cst})
	}
	if !e.has("viscosity") {
		return
	}
	if len(f.Viscosity) != 2 {
		e.refuse("viscosity", "viscosity is wanted at two temperatures, not %d", len(f.Viscosity))
		return
	}
	cool, warm := f.Viscosity[0], f.Viscosity[1]
	if cool.At > warm.At {
		cool, warm = warm, cool
	}
	if cool.At == warm.At || cool.CSt < warm.CSt {
		e.refuse("viscosity", "viscosity %v cSt at %v °C and %v cSt at %v °C cannot both be right: it falls as the fluid "+
			"gets warmer",
			f.Viscosity[0].CSt, f.Viscosity[0].At, f.Viscosity[1].CSt, f.Viscosity[1].At)
	}
}

// link reads one pipe or cable.
func (l *loader) link(what string, n ast.Node) {
	e := newEntry(l.report, what, n)
	if e == nil {
		return
	}
	k := isolation.Link{Line: e.at.Line, Column: e.at.Column}
	k.A, k.B = isolation.NodeID(e.required("a")), isolation.NodeID(e.required("b"))
	if k.A != "" && k.B != "" {
		e.what = fmt.Sprintf("link %s to %s", k.A, k.B)
	}
	k.BoreMM, _ = e.number("bore_mm")
	var hasLength bool
	k.LengthM, hasLength = e.number("length_m")
	k.OneWay, _ = e.flag("one_way")
	k.AirGap, _ = e.flag("air_gap")
	l.inverts(e, &k)
	e.done("a", "b", "bore_mm", "length_m", "invert_m", "one_way", "air_gap")
	if k.A == "" || k.B == "" {
		return
	}
	l.plant.Links = append(l.plant.Links, k)
	l.checkLink(e, k, hasLength)
}

// inverts reads the level of the pipe's bottom at both ends.
func (l *loader) inverts(e *entry, k *isolation.Link) {
	if !e.has("invert_m") {
		return
	}
	ends := e.items("invert_m")
	if len(ends) != 2 {
		e.refuse("invert_m", "invert_m wants two levels, at a and at b: [8.8, 4.1]")
		return
	}
	k.HasLevel = true
	for i, n := range ends {
		x, ok := e.figure("invert_m", n, bounds["invert_m"])
		k.InvertM[i], k.HasLevel = x, k.HasLevel && ok
	}
}

// machine reads one machine with the energies that stay in it.
func (l *loader) machine(what string, n ast.Node) {
	e := newEntry(l.report, what, n)
	if e == nil {
		return
	}
	m := isolation.Machine{Line: e.at.Line, Column: e.at.Column}
	m.ID = l.id(e, "machine")
	m.Name = e.text("name")
	if m.Name == "" {
		m.Name = m.ID
	}
	m.Nodes = l.nodeIDs(e, "nodes", nil)
	m.Controls = l.nodeIDs(e, "controls", notControl)
	m.StartsShut = l.nodeIDs(e, "starts_shut", notPoint)
	m.ShutAtRest = l.nodeIDs(e, "shut_at_rest", notPoint)
	if m.Standby = e.text("standby"); m.Standby != "" {
		l.checkStandby(e, m)
	}
	for i, s := range e.items("stored") {
		l.stored(fmt.Sprintf("%s: stored energy %d", e.what, i+1), s, &m)
	}
	e.done("id", "name", "nodes", "standby", "controls", "starts_shut", "shut_at_rest", "stored")
	if m.ID == "" {
		return
	}
	if !l.plant.AddMachine(m) {
		e.refuse("id", "the id is already that of the machine in line %d", l.plant.Machine(m.ID).Line)
	}
}

// parseExposure takes "hot work" and "hot-work" for the same.
func parseExposure(s string) (isolation.Exposure, bool) {
	for _, x := range isolation.Exposures() {
		if isolation.Hyphened(s) == isolation.Hyphened(string(x)) {
			return x, true
		}
	}
	return "", false
}

// deviation reads one deviation of a job.
func (l *loader) deviation(e *entry, j *isolation.Job) {
	d := isolation.Deviation{Source: l.beside(e, "source", notSource), Demand: e.required("demand"),
		Because: e.required("because"), Measures: e.texts("measures")}
	switch {
	case d.Demand == isolation.DemandBlank || d.Demand != "" && isolation.DemandRank(d.Demand) < 0:
		e.refuse("demand", "unknown demand %q; a deviation asks for single or double", shorten(d.Demand))
	case len(d.Measures) == 0:
		e.refuse("", "it says nothing of what is done instead; name the measures")
	case j.Exposure == isolation.Enter || j.Exposure == isolation.HotWork:
		e.refuse("", "the work is %q, and nobody enters or brings fire behind less than the rules ask for",
			string(j.Exposure))
	}
	if d.Source == "" {
		e.required("source")
	}
	j.Deviations = append(j.Deviations, d)
	e.done("source", "demand", "because", "measures")
}

// notSource says why nothing is cut from a node.
func notSource(n *isolation.Node) string {
	if n.Kind == isolation.Source {
		return ""
	}
	return "a deviation is about a source"
}

// job reads what will be opened on a machine.
func (l *loader) job(what string, n ast.Node) {
	e := newEntry(l.report, what, n)
	if e == nil {
		return
	}
	j := isolation.Job{Line: e.at.Line, Column: e.at.Column, Exposure: isolation.OpenUp}
	j.ID = l.id(e, "job")
	j.Machine = e.text("machine")
	if j.Title = e.text("title"); j.Title == "" {
		j.Title = j.ID
	}
	j.Opens = l.nodeIDs(e, "opens", notOpened)
	l.checkOpens(e)
	j.KeptOff = l.nodeIDs(e, "kept_off", notKeptOff)
	if s := e.text("exposure"); s != "" {
		x, ok := parseExposure(s)
		if j.Exposure = x; !ok {
			e.refuse("exposure", "unknown exposure %q; it is outside, open, enter or hot work", shorten(s))
		}
	}
	j.Hazards, j.Precautions, j.Protective = e.texts("hazards"), e.texts("precautions"), e.texts("protective")
	for i, n := range e.items("live") {
		if x := newEntry(l.report, fmt.Sprintf("%s: live part %d", e.what, i+1), n); x != nil {
			j.Live = append(j.Live, isolation.LivePart{ID: isolation.NodeID(x.required("id")),
				Because: x.required("because")})
			x.done("id", "because")
		}
	}
	for i, n := range e.items("deviations") {
		if x := newEntry(l.report, fmt.Sprintf("%s: deviation %d", e.what, i+1), n); x != nil {
			l.deviation(x, &j)
		}
	}
	l.holds(e, &j)
	l.work(e, &j)
	e.done("id", "machine", "title", "opens", "exposure", "hazards", "precautions", "protective", "live",
		"kept_off", "deviations", "holds", "kinds", "gases", "adjoining",
		"live_because")
	if j.Machine != "" {
		l.checkJobMachine(e, j.Machine)
	}
	if j.ID == "" {
		return
	}
	if !l.plant.AddJob(j) {
		e.refuse("id", "the id is already that of the job in line %d", l.plant.Job(j.ID).Line)
	}
}
