package planner

import (
	"math"
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/graph"
)

// Where the plant file does not tell a figure that the rules ask for, the source is judged without it, and the plan
// says so wherever the rules would ask for more if it were as high as can be: nothing is harmless because nobody wrote
// it down.

// tallestM is how high a line stands above the work at most, keel to masthead; an assumption on the safe side, so that
// an untold height is asked about only where it could matter.
const tallestM = 60

// sayFigures says of each source by which untold figures it might have to be cut by more.
func (k *task) sayFigures(say func(kind string, i int32, format string, a ...any)) {
	tell := func(j judged) {
		if what, demand := k.matters(j); what != "" {
			say(isolation.UnprovedFigure, j.source, "The plant file does not tell %s of %s. If it is high, the rules ask for "+
				"%s, and this plan has less. Find out before the work.", what, j.presses.Label(), demand)
		}
	}
	for _, w := range k.Sources {
		tell(judged{w.Node, k.pressing(w.Node), k.job.Exposures(), w.Bore, k.Zone})
	}
	for _, s := range k.keptSources() {
		on := k.keptFrom(s)
		tell(judged{s, k.pressingOn(s, on), []isolation.Exposure{isolation.Outside}, k.boreTo(s, on), on})
	}
}

// judged is a source as the rules judge it, and where it comes to.
type judged struct {
	source    int32
	presses   *isolation.Node
	exposures []isolation.Exposure
	bore      float64
	on        []int32
}

// untold is a figure of a source that the plant file leaves out, with what is put in its place to see what the rules
// would ask for at most.
type untold struct {
	what string
	put  func(n *isolation.Node, bore *float64)
}

// matters says which untold figures of a source might make the rules ask for more, and for what then: those that alone
// would, or where none does, all; "" of none.
func (k *task) matters(j judged) (what, demand string) {
	now, err := k.rules.DemandOfAll(j.presses, j.exposures, j.bore)
	if err != nil {
		return "", ""
	}
	asks := func(figures ...untold) (string, bool) {
		most, wide := *j.presses, j.bore
		for _, f := range figures {
			f.put(&most, &wide)
		}
		rule, err := k.rules.DemandOfAll(&most, j.exposures, wide)
		return rule.Demand, err == nil && isolation.DemandRank(rule.Demand) > isolation.DemandRank(now.Demand)
	}
	all := k.untold(j.source, j.on)
	demand, more := asks(all...)
	if !more {
		return "", ""
	}
	var alone []untold
	for _, f := range all {
		if _, more := asks(f); more {
			alone = append(alone, f)
		}
	}
	if len(alone) == 0 {
		alone = all
	}
	what = isolation.AndList(namesOf(alone, func(f untold) string { return f.what }))
	return what, isolation.DemandWordsFor(demand, j.presses)
}

// untold lists the figures of a source that the plant file leaves out, of those that rules ask for.
func (k *task) untold(source int32, on []int32) []untold {
	n := k.At(source)
	var out []untold
	if n.Energy.Nature() == isolation.Current && n.Volt == 0 {
		out = append(out, untold{"the voltage", func(n *isolation.Node, _ *float64) { n.Volt = math.Inf(1) }})
	}
	if !n.Energy.Flows() {
		return out
	}
	if !n.HasGauge && n.GaugeBar == 0 {
		out = append(out, untold{"the pressure", func(n *isolation.Node, _ *float64) { n.GaugeBar = math.Inf(1) }})
	}
	if p := k.silentPump(source, on); p != nil {
		out = append(out, untold{"what " + p.Label() + " adds to the pressure", func(n *isolation.Node, _ *float64) {
			n.GaugeBar = math.Inf(1)
		}})
	}
	if _, known := k.LevelOf(source); !known && n.Energy.Nature() == isolation.Liquid {
		weight := tallestM * k.BarPerMetre(source)
		out = append(out, untold{"the height", func(n *isolation.Node, _ *float64) { n.GaugeBar += weight }})
	}
	if !n.HasTemp && n.TempC == 0 {
		out = append(out, untold{"the temperature", veryHot})
	}
	if h := k.heatedUntold(source, on); h != nil {
		out = append(out, untold{"the temperature behind " + h.Label(), veryHot})
	}
	if k.usesBore() && graph.NewBores(k.asWide(), k.Ends, k.Marks(on)).From(source) == untoldMM {
		out = append(out, untold{"the bore of some pipe", func(_ *isolation.Node, bore *float64) { *bore = untoldMM }})
	}
	return out
}

