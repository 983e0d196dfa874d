package exchange

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"stillwatch/isolation"
)

// makePlant turns what was drawn into rows of nodes, links, machines and jobs.
func (d *drawing) makePlant() {
	var segments []*drawn
	for _, e := range d.top.parts {
		switch e.tag {
		case "Equipment":
			d.equipment(e)
		case "PipingComponent", "PipeOffPageConnector", "Nozzle":
			d.refuse(lineAt(e.line), "the %s %s lies on no pipe and at no equipment", e.class, e.id)
		case "PipingNetworkSystem":
			for _, seg := range e.parts {
				if seg.tag == "PipingNetworkSegment" {
					segments = append(segments, seg)
				}
			}
		}
	}
	operated := d.operated()
	for _, seg := range segments {
		for _, c := range seg.parts {
			switch c.tag {
			case "PipingComponent":
				d.component(c, d.actuator(c, operated))
			case "PipeOffPageConnector":
				d.source(c.line, d.plantID(c), "The drawing ends here ("+c.class+")")
			}
		}
	}
	for _, seg := range segments {
		d.segment(seg)
	}
	for _, seg := range segments {
		for _, c := range seg.parts {
			d.oneSided(c)
			if k := componentKinds[c.class]; c.tag == "PipingComponent" && c.links > 2 && k != isolation.Junction {
				d.refuse(lineAt(c.line), "%d pipes come to the %s %s; a point with more than two sides cannot be said yet", c.links,
					c.class, c.id)
			}
		}
	}
	d.looseNozzles()
	d.fluids()
	for _, m := range d.automatics {
		d.supply(m)
	}
	if len(d.rows["nodes"]) == 0 && len(d.faults) == 0 {
		d.refuse(lineAt(d.top.line), "it shows no equipment and no pipes")
	}
}

var notInIDs = regexp.MustCompile(`[^\pL\pN_.:+-]+`)

// plantID returns the id that a drawn thing has in the plant: its tag if it has one, or the drawing's own ID.
func (d *drawing) plantID(e *drawn) string {
	for _, s := range []string{e.said["TagName"], e.id} {
		s = strings.Trim(notInIDs.ReplaceAllString(s, "-"), "-_.:+")
		if s != "" && len([]rune(s)) <= 34 { // what is made of it ends in -motor or so
			return s
		}
	}
	d.refuse(lineAt(e.line), "the %s has neither a tag nor an ID that can stand on a label", e.tag)
	return "line-" + strconv.Itoa(e.line)
}

// operated returns the component behind each valve that an actuator works, by the valve's ID.
func (d *drawing) operated() map[string]*drawn {
	out := map[string]*drawn{}
	for _, a := range d.top.parts {
		if a.tag != "ActuatingSystem" {
			continue
		}
		actuator := a
		for _, c := range a.parts {
			if c.class != "OperatedValveReference" {
				actuator = c
			}
		}
		for _, c := range a.parts {
			for _, id := range c.refers["refers to"] {
				out[id] = actuator
				if n := a.said["ActuatingSystemNumber"]; n != "" {
					actuator.said["ActuatingSystemNumber"] = n
				}
			}
		}
	}
	return out
}

// actuator returns what works a valve, or nil for one that is worked by hand: what refers to it, what it says that it
// is referred to by, or what is drawn inside it. A valve that moves by itself must not pass for one that takes a lock.
func (d *drawing) actuator(c *drawn, operated map[string]*drawn) *drawn {
	if a := operated[c.id]; a != nil {
		return a
	}
	for _, ref := range c.refers["is referenced by"] {
		if by := d.things[ref]; by == nil || by.class == "OperatedValveReference" {
			return c
		}
	}
	if c.said[actuated] != "" {
		return c
	}
	return nil
}

