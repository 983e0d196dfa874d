package exchange

// content says what the cells of a column hold.
type content uint8

const (
	words  content = iota // one text
	figure                // a number
	flag                  // true or false
	list                  // several texts: ids between commas, spaces or line ends; sentences one a line
)

// column is one column of a sheet, or one attribute of a drawn node or edge.
type column struct {
	name  string
	holds content
	tells string // for the person who fills it in
}

// sheet is one sheet of a workbook.
type sheet struct {
	name    string
	columns []column
}

func (s *sheet) column(name string) *column {
	for i := range s.columns {
		if s.columns[i].name == name {
			return &s.columns[i]
		}
	}
	return nil
}

func (s *sheet) names() []string {
	out := make([]string, len(s.columns))
	for i, c := range s.columns {
		out[i] = c.name
	}
	return out
}

// The sheets of a workbook. The columns carry the names that the keys of the plant file have, apart from places, levels
// and viscosities, which take a cell for each figure.
var (
	plantSheet = sheet{"plant", []column{
		{"plant", words, "title of the plant"},
	}}
	fluidSheet = sheet{"fluids", []column{
		{"fluid", words, "short name, as used on the sheet of nodes"}, {"family", words, "such as residual fuel"},
		{"density_15", figure, "kg/m³ at 15 °C"}, {"at_1", figure, "°C"}, {"cst_1", figure, "cSt at that temperature"},
		{"at_2", figure, "°C"}, {"cst_2", figure, "cSt at that temperature"}, {"tension", figure, "N/m"},
	}}
	nodeSheet = sheet{"nodes", []column{
		{"id", words, "as painted on the label"}, {"kind", words,
			"source, vessel, junction, consumer, opening, a point, check-valve or automatic-valve"},
		{"name", words, "what people call it"}, {"deck", figure, "from the tank top upward"},
		{"frame", figure, "frame number"},
		{"side", words, "port, starboard or centre"}, {"energy", words, "sources: what it brings"},
		{"fluid", words, "from the sheet of fluids"},
		{"gauge_bar", figure, "bar gauge"}, {"temp_c", figure, "°C"}, {"volt", figure, "V"},
		{"elevation_m", figure, "m above the base line: a source's level, a vessel's bottom, an opening's mouth"},
		{"top_m", figure, "vessels: top, m above the base line"}, {"volume_l", figure, "vessels: litres"},
		{"lockable", flag, "points: can a lock be put on"}, {"normal", words, "position in service"},
		{"measure", words, "points without a lock: what more is done"}, {"awkward", figure, "0 easy to reach to 9 worst"},
		{"fails", words, "automatic valves: closed, open or stays"},
		{"supply", words, "automatic valves: the point that takes air or power away"},
		{"role", words, "openings: drain or vent"}, {"bore_mm", figure, "openings: mm"},
		{"heated_by", words, "vessels: the other side of the heater, or the electrical consumer that heats it"},
		{"lifts_bar", figure, "pumps: by how much it raises the pressure at most, bar"},
		{"drive", words, "pumps: the consumer that makes it run"},
		{"earthed", flag, "electrical sources: what they fed is earthed before work, also below 1000 V"},
	}}
	linkSheet = sheet{"links", []column{
		{"a", words, "id of one end"}, {"b", words, "id of the other"}, {"bore_mm", figure, "mm"},
		{"length_m", figure, "m along the pipe"},
		{"invert_a_m", figure, "level of the pipe's bottom at a, m"}, {"invert_b_m", figure, "the same at b"},
		{"one_way", flag, "true where in service it goes from a to b alone; isolation does not rely on it"},
		{"air_gap", flag, "true only where it falls freely from a to b over a gap that can be seen"},
	}}
	machineSheet = sheet{"machines", []column{
		{"id", words, "short name"}, {"name", words, "what people call it"}, {"nodes", list, "ids of its nodes"},
		{"standby", words, "machine that must run first"}, {"controls", list, "ids of the switches put to off"},
		{"shut_at_rest", list, "ids of the valves that are shut only when what turns stands still"},
		{"starts_shut", list, "ids of the valves that the starting routine opens, and nobody before"},
	}}
	storedSheet = sheet{"stored", []column{
		{"machine", words, "id of the machine"},
		{"kind", words, "rotation, heat, charge, gas, accumulator, spring, weight or liquid"},
		{"name", words, "what it is"},
		{"speed_rpm", figure, "rpm"}, {"coast_down_s", figure, "s"}, {"temp_c", figure, "°C"}, {"mass_kg", figure, "kg"},
		{"area_m2", figure, "m²"}, {"ambient_c", figure, "heat: air about it, °C"},
		{"contact_s", figure, "heat: how long skin touches it, s"},
		{"limit_c", figure, "heat: the company's own touch limit, as for a glove, °C"},
		{"limit_because", words, "heat: where the company says so"},
		{"volt", figure, "V"}, {"resistance_ohm", figure, "ohm"}, {"capacitance_uf", figure, "µF"},
		{"gauge_bar", figure, "bar gauge"}, {"precharge_bar", figure, "accumulators: bar gauge with no liquid in it"},
		{"volume_l", figure, "litres"}, {"restraint", words, "how it is held"},
	}}
	jobSheet = sheet{"jobs", []column{
		{"id", words, "short name"}, {"machine", words, "id of the machine"}, {"title", words, "what is done"},
		{"opens", list, "ids of what is opened"},
		{"kept_off", list, "ids of what is not opened, and nothing may come to it"},
		{"exposure", words, "outside, open, enter or hot work"}, {"hazards", list, "one a line"},
		{"precautions", list, "one a line"},
		{"protective", list, "protective equipment, one a line"},
		{"kinds", list, "kinds of work beside those of the exposure: electrical, high voltage, live work, aloft, ..."},
		{"adjoining", list, "hot work: adjoining spaces, one a line"},
		{"live_because", words, "live work: why it cannot be done dead"},
	}}
	gasSheet = sheet{"gases", []column{
		{"job", words, "id of the job"}, {"gas", words, "that the space may hold"},
		{"limit_ppm", figure, "exposure limit, ppm"}, {"because", words, "where the limit stands"},
	}}
	liveSheet = sheet{"live", []column{
		{"job", words, "id of the job"}, {"id", words, "part of its machine that may keep its current"},
		{"because", words, "why, in words"},
	}}
	deviationSheet = sheet{"deviations", []column{
		{"job", words, "id of the job"}, {"source", words, "that is cut by less than the rules ask for"},
		{"demand", words, "single or double"}, {"because", words, "why, in words"},
		{"measures", list, "what is done instead, one a line"},
	}}
	holdSheet = sheet{"holds", []column{
		{"job", words, "id of the job"}, {"id", words, "part of the work that is watched for longer than 10 minutes"},
		{"minutes", figure, "how long, after it has run out"}, {"because", words, "why, in words"},
	}}
	sheets = []*sheet{&plantSheet, &fluidSheet, &nodeSheet, &linkSheet, &machineSheet, &storedSheet, &jobSheet, &liveSheet,
		&deviationSheet, &gasSheet, &holdSheet}
)

// within names the sheets whose rows stand as lists inside the rows of another: their first column holds those ids.
var within = map[*sheet][]*sheet{&machineSheet: {&storedSheet}, &jobSheet: {&liveSheet, &deviationSheet, &gasSheet,
	&holdSheet}}

// cell is one filled cell, with where it stands in words.
type cell struct{ text, at string }

// row is one row of a sheet, or one drawn node or edge. Cells are named by their column.
type row struct {
	at    string
	cells map[string]cell
}

// book is everything that came in, sheet by sheet.
type book struct {
	file    string
	rows    map[string][]row
	leftOut []string // names of attributes that were not taken over
	faults  []RowError
	more    int
}
