package plantfile

// small is a sound plant to which the cases below add one fault each.
const small = `plant: Small
fluids:
  MDO: {family: distillate fuel, density_15: 860, viscosity: [{at: 40, cst: 3}, {at: 100, cst: 1.2}], tension: 0.028}
nodes:
  - {id: tank, kind: source, energy: fuel, fluid: MDO, gauge_bar: 0.3, elevation_m: 5}
  - {id: board, kind: source, energy: electrical, volt: 440}
  - {id: V1, kind: valve}
  - {id: Q1, kind: breaker}
  - {id: pump, kind: vessel, fluid: MDO, elevation_m: 1, top_m: 1.4, volume_l: 4}
links:
  - {a: tank, b: V1}
  - {a: V1, b: pump}
  - {a: board, b: Q1}
machines:
  - {id: P1, nodes: [pump]}
jobs:
  - {id: seal, machine: P1, opens: [pump]}
`

// plantFaults are files that Read refuses. add is put at the end of the list that at names; text, if
// given, is the whole file.
var plantFaults = []struct{ name, at, add, text string }{
	{name: "hold at a part that is not opened", at: "jobs",
		add: "- {id: k, machine: P1, opens: [pump], holds: [{id: V1, minutes: 30, because: thick}]}"},
	{name: "hold that is too short", at: "jobs",
		add: "- {id: k, machine: P1, opens: [pump], holds: [{id: pump, minutes: 5, because: thick}]}"},
	{name: "hold without a time", at: "jobs",
		add: "- {id: k, machine: P1, opens: [pump], holds: [{id: pump, because: thick}]}"},
	{name: "empty", text: " "},
	{name: "only a comment", text: "# nothing yet\n"},
	{name: "not YAML", text: "nodes: [\n"},
	{name: "a tab", text: "nodes:\n\t- {id: V1}\n"},
	{name: "plain words", text: "the plant is fine"},
	{name: "a list", text: "- nodes\n- links\n"},
	{name: "two documents", text: small + "---\nplant: Another\n"},
	{name: "anchors", text: "nodes:\n  - &v {id: V1, kind: valve}\n  - *v\n"},
	{name: "merge key", text: "nodes:\n  - {<<: {id: V1}, kind: valve}\n"},
	{name: "tag", text: "plant: !!binary aGVsbG8=\n"},
	{name: "not UTF-8", text: "plant: Gr\xfc\xdfe\n"},
	{name: "a character that turns the line about", text: "nodes:\n  - {id: V1, kind: valve, name: \"in\u202elet\"}\n"},
	{name: "no nodes", text: "plant: Nothing\n"},
	{name: "key twice", text: "plant: A\nplant: B\n"},

	{name: "unknown kind of work", at: "jobs", add: "- {id: k, machine: P1, opens: [pump], kinds: [hotwork]}"},
	{name: "entry behind what opening asks for", at: "jobs",
		add: "- {id: k, machine: P1, opens: [pump], exposure: open, kinds: [entry]}"},
	{name: "hot work behind what opening asks for", at: "jobs",
		add: "- {id: k, machine: P1, opens: [pump], kinds: [hot work]}"},
	{name: "live work without its reason", at: "jobs",
		add: "- {id: k, machine: P1, opens: [pump], kinds: [live work]}"},
	{name: "a reason for live work that is none", at: "jobs",
		add: "- {id: k, machine: P1, opens: [pump], live_because: x}"},
	{name: "gases without an entry", at: "jobs",
		add: "- {id: k, machine: P1, opens: [pump], gases: [{gas: benzene, limit_ppm: 1, because: x}]}"},
	{name: "a gas that is always tested", at: "jobs",
		add: "- {id: k, machine: P1, opens: [pump], exposure: enter, gases: [{gas: H2S, limit_ppm: 50, because: x}]}"},
	{name: "a gas without its limit", at: "jobs",
		add: "- {id: k, machine: P1, opens: [pump], exposure: enter, gases: [{gas: benzene, because: x}]}"},
	{name: "adjoining spaces without hot work", at: "jobs",
		add: "- {id: k, machine: P1, opens: [pump], adjoining: [void]}"},
	{name: "top-level key unknown", text: small + "pipes: []\n"},
	{name: "heated by a valve", at: "nodes", add: "- {id: H, kind: vessel, heated_by: V1}"},
	{name: "driven by a board", at: "nodes", add: "- {id: H, kind: vessel, drive: board}"},
	{name: "driven by the unknown", at: "nodes", add: "- {id: H, kind: vessel, drive: motr}"},
	{name: "a pump that lifts nothing", at: "nodes", add: "- {id: H, kind: vessel, lifts_bar: 0}"},
	{name: "earthed steam", at: "nodes", add: "- {id: x, kind: source, energy: steam, earthed: true}"},
	{name: "node is no mapping", at: "nodes", add: "- V2"},
	{name: "node without id", at: "nodes", add: "- {kind: valve}"},
	{name: "node without kind", at: "nodes", add: "- {id: V2}"},
	{name: "value left empty", at: "nodes", add: "- {id: V2, kind: valve, name: }"},
	{name: "a kind by its everyday name", at: "nodes", add: "- {id: PX, kind: Pump}"},
	{name: "unknown key", at: "nodes", add: "- {id: V2, kind: valve, lokable: true}"},
	{name: "key on the wrong kind", at: "nodes", add: "- {id: J1, kind: junction, gauge_bar: 3}"},
	{name: "unknown kind", at: "nodes", add: "- {id: V2, kind: vavle}"},
	{name: "unknown energy, near", at: "nodes", add: "- {id: x, kind: source, energy: stem}"},
	{name: "unknown energy, far", at: "nodes", add: "- {id: x, kind: source, energy: phlogiston}"},
	{name: "source without energy", at: "nodes", add: "- {id: x, kind: source}"},
	{name: "pressure on electricity", at: "nodes", add: "- {id: x, kind: source, energy: electrical, gauge_bar: 3}"},
	{name: "volts on steam", at: "nodes", add: "- {id: x, kind: source, energy: steam, volt: 440}"},
	{name: "id with a comma", at: "nodes", add: "- {id: \"V,2\", kind: valve}"},
	{name: "id that begins with a dash", at: "nodes", add: "- {id: -V2, kind: valve}"},
	{name: "duplicate id", at: "nodes", add: "- {id: V1, kind: junction}"},
	{name: "normal that a valve can't have", at: "nodes", add: "- {id: V2, kind: valve, normal: fitted}"},
	{name: "normal that a blank can't have", at: "nodes", add: "- {id: B1, kind: blank, normal: open}"},
	{name: "below absolute zero", at: "nodes", add: "- {id: x, kind: source, energy: steam, temp_c: -300}"},
	{name: "below a vacuum", at: "nodes", add: "- {id: x, kind: source, energy: steam, gauge_bar: -2}"},
	{name: "a unit in the figure", at: "nodes", add: "- {id: x, kind: source, energy: steam, gauge_bar: 7 bar}"},
	{name: "a decimal comma", at: "nodes", add: "- {id: x, kind: source, energy: steam, gauge_bar: 0,6}"},
	{name: "infinite", at: "nodes", add: "- {id: x, kind: source, energy: steam, gauge_bar: .inf}"},
	{name: "a leading zero", at: "nodes", add: "- {id: x, kind: source, energy: steam, gauge_bar: 010}"},
	{name: "text for a flag", at: "nodes", add: "- {id: V2, kind: valve, lockable: yes}"},
	{name: "an escaped character that shows nothing", at: "nodes", add: `- {id: V2, kind: valve, name: "in\u202elet"}`},
	{name: "half a place", at: "nodes", add: "- {id: V2, kind: valve, place: {deck: 2}}"},
	{name: "half a deck", at: "nodes", add: "- {id: V2, kind: valve, place: {deck: 2.5, frame: 3, side: port}}"},
	{name: "unknown side", at: "nodes", add: "- {id: V2, kind: valve, place: {deck: 2, frame: 3, side: center}}"},
	{name: "unknown fluid", at: "nodes", add: "- {id: x, kind: source, energy: fuel, fluid: MGO}"},
	{name: "vessel upside down", at: "nodes", add: "- {id: x, kind: vessel, elevation_m: 3, top_m: 2}"},
	{name: "vessel without a bottom", at: "nodes", add: "- {id: x, kind: vessel, top_m: 2}"},
	{name: "empty vessel", at: "nodes", add: "- {id: x, kind: vessel, volume_l: 0}"},
	{name: "unknown role", at: "nodes", add: "- {id: D1, kind: opening, role: door}"},
	{name: "unknown way to fail", at: "nodes", add: "- {id: A1, kind: automatic-valve, fails: shut, supply: V1}"},
	{name: "supply that does not exist", at: "nodes", add: "- {id: A1, kind: automatic-valve, fails: closed, supply: V9}"},
	{name: "supply that is no point", at: "nodes", add: "- {id: A1, kind: automatic-valve, fails: closed, supply: tank}"},
	{name: "supply of itself", at: "nodes", add: "- {id: A1, kind: automatic-valve, fails: closed, supply: A1}"},
	{name: "hard to reach beyond measure", at: "nodes", add: "- {id: V2, kind: valve, awkward: 10}"},

	{name: "viscosity at one temperature", at: "fluids", add: "LO: {viscosity: [{at: 40, cst: 100}]}"},
	{name: "viscosity that rises", at: "fluids", add: "LO: {viscosity: [{at: 40, cst: 10}, {at: 100, cst: 100}]}"},
	{name: "tension in mN/m", at: "fluids", add: "LO: {tension: 30}"},
	{name: "fluid with an unknown key", at: "fluids", add: "LO: {densty_15: 900}"},

	{name: "link without an end", at: "links", add: "- {a: V1}"},
	{name: "link to nothing", at: "links", add: "- {a: V1, b: pmup}"},
	{name: "link to itself", at: "links", add: "- {a: V1, b: V1}"},
	{name: "negative bore", at: "links", add: "- {a: V1, b: pump, bore_mm: -50}"},
	{name: "bore in metres of nothing", at: "links", add: "- {a: V1, b: pump, bore_mm: 0}"},
	{name: "absurd length", at: "links", add: "- {a: V1, b: pump, length_m: 65000}"},
	{name: "one invert", at: "links", add: "- {a: V1, b: pump, invert_m: 1.2}"},
	{name: "steeper than upright", at: "links", add: "- {a: V1, b: pump, length_m: 2, invert_m: [4, 1.2]}"},
	{name: "below the vessel", at: "links", add: "- {a: V1, b: pump, length_m: 2, invert_m: [1, 0.5]}"},
	{name: "above the vessel", at: "links", add: "- {a: V1, b: pump, length_m: 2, invert_m: [1, 1.9]}"},
	{name: "cable with a bore", at: "links", add: "- {a: Q1, b: pump, bore_mm: 20}"},

	{name: "machine of unknown nodes", at: "machines", add: "- {id: P2, nodes: [pmup]}"},
	{name: "machine twice", at: "machines", add: "- {id: P1}"},
	{name: "standby that does not exist", at: "machines", add: "- {id: P2, standby: P3}"},
	{name: "standby of itself", at: "machines", add: "- {id: P2, standby: P2}"},
	{name: "control that nobody can turn", at: "machines", add: "- {id: P2, controls: [pump]}"},
	{name: "unknown stored energy", at: "machines", add: "- {id: P2, stored: [{kind: rotaton, speed_rpm: 7200}]}"},
	{name: "rotation without a speed", at: "machines", add: "- {id: P2, stored: [{kind: rotation}]}"},
	{name: "rotation with volts", at: "machines", add: "- {id: P2, stored: [{kind: rotation, speed_rpm: 7200, volt: 4}]}"},
	{name: "a touch limit without a reason", at: "machines",
		add: "- {id: P2, stored: [{kind: heat, temp_c: 90, limit_c: 60}]}"},
	{name: "starts shut at a breaker", at: "machines", add: "- {id: P2, starts_shut: [Q1]}"},
	{name: "same node twice", at: "machines", add: "- {id: P2, nodes: [pump, pump]}"},

	{name: "job on an unknown machine", at: "jobs", add: "- {id: x, machine: P2, opens: [pump]}"},
	{name: "job that opens a source", at: "jobs", add: "- {id: x, opens: [tank]}"},
	{name: "job that opens nothing", at: "jobs", add: "- {id: x}"},
	{name: "job that opens an empty list", at: "jobs", add: "- {id: x, opens: []}"},
	{name: "job that opens the unknown", at: "jobs", add: "- {id: x, opens: [pomp]}"},
	{name: "unknown exposure", at: "jobs", add: "- {id: x, opens: [pump], exposure: inside}"},
	{name: "keeps off a valve", at: "jobs", add: "- {id: x, opens: [pump], kept_off: [V1]}"},
	{name: "deviation from the unknown", at: "jobs",
		add: "- {id: x, opens: [pump], deviations: [{source: tnk, demand: single, because: old, measures: [watch]}]}"},
	{name: "deviation from a valve", at: "jobs",
		add: "- {id: x, opens: [pump], deviations: [{source: V1, demand: single, because: old, measures: [watch]}]}"},
	{name: "deviation without measures", at: "jobs",
		add: "- {id: x, opens: [pump], deviations: [{source: tank, demand: single, because: old}]}"},
	{name: "deviation to a blank", at: "jobs",
		add: "- {id: x, opens: [pump], deviations: [{source: tank, demand: blank, because: old, measures: [watch]}]}"},
	{name: "deviation for an entry", at: "jobs", add: "- {id: x, opens: [pump], exposure: enter, " +
		"deviations: [{source: tank, demand: single, because: old, measures: [watch]}]}"},
	{name: "job twice", at: "jobs", add: "- {id: seal, opens: [pump]}"},

	{name: "several at once, in the order of the lines", text: `nodes:
  - {id: V1, kind: valve, colour: red}
  - {id: V1, kind: valve, normal: ajar}
links:
  - {a: V1, b: V2, bore_mm: thick}
jobs:
  - {id: j, opens: [V3]}
`},
}
