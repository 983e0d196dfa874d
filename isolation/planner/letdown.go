package planner

import (
	"fmt"

	"stillwatch/isolation/envelope"
	"stillwatch/isolation/graph"
)

// A joint is broken for a blank or a spool only in a line that has been let down. So its step comes after the drains
// and vents, and until then the line is held by the valves alone: what counts for the drains is what is shut early.

// jointWhy says what must be open before the joint at a blank or spool is broken: the nearest, and rather one that
// stands not beyond the work.
func (k *task) jointWhy(i int32, d envelope.DrawOff, early []bool) string {
	way := graph.WayTo(k.Out, []int32{i}, d.Has, func(j int32) bool { return early[j] || k.InZone[j] })
	if way == nil {
		way = graph.WayTo(k.Out, []int32{i}, d.Has, func(j int32) bool { return early[j] })
	}
	if way == nil {
		return ""
	}
	return fmt.Sprintf(" Its joint is broken only when %s is open and blows and runs no more.",
		k.At(way[len(way)-1]).Label())
}
