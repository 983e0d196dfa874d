package exchange

import (
	"slices"
	"strings"

	"stillwatch/isolation"
)

// nozzleID returns the plant's id of a nozzle.
func (d *drawing) nozzleID(n *drawn) string {
	if tag := n.said["SubTagName"]; tag != "" && n.inside.said["TagName"] != "" {
		return d.plantID(n.inside) + "-" + strings.Trim(notInIDs.ReplaceAllString(tag, "-"), "-")
	}
	return d.plantID(n)
}

// nozzle makes a junction of a nozzle and joins it to its space: the one in which the drawing says that it lies, or
// the only one; else a person says which.
func (d *drawing) nozzle(n *drawn, equipment string, spaces []string, parts map[string]string) {
	id := d.nozzleID(n)
	d.add("nodes", d.node(n.line, id, isolation.Junction, equipment+" nozzle "+firstOf(n.said["SubTagName"], n.id)))
	space := spaces[0]
	if len(parts) > 0 {
		space = ""
		for _, ref := range n.refers["is located in"] {
			space = firstOf(parts[ref], space)
		}
	}
	if space == "" {
		var words []string
		for _, p := range parts {
			words = append(words, p)
		}
		slices.Sort(words)
		c, ok := d.ask(needed(n.line, id, "inside", "Into which space does it lead"), words...)
		if !ok {
			return
		}
		for _, p := range parts {
			if strings.EqualFold(p, c.text) {
				space = p
			}
		}
	}
	d.join(n.line, space, id, bore(n), "")
}

// bore returns the nominal diameter that the drawing says, which is what is known of the pipe's bore, or "".
func bore(e *drawn) string {
	if e.said["NominalDiameterTypeRepresentation"] != "DN" {
		return ""
	}
	return e.said["NominalDiameterNumericalValueRepresentation"]
}

// end returns the plant's id of what a pipe's end comes to.
func (d *drawing) end(seg *drawn, ref string, connection *drawn) string {
	e := d.drawn(ref)
	if e == nil {
		d.refuse(lineAt(connection.line), "the pipe %s comes to %q, which is not on the drawing", seg.id, ref)
		return ""
	}
	e.links++
	if e.tag == "Nozzle" {
		return d.nozzleID(e)
	}
	return d.plantID(e)
}

func (d *drawing) drawn(id string) *drawn { return d.things[id] }

// segment joins what lies along a pipe, in the order of the drawing (DEXPI P&ID specification 1.3, from memory: the
// parts of a segment stand in the order in which they lie on it), between the ends that its connection names. An end
// that comes to nothing leaves the drawing: a source is asked for.
func (d *drawing) segment(seg *drawn) {
	var chain []string // IDs of the drawing, "" for an end that comes to nothing
	var connection *drawn
	for _, c := range seg.parts {
		switch c.tag {
		case "PipingComponent", "PipeOffPageConnector":
			chain = append(chain, c.id)
		case "Connection":
			if connection != nil {
				d.refuse(lineAt(c.line), "the pipe %s has two connections; which of its parts follow each other cannot be read",
					seg.id)
				return
			}
			connection = c
		}
	}
	if connection == nil {
		connection = &drawn{line: seg.line}
	}
	if from := slices.Index(chain, connection.from); from > 0 || from == 0 && connection.from == "" {
		d.refuse(lineAt(connection.line), "the pipe %s begins at %s, which is not its first part", seg.id, connection.from)
		return
	} else if from < 0 {
		chain = append([]string{connection.from}, chain...)
	}
	if to := slices.Index(chain, connection.to); to >= 0 && to != len(chain)-1 && connection.to != "" {
		d.refuse(lineAt(connection.line), "the pipe %s ends at %s, which is not its last part", seg.id, connection.to)
		return
	} else if to < 0 || connection.to == "" {
		chain = append(chain, connection.to)
	}
	ends := make([]string, len(chain))
	for i, ref := range chain {
		if ref == "" {
			ends[i] = d.looseEnd(seg, connection, i == 0)
		} else if ends[i] = d.end(seg, ref, connection); ends[i] == "" {
			return
		}
		if i > 0 && i < len(chain)-1 && ref != "" {
			d.drawn(ref).links++ // it goes on
		}
		if i == 0 {
			continue
		}
		run := strings.Trim(notInIDs.ReplaceAllString(seg.id, "-"), "-")
		if len(chain) > 2 {
			run += ":" + ends[i-1]
		}
		d.join(seg.line, ends[i-1], ends[i], bore(seg), run)
	}
}

// looseEnd asks what may come from where a pipe leaves the drawing.
func (d *drawing) looseEnd(seg, connection *drawn, first bool) string {
	id := strings.Trim(notInIDs.ReplaceAllString(seg.id, "-"), "-") + "-end"
	if first {
		id = strings.TrimSuffix(id, "-end") + "-begin"
	}
	d.source(connection.line, id, "The pipe "+seg.id+" leaves the drawing here")
	return id
}

// looseNozzles asks what is on the nozzles to which no pipe comes.
func (d *drawing) looseNozzles() {
	for _, e := range d.top.parts {
		if e.tag != "Equipment" {
			continue
		}
		for _, n := range nozzles(e) {
			if n.links > 0 {
				continue
			}
			id := d.nozzleID(n)
			c, ok := d.ask(needed(n.line, id, "on", "No pipe comes to it. What is on it: a "+
				"cover or an instrument that stays (shut), or something through which energy can come (pipe)"), "shut", "pipe")
			if ok && strings.EqualFold(c.text, "pipe") {
				d.source(n.line, id+"-on", "On the nozzle "+id)
				d.join(n.line, id, id+"-on", bore(n), "")
			}
		}
	}
}

// oneSided asks what lies beyond a valve to which one pipe comes alone: it may be a drain, a vent, capped, or a pipe
// that is drawn elsewhere.
func (d *drawing) oneSided(c *drawn) {
	if c.tag != "PipingComponent" || c.links != 1 {
		return
	}
	id := d.plantID(c)
	at := slices.IndexFunc(d.rows["nodes"], func(r row) bool { return r.cells["id"].text == id })
	if at < 0 || d.rows["nodes"][at].cells["kind"].text != string(isolation.Valve) {
		return
	}
	r := d.rows["nodes"][at]
	beyond, ok := d.ask(needed(c.line, id, "beyond", "The drawing shows nothing beyond it. "+
		"Is it a drain or a vent to the open, is it capped, or does a pipe go on"), "drain", "vent", "capped", "pipe")
	switch word := strings.ToLower(beyond.text); {
	case !ok:
	case word == "drain" || word == "vent":
		r.cells["kind"], r.cells["role"] = cell{string(isolation.Opening), beyond.at}, cell{word, beyond.at}
		if mm := bore(c); mm != "" {
			r.cells["bore_mm"] = cell{mm, r.at}
		}
		d.fill(r, ifKnown(c.line, id, "elevation_m", "Level of its mouth, m above the base line"))
	case word == "pipe":
		d.source(c.line, id+"-on", "A pipe goes on beyond "+id)
		d.join(c.line, id, id+"-on", bore(c), "")
	}
}
