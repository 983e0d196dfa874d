package plantfile

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"github.com/goccy/go-yaml/ast"

	"stillwatch/isolation"
)

// everyKey are the keys that a node of some kind may have; allowed says which of them say something about a kind.
var everyKey = []string{
	"id", "kind", "name", "place", "energy", "fluid", "gauge_bar", "temp_c", "volt", "elevation_m", "lockable", "normal",
	"measure", "awkward", "fails", "supply", "volume_l", "top_m", "role", "bore_mm", "earthed",
	"heated_by", "lifts_bar", "drive",
}

var (
	allKeys   = []string{"id", "kind", "name", "place"}
	pointKeys = []string{"lockable", "normal", "measure", "awkward"}
)

// allowed returns the keys that say something about a node of kind k.
func allowed(k isolation.Kind) []string {
	keys := slices.Clone(allKeys)
	switch {
	case k == isolation.Source:
		return append(keys, "energy", "fluid", "gauge_bar", "temp_c", "volt", "elevation_m", "earthed")
	case k == isolation.Vessel:
		return append(keys, "fluid", "gauge_bar", "temp_c", "elevation_m", "volume_l", "top_m", "heated_by", "lifts_bar",
			"drive")
	case k == isolation.Consumer:
		return append(keys, "energy", "volt")
	case k == isolation.Opening:
		return append(append(keys, pointKeys...), "elevation_m", "role", "bore_mm")
	case k == isolation.AutomaticValve:
		return append(append(keys, pointKeys...), "fails", "supply")
	case k.IsElectrical():
		return append(append(keys, pointKeys...), "volt")
	case k.IsPoint(), k == isolation.Earth:
		return append(keys, pointKeys...)
	}
	return keys
}

// Says reports whether a key of the plant file says anything about a node of kind k.
func Says(k isolation.Kind, key string) bool { return k != "" && slices.Contains(allowed(k), key) }

// node reads one node.
func (l *loader) node(what string, n ast.Node) {
	e := newEntry(l.report, what, n)
	if e == nil {
		return
	}
	d := isolation.Node{Line: e.at.Line, Column: e.at.Column}
	d.ID = isolation.NodeID(l.id(e, "node"))
	if first := l.plant.Node(d.ID); first != nil && d.ID != "" {
		e.refuse("id", "the id is already that of the node in line %d", first.Line)
		d.ID = ""
	}
	d.Name = e.text("name")
	known := l.kind(e, &d)
	l.place(e, &d)
	l.energy(e, &d)
	l.state(e, &d)
	l.hand(e, &d)
	if known {
		l.misplaced(e, d.Kind)
	}
	e.done(everyKey...)
	if d.ID == "" {
		return
	}
	l.plant.AddNode(d)
}

// id reads an id as it could be painted on a label: letters, digits and - _ . : +, at most 40, so that it can also
// stand in a list with commas and in an address.
func (l *loader) id(e *entry, sort string) string {
	s := e.required("id")
	if s == "" {
		return ""
	}
	e.what = sort + " " + shorten(s)
	bad := strings.IndexFunc(s, func(c rune) bool {
		return !unicode.IsLetter(c) && !unicode.IsDigit(c) && !unicode.IsMark(c) && !strings.ContainsRune("-_.:+", c)
	})
	switch c := []rune(s)[0]; {
	case bad >= 0:
		e.refuse("id", "the id %q has %q in it; letters, digits and - _ . : + can be painted on a label and read back",
			shorten(s), []rune(s[bad:])[0])
	case !unicode.IsLetter(c) && !unicode.IsDigit(c):
		e.refuse("id", "the id %q begins with %q; it begins with a letter or a digit", shorten(s), c)
	case len([]rune(s)) > 40:
		e.refuse("id", "the id has more than 40 characters")
	default:
		return s
	}
	return ""
}

func (l *loader) kind(e *entry, d *isolation.Node) bool {
	s := e.required("kind")
	if s == "" {
		return false
	}
	if d.Kind = isolation.ParseKind(s); d.Kind != "" {
		return true
	}
	if is := saidOtherwise[strings.ToLower(s)]; is != "" {
		e.refuse("kind", "unknown kind %q; %s", shorten(s), is)
	} else {
		e.refuse("kind", "unknown kind %q%s", shorten(s), offerOrList(s, Words(isolation.Kinds())))
	}
	return false
}