// component makes a node of a valve, a blind or a fitting.
func (d *drawing) component(c *drawn, actuator *drawn) {
	id, kind := d.plantID(c), componentKinds[c.class]
	name := c.said["PipingComponentName"]
	if name == "" {
		name = strings.TrimSpace(c.class + " " + c.said["PipingComponentNumber"])
	}
	if actuator != nil {
		name = strings.TrimSpace(c.class + " " + actuator.said["ActuatingSystemNumber"])
	}
	r := d.node(c.line, id, kind, name)
	switch {
	case actuator != nil && (kind == isolation.Valve || kind == ""):
		d.automatic(c, r, actuator)
	case kind == "":
		answer, ok := d.ask(needed(c.line, id, "kind", fmt.Sprintf(
			"The drawing calls it %q. What is it to somebody who isolates", c.class)), "valve", "automatic-valve", "blank",
			"spool", "plug", "check-valve", "junction")
		if !ok {
			return
		}
		kind = isolation.ParseKind(strings.ToLower(answer.text))
		r.cells["kind"] = answer
		if kind == isolation.AutomaticValve {
			d.automatic(c, r, c)
		} else if kind.IsPoint() {
			d.pointHands(c.line, r, kind, "", "")
		}
	case kind.IsPoint():
		d.pointHands(c.line, r, kind, "", "")
	}
	d.add("nodes", r)
}

// failing is what the drawing's words for a lost supply mean.
var failing = map[string]string{"FailClose": "closed", "FailOpen": "open", "FailRetainPosition": "stays"}

// automatic makes an automatic valve: it isolates only with its supply isolated, and by hand only where somebody says
// so.
func (d *drawing) automatic(c *drawn, r row, actuator *drawn) {
	id := r.cells["id"].text
	r.cells["kind"] = cell{string(isolation.AutomaticValve), r.at}
	if word := failing[actuator.said["FailActionSpecialization"]]; word != "" {
		r.cells["fails"] = cell{word, lineAt(actuator.line)}
	} else {
		d.fill(r, needed(actuator.line, id, "fails", "Where does it go without its supply"), "closed", "open", "stays")
	}
	d.fill(r, needed(actuator.line, id, "normal", "In which position does it stand in service"), "open", "closed")
	d.place(c.line, r)
	d.automatics = append(d.automatics, moved{actuator.line, r})
}

// moved is an automatic valve of the plant with the line of its actuator.
type moved struct {
	line int
	row  row
}

// supply asks what takes an automatic valve's air or power away; without that it never counts as a point. What no node
// is yet becomes one.
func (d *drawing) supply(m moved) {
	id := m.row.cells["id"].text
	tag, ok := d.ask(ifKnown(m.line, id, "supply", "What takes its air or power away: the tag of that valve, "+
		"breaker or fuse. Without it, it is never taken for shut"))
	if !ok {
		return
	}
	m.row.cells["supply"] = tag
	if _, there := d.ids[tag.text]; there {
		return
	}
	c, ok := d.ask(needed(m.line, tag.text, "kind", "What is it"), "valve", "breaker", "fuse",
		"switch", "disconnector")
	if !ok {
		d.ids[tag.text] = m.line
		return
	}
	kind := isolation.ParseKind(strings.ToLower(c.text))
	r := d.node(m.line, tag.text, kind, "Supply of "+id)
	d.pointHands(m.line, r, kind, "", "")
	d.add("nodes", r)
}

// equipment makes vessels of what holds something, one for each chamber, and a machine of the whole.
func (d *drawing) equipment(e *drawn) {
	id, name := d.plantID(e), strings.TrimSpace(e.class+" "+e.said["TagName"])
	if isMotor(e.class) {
		d.motor(e.line, id, name)
		return
	}
	var chambers []*drawn
	for _, p := range e.parts {
		if p.tag == "Equipment" && !slices.Contains(notPlant, p.class) {
			chambers = append(chambers, p)
		}
	}
	var nodes []string
	parts := map[string]string{} // the plant's id of each chamber
	if len(chambers) < 2 {
		nodes = append(nodes, d.vessel(e, id, name))
	} else {
		for i, c := range chambers {
			n := fmt.Sprintf("%s-%d", id, i+1)
			parts[c.id] = n
			nodes = append(nodes, d.vessel(c, n, fmt.Sprintf("%s, %s", name, firstOf(c.said["SubTagName"], "part "+
				strconv.Itoa(i+1)))))
		}
	}
	if isPump(e.class) {
		nodes = append(nodes, d.pump(e, id)...)
	}
	for _, n := range nozzles(e) {
		d.nozzle(n, id, nodes, parts)
		nodes = append(nodes, d.nozzleID(n))
	}
	opens := slices.DeleteFunc(slices.Clone(nodes), func(n string) bool { return !d.isVessel(n) })
	d.machine(e.line, id, name, nodes, opens)
}