// silentPump returns a pump that may run, and that a source passes before it comes to some nodes in service, of which
// the plant file does not tell by how much it raises the pressure; nil of none.
func (k *task) silentPump(source int32, on []int32) *isolation.Node {
	for i := range k.Plant.Nodes {
		n, d := &k.Plant.Nodes[i], k.Number(k.Plant.Nodes[i].Drive)
		if d < 0 || n.LiftsBar > 0 || k.InZone[i] || k.InZone[d] || k.isKept(d) || k.still[d] ||
			k.At(source).Energy.Nature() != isolation.Liquid {
			continue
		}
		if k.springs(source)[i] && k.passesOn(source, int32(i), on) {
			return n
		}
	}
	return nil
}

func veryHot(n *isolation.Node, _ *float64) { n.TempC, n.HasTemp = math.Inf(1), true }

// untoldMM stands for a bore that the plant file does not tell: wider than any that it may tell.
const untoldMM = 1e6

// asWide returns the links with every untold bore as wide as can be.
func (k *task) asWide() []isolation.Link {
	links := slices.Clone(k.Plant.Links)
	for i, e := range k.Ends {
		if l := &links[i]; l.BoreMM == 0 && e[0] >= 0 && e[1] >= 0 && !k.At(e[0]).Kind.IsElectrical() &&
			!k.At(e[1]).Kind.IsElectrical() {
			l.BoreMM = untoldMM
		}
	}
	return links
}

// keptFrom lists what is kept off from a source.
func (k *task) keptFrom(source int32) []int32 {
	var on []int32
	for _, h := range k.Keeps {
		if slices.Contains(h.From, source) {
			on = append(on, h.Node)
		}
	}
	return on
}

// sayHeat says of what is opened, machine by machine, that nothing asks how warm it is, where something hot comes to it
// in service and the plant file tells of no heat that it stores.
func (k *task) sayHeat(plan *isolation.Plan, say func(kind string, i int32, format string, a ...any)) {
	hottest := k.hottestAtWork()
	if hottest <= bareHandC || k.job.Exposure == isolation.Outside {
		return
	}
	said := map[string]bool{}
	for _, z := range k.Zone {
		n := k.At(z)
		m := k.machineOf(n.ID)
		if m == nil {
			m = k.Machine
		}
		machine := ""
		if m != nil {
			machine = m.ID
		}
		if n.Kind == isolation.Consumer || n.Kind.IsElectrical() || said[machine] ||
			slices.ContainsFunc(plan.Stored, func(c isolation.StoredCheck) bool {
				return c.Stored.Kind == "heat" && c.Machine == machine
			}) {
			continue
		}
		said[machine] = true
		say(isolation.UnprovedHeat, z, "Up to %.0f °C comes to %s, and the plant file does not tell what heat stays in it. "+
			"Measure before anybody touches it: %.0f °C at most, bare metal.", hottest, n.Label(), float64(bareHandC))
	}
}

// bareHandC is up to how many °C bare metal may have where hands work at it for ten minutes: ISO 13732-1, from memory.
const bareHandC = 48

// hottestAtWork returns up to how many °C a liquid or steam has in service that comes to the work. What is opened takes
// little heat from other gases.
func (k *task) hottestAtWork() float64 {
	hottest := 0.0
	for _, w := range k.Sources {
		switch n := k.pressing(w.Node); {
		case n.Energy.Nature() != isolation.Liquid && !slices.Contains(hot, n.Energy):
		case n.HasTemp:
			hottest = max(hottest, n.TempC)
		case slices.Contains(hot, n.Energy):
			hottest = max(hottest, 100)
		}
	}
	return hottest
}
