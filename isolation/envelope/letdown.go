package envelope

import (
	"fmt"
	"slices"

	"stillwatch/isolation"
)

// Early leaves of the shut points those that are shut before the drains are opened.
func (k *Work) Early(shut []bool) []bool {
	out := slices.Clone(shut)
	for i := range out {
		out[i] = out[i] && !k.At(int32(i)).BreaksJoint()
	}
	return out
}

// letDown opens a drain or vent for every joint that is broken, where none that is open already lets its line down.
func (k *Work) letDown(d *DrawOff, shut, live []bool) {
	early := k.Early(shut)
	for i := range shut {
		b := int32(i)
		if !shut[i] || early[i] || k.bled(d, b, early) {
			continue
		}
		if o := k.lowest(k.OpeningsFrom(b, early, live)); o >= 0 {
			d.addOf(k.natureAt(b), o, fmt.Sprintf("Lets the line down before the joint at %s is broken, and stays open to "+
				"show that nothing comes in.", k.At(b).Label()))
		}
	}
}

// natureAt returns the nature of what the nearest source would bring to a point; 0 of none.
func (k *Work) natureAt(i int32) isolation.Nature {
	var all []int32
	for _, w := range k.Sources {
		all = append(all, w.Node)
	}
	if s := k.Nearest(i, all); s >= 0 {
		return k.At(s).Energy.Nature()
	}
	return 0
}