// nozzles returns the nozzles of an equipment, those drawn inside its chambers included.
func nozzles(e *drawn) []*drawn {
	var out []*drawn
	for _, p := range e.parts {
		switch p.tag {
		case "Nozzle":
			out = append(out, p)
		case "Equipment":
			for _, n := range p.parts {
				if n.tag == "Nozzle" {
					n.refers["is located in"] = append(n.refers["is located in"], p.id)
					out = append(out, n)
				}
			}
		}
	}
	return out
}

// vessel makes a node of one space and returns its id.
func (d *drawing) vessel(e *drawn, id, name string) string {
	r := d.node(e.line, id, isolation.Vessel, name)
	kind := isolation.Vessel
	within := e.inside.tag == "Equipment" // one of several spaces
	if !isPassive(e.class) && !(within && isPassive(e.inside.class)) {
		c, ok := d.ask(needed(e.line, id, "kind", "Is it emptied when what is beside it is "+
			"opened (vessel), or can something come out of it (source)"), "vessel", "source")
		if !ok {
			return id
		}
		kind = isolation.ParseKind(strings.ToLower(c.text))
		r.cells["kind"] = c
	}
	if kind == isolation.Source {
		d.fill(r, needed(e.line, id, "energy", "Which energy does it hold (such as fuel, "+
			"steam, cooling water)"))
	}
	d.flows(e.line, id, r, kind == isolation.Source)
	if kind == isolation.Vessel {
		d.fill(r, ifKnown(e.line, id, "top_m", "Level of its top, m above the base line"))
		d.fill(r, ifKnown(e.line, id, "volume_l", "How many litres it holds"))
		if within {
			d.fill(r, ifKnown(e.line, id, "heated_by", "Which space of the same machine heats it, if one does"))
		}
	}
	d.add("nodes", r)
	return id
}

// pump asks what makes a pump run, and returns the nodes that were added for it.
func (d *drawing) pump(e *drawn, id string) []string {
	r := d.rows["nodes"][len(d.rows["nodes"])-1]
	if r.cells["id"].text == id {
		d.fill(r, needed(e.line, id, "lifts_bar", "By how much does it raise the pressure "+
			"at most, bar"+lift(e)))
	}
	c, ok := d.ask(needed(e.line, id, "drive", "Which motor makes it run: one of the "+
		"drawing, an id for one that is not drawn, or none"))
	if !ok || strings.EqualFold(c.text, "none") {
		return nil
	}
	if r.cells["id"].text == id {
		r.cells["drive"] = c
	}
	for _, m := range d.top.parts {
		if m.tag == "Equipment" && isMotor(m.class) && d.plantID(m) == c.text {
			return []string{c.text}
		}
	}
	d.motor(e.line, c.text, "Motor of "+id)
	return []string{c.text}
}

// lift tells what the drawing says of a pump's head, in its own units: the pressure follows from it only with a
// density.
func lift(e *drawn) string {
	if head := e.said["DesignPressureHead"]; head != "" {
		return " (the drawing says a head of " + head + " m)"
	}
	return ""
}

// motor makes a consumer with its breaker and supply, all of them as answered: no such diagram shows them.
func (d *drawing) motor(line int, id, name string) {
	d.add("nodes", d.node(line, id, isolation.Consumer, name))
	breaker, ok := d.ask(needed(line, id, "breaker", "Which breaker cuts it off"))
	supply, fed := d.ask(needed(line, id, "board", "From which switchboard is it fed"))
	volt, at := d.ask(needed(line, id, "volt", "At how many volts"))
	if !ok || !fed || !at {
		return
	}
	r := d.node(line, breaker.text, isolation.Breaker, "Breaker of "+id)
	d.pointHands(line, r, isolation.Breaker, "", "")
	d.add("nodes", r)
	if _, there := d.ids[supply.text]; !there {
		b := d.node(line, supply.text, isolation.Source, "")
		b.cells["energy"], b.cells["volt"] = cell{"electrical", supply.at}, volt
		d.add("nodes", b)
	}
	d.join(line, supply.text, breaker.text, "", "")
	d.join(line, breaker.text, id, "", "")
}

func (d *drawing) isVessel(id string) bool {
	for _, r := range d.rows["nodes"] {
		if r.cells["id"].text == id {
			return r.cells["kind"].text == string(isolation.Vessel)
		}
	}
	return false
}