// Words returns the words of a list of kinds, positions or exposures as a file writes them.
func Words[W ~string](list []W) []string {
	out := make([]string, len(list))
	for i, w := range list {
		out[i] = string(w)
	}
	return out
}

// saidOtherwise are things that people call by their names and that the file says in another way.
var saidOtherwise = map[string]string{
	"pump":    "a pump is a vessel with lifts_bar, and drive names its motor",
	"motor":   "a motor is a consumer",
	"heater":  "a heater is a vessel with heated_by, or a consumer where current heats",
	"cooler":  "a cooler is a vessel",
	"filter":  "a filter is a vessel",
	"tank":    "a tank whose contents can come is a source; one that is opened is a vessel",
	"header":  "what can bring something is a source",
	"cock":    "a cock is a valve; one that lets out or in is an opening",
	"drain":   "a drain is an opening with role: drain",
	"vent":    "a vent is an opening with role: vent",
	"flange":  "a flange that a plate goes into is a blank",
	"machine": "a machine groups nodes and stands under machines",
}

// offerOrList offers the nearest known word, or all of them if none is near.
func offerOrList(s string, known []string) string {
	if o := offer(s, known); o != "" {
		return o
	}
	return "; known are " + strings.Join(known, ", ")
}

// misplaced refuses the keys that exist but say nothing about this kind.
func (l *loader) misplaced(e *entry, k isolation.Kind) {
	may := allowed(k)
	for _, key := range e.order {
		if !slices.Contains(everyKey, key) || slices.Contains(may, key) {
			continue
		}
		p := e.keys[key]
		l.refuse(
			p.Line,
			p.Column,
			"%s: %s says nothing about %s; it belongs to %s",
			e.what,
			key,
			isolation.WithArticle(string(k)),
			owners(key),
		)
	}
}

// owners lists the kinds that a key belongs to.
func owners(key string) string {
	var out []string
	for _, k := range isolation.Kinds() {
		if slices.Contains(allowed(k), key) {
			out = append(out, string(k))
		}
	}
	return strings.Join(out, ", ")
}

// place reads where the thing stands. Half a place is refused: nobody can walk to it. The side may be left out.
func (l *loader) place(e *entry, d *isolation.Node) {
	if !e.has("place") {
		return
	}
	p := newEntry(l.report, e.what+": place", e.values["place"])
	if p == nil {
		return
	}
	var deck, frame bool
	d.Place.Deck, deck = p.whole("deck")
	d.Place.Frame, frame = p.whole("frame")
	if _, stated := p.values["deck"]; !deck && !stated {
		p.refuse("", "deck is missing")
	}
	if _, stated := p.values["frame"]; !frame && !stated {
		p.refuse("", "frame is missing")
	}
	switch s := strings.ToLower(p.text("side")); {
	case slices.Contains(isolation.Sides(), s):
		d.Place.Side = s
	case s == "":
		l.sideless = append(l.sideless, d.ID)
	default:
		p.refuse("side", "unknown side %q%s", shorten(s), offerOrList(s, isolation.Sides()))
	}
	p.done("deck", "frame", "side")
}

// energy reads what a source brings, or a consumer uses, and holds the other figures against it.
func (l *loader) energy(e *entry, d *isolation.Node) {
	s := e.text("energy")
	if _, stated := e.values["energy"]; d.Kind == isolation.Source && !stated {
		e.refuse("", "a source needs its energy; the words are %s", joinEnergies())
	}
	d.Fluid = e.text("fluid")
	if d.Fluid != "" {
		l.checkFluid(e, d.Fluid)
	}
	if s == "" {
		return
	}
	var ok bool
	if d.Energy, ok = isolation.ParseEnergy(s); !ok {
		more := offer(s, isolation.EnergyWords())
		if more == "" {
			more = "; the words are " + joinEnergies()
		}
		e.refuse("energy", "unknown energy %q%s", shorten(s), more)
		return
	}
	if isolation.Hyphened(s) == "oil" {
		l.oil = append(l.oil, d.ID)
	}
	l.checkNature(e, d.Energy)
}

func joinEnergies() string { return strings.Join(Words(isolation.Energies()), ", ") }

// checkNature refuses a pressure on a cable and a voltage on a pipe.
func (l *loader) checkNature(e *entry, is isolation.Energy) {
	nonsense := []string{"volt", "earthed"}
	switch is.Nature() {
	case isolation.Current:
		nonsense = []string{"fluid", "gauge_bar", "temp_c", "elevation_m"}
	case isolation.Motion:
		nonsense = []string{"fluid", "gauge_bar", "temp_c", "elevation_m", "volt", "earthed"}
	}
	for _, key := range nonsense {
		if p, stated := e.keys[key]; stated {
			l.refuse(p.Line, p.Column, "%s: %s says nothing about %s energy", e.what, key, is)
		}
	}
}

// state reads pressures, temperatures, levels and volumes.
func (l *loader) state(e *entry, d *isolation.Node) {
	d.GaugeBar, d.HasGauge = e.number("gauge_bar")
	d.TempC, d.HasTemp = e.number("temp_c")
	d.Volt, _ = e.number("volt")
	d.ElevationM, d.HasElevation = e.number("elevation_m")
	d.Earthed, _ = e.flag("earthed")
	d.VolumeL, _ = e.number("volume_l")
	top, hasTop := e.number("top_m")
	d.TopM = top
	d.BoreMM, _ = e.number("bore_mm")
	d.LiftsBar, _ = e.number("lifts_bar")
	d.HeatedBy, d.Drive = l.beside(e, "heated_by", notHeater), l.beside(e, "drive", notDrive)
	if d.Kind == isolation.Vessel && hasTop && d.HasElevation && top <= d.ElevationM {
		e.refuse("top_m", "the top at %v m is not above the bottom at %v m", top, d.ElevationM)
	}
	if d.Kind == isolation.Vessel && hasTop && !d.HasElevation {
		e.refuse("top_m", "the top of a vessel says nothing without elevation_m, its bottom")
	}
	if s := e.text("role"); s != "" || d.Kind == isolation.Opening {
		switch d.Role = strings.ToLower(s); d.Role {
		case "drain", "vent":
		case "":
			d.Role = "drain"
		default:
			e.refuse("role", "unknown role %q; an opening is a drain or a vent", shorten(s))
		}
	}
}

// hand reads what matters to the person who closes the thing.
func (l *loader) hand(e *entry, d *isolation.Node) {
	lockable, stated := e.flag("lockable")
	if d.Lockable = lockable; !stated && d.Kind.IsPoint() { // an earth that is not told to take a lock gets a tag
		d.Lockable = true
		l.assumed = append(l.assumed, d.ID)
	}
	d.Measure = e.text("measure")
	d.Awkward, _ = e.whole("awkward")
	l.normal(e, d)
	if s := e.text("fails"); s != "" {
		d.Fails = strings.ToLower(s)
		if !slices.Contains([]string{"closed", "open", "stays"}, d.Fails) {
			e.refuse("fails", "unknown %q; without its supply an automatic valve goes closed or open, or stays", shorten(s))
		}
	}
	if s := e.text("supply"); s != "" {
		d.Supply = isolation.NodeID(s)
		l.checkSupply(e, d.ID, d.Supply)
	}
}

// normal reads the position in service: the word must be one that the kind can stand in.
func (l *loader) normal(e *entry, d *isolation.Node) {
	movable := d.Kind.IsMoved()
	switch {
	case d.Kind == isolation.Opening:
		d.Normal = isolation.Closed
	case movable:
		d.Normal = d.Kind.Passing()
	}
	s := e.text("normal")
	if s == "" || !movable {
		return
	}
	p := isolation.Position(strings.ToLower(s))
	if p != d.Kind.Isolating() && p != d.Kind.Passing() {
		e.refuse(
			"normal",
			"%s cannot stand %q; it is %s or %s",
			isolation.WithArticle(string(d.Kind)),
			shorten(s),
			d.Kind.Passing(),
			d.Kind.Isolating(),
		)
		return
	}
	d.Normal = p
}

// storedKeys are the figures that say something about each kind of stored energy; the first is needed.
var storedKeys = map[string][]string{
	"rotation":    {"speed_rpm", "coast_down_s"},
	"heat":        {"temp_c", "mass_kg", "area_m2", "ambient_c", "contact_s", "limit_c", "limit_because"},
	"charge":      {"volt", "resistance_ohm", "capacitance_uf"},
	"gas":         {"gauge_bar", "volume_l"},
	"accumulator": {"gauge_bar", "volume_l", "precharge_bar"},
	"spring":      {"", "restraint"},
	"weight":      {"", "restraint", "mass_kg"},
	"liquid":      {"", "volume_l", "gauge_bar", "temp_c"},
}

var storedKinds = []string{"rotation", "heat", "charge", "gas", "accumulator", "spring", "weight", "liquid"}

// StoredKinds returns the words for kinds of stored energy that a plant file may use.
func StoredKinds() []string { return slices.Clone(storedKinds) }

// stored reads one energy that remains in a machine.
func (l *loader) stored(what string, n ast.Node, m *isolation.Machine) {
	e := newEntry(l.report, what, n)
	if e == nil {
		return
	}
	var s isolation.Stored
	s.Kind = strings.ToLower(e.required("kind"))
	s.Name, s.Restraint = e.text("name"), e.text("restraint")
	for key, to := range map[string]*float64{
		"speed_rpm": &s.SpeedRPM, "coast_down_s": &s.CoastDownS, "temp_c": &s.TempC, "mass_kg": &s.MassKg,
		"area_m2": &s.AreaM2, "volt": &s.Volt, "resistance_ohm": &s.ResistanceOhm, "capacitance_uf": &s.CapacitanceUF,
		"gauge_bar": &s.GaugeBar, "volume_l": &s.VolumeL, "precharge_bar": &s.PrechargeBar,
		"ambient_c": &s.AmbientC, "contact_s": &s.ContactS, "limit_c": &s.LimitC,
	} {
		*to, _ = e.number(key)
	}
	if s.LimitBecause = e.text("limit_because"); s.LimitC != 0 && s.LimitBecause == "" {
		e.refuse("limit_c", "a limit other than that of bare skin needs limit_because: the glove, and where the "+
			"company says so")
	}
	keys, known := storedKeys[s.Kind]
	if !known {
		if s.Kind != "" {
			e.refuse("kind", "unknown kind %q%s", shorten(s.Kind), offerOrList(s.Kind, storedKinds))
		}
		e.done("kind", "name")
		return
	}
	may := append([]string{"kind", "name"}, keys...)
	for _, key := range e.order {
		if e.read[key] && !slices.Contains(may, key) {
			p := e.keys[key]
			l.refuse(p.Line, p.Column, "%s: %s says nothing about %s", e.what, key, s.Kind)
		}
	}
	if _, stated := e.values[keys[0]]; keys[0] != "" && !stated {
		e.refuse("", "%s needs %s", s.Kind, keys[0])
	}
	e.done(may...)
	m.Stored = append(m.Stored, s)
}

// nodeIDs reads a list of ids of nodes. After all is read it checks that they exist, and asks why (which may be nil)
// what is wrong with each one that does; "" for nothing.
func (l *loader) nodeIDs(e *entry, key string, why func(*isolation.Node) string) []isolation.NodeID {
	var out []isolation.NodeID
	for _, w := range e.words(key) {
		out = append(out, isolation.NodeID(w.text))
		l.later = append(l.later, func() {
			n := l.plant.Node(isolation.NodeID(w.text))
			if n == nil {
				l.refuse(w.at.Line, w.at.Column, "%s: %s names %q, which is not a node%s", e.what, key, shorten(w.text),
					l.nodeOffer(w.text))
				return
			}
			if why == nil {
				return
			}
			if fault := why(n); fault != "" {
				l.refuse(w.at.Line, w.at.Column, "%s: %s", e.what, fault)
			}
		})
	}
	return out
}

// nodeOffer offers the node whose id is nearest; not for a file that has many faults already, because it takes long.
func (l *loader) nodeOffer(s string) string {
	if l.full() {
		return ""
	}
	known := make([]string, len(l.plant.Nodes))
	for i := range l.plant.Nodes {
		known[i] = string(l.plant.Nodes[i].ID)
	}
	return offer(s, known)
}

// listIDs joins ids for a sentence, the first few of many.
func listIDs(ids []isolation.NodeID) string {
	const shown = 12
	var b strings.Builder
	for i, id := range ids {
		if i == shown {
			fmt.Fprintf(&b, " and %d more", len(ids)-shown)
			break
		}
		if i > 0 {
			b.WriteString(", ")
		}
		b.WriteString(string(id))
	}
	return b.String()
}
