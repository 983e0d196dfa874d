package exchange

import (
	_ "embed" // the plant of the template
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
)

//go:embed example.yaml
var exampleText []byte

// WriteTemplate writes a workbook that shows how one is filled in: a small plant, every column with what it holds as a
// comment at its head, and lists to choose from where the plant file knows only certain words. ReadXLSX reads it.
func WriteTemplate(w io.Writer) error {
	p, err := plantfile.Read("example", exampleText)
	if err != nil {
		return fmt.Errorf("write template: %w", err)
	}
	return WriteXLSX(w, p)
}

// WriteXLSX writes a plant as a workbook. It is the inverse of ReadXLSX (TestWorkbookGivesThePlantBack).
func WriteXLSX(w io.Writer, p *isolation.Plant) error {
	f := excelize.NewFile()
	defer f.Close()
	head, err := f.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true},
		Border: []excelize.Border{{Type: "bottom", Style: 1, Color: "000000"}}})
	if err != nil {
		return fmt.Errorf("write workbook: %w", err)
	}
	table := rowsOf(p)
	for i, s := range sheets {
		if i == 0 {
			err = f.SetSheetName("Sheet1", s.name)
		} else {
			_, err = f.NewSheet(s.name)
		}
		if err == nil {
			err = writeSheet(f, s, head, table[s.name])
		}
		if err != nil {
			return fmt.Errorf("write workbook: sheet %s: %w", s.name, err)
		}
	}
	if err := writeNotes(f); err != nil {
		return fmt.Errorf("write workbook: %w", err)
	}
	if err := f.Write(w); err != nil {
		return fmt.Errorf("write workbook: %w", err)
	}
	return nil
}

func writeSheet(f *excelize.File, s *sheet, head int, rows []map[string]any) error {
	for i, c := range s.columns {
		at, err := excelize.CoordinatesToCellName(i+1, 1)
		if err != nil {
			return err
		}
		if err := f.SetCellStr(s.name, at, c.name); err != nil {
			return err
		}
		if err := f.AddComment(s.name, excelize.Comment{Cell: at, Text: c.tells}); err != nil {
			return err
		}
		if err := choices(f, s, i); err != nil {
			return err
		}
	}
	for n, r := range rows {
		cells := make([]any, len(s.columns))
		for i, c := range s.columns {
			cells[i] = r[c.name]
		}
		if err := f.SetSheetRow(s.name, "A"+strconv.Itoa(n+2), &cells); err != nil {
			return err
		}
	}
	if err := f.SetRowStyle(s.name, 1, 1, head); err != nil {
		return err
	}
	if err := f.SetColWidth(s.name, "A", "Z", 14); err != nil {
		return err
	}
	return f.SetPanes(s.name, &excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"})
}

// chosen are the words to choose from in a column, by sheet and column. Longer lists do not fit a workbook's own list
// of 255 characters; there the notes name the words.
var chosen = map[string][]string{
	"nodes kind": plantfile.Words(isolation.Kinds()),
	"nodes side": {"port", "starboard", "centre"}, "nodes lockable": {"TRUE", "FALSE"},
	"nodes normal": plantfile.Words(isolation.Positions()),
	"nodes fails":  {"closed", "open", "stays"}, "nodes role": {"drain", "vent"}, "links one_way": {"TRUE", "FALSE"},
	"links air_gap": {"TRUE", "FALSE"}, "nodes earthed": {"TRUE", "FALSE"},
	"stored kind":   plantfile.StoredKinds(),
	"jobs exposure": plantfile.Words(isolation.Exposures()),
}

func choices(f *excelize.File, s *sheet, i int) error {
	list, ok := chosen[s.name+" "+s.columns[i].name]
	if !ok {
		return nil
	}
	letter, err := excelize.ColumnNumberToName(i + 1)
	if err != nil {
		return err
	}
	v := excelize.NewDataValidation(true)
	v.Sqref = fmt.Sprintf("%s2:%s5000", letter, letter)
	if err := v.SetDropList(list); err != nil {
		return err
	}
	return f.AddDataValidation(s.name, v)
}

// writeNotes adds the sheet that ReadXLSX leaves alone.
func writeNotes(f *excelize.File) error {
	if _, err := f.NewSheet("notes"); err != nil {
		return err
	}
	var energies []string
	for _, e := range isolation.Energies() {
		energies = append(energies, string(e))
	}
	for i, s := range []string{
		"One row for each thing. What is left empty is left out; what a kind of node has no use for must stay empty.",
		"Lists of ids: between commas or spaces. Lists of sentences (hazards, precautions, protective): one a line inside " +
			"the cell.",
		"Energies of sources: " + strings.Join(energies, ", ") + ".",
		"Point at the head of a column to read what it holds and in which unit.",
		"Sheets whose names begin with notes are not read.",
	} {
		if err := f.SetCellStr("notes", "A"+strconv.Itoa(i+1), s); err != nil {
			return err
		}
	}
	return f.SetColWidth("notes", "A", "A", 120)
}

// rowsOf returns a plant's rows, sheet by sheet; a value that a node does not have is absent.
func rowsOf(p *isolation.Plant) map[string][]map[string]any {
	t := map[string][]map[string]any{}
	if p.Title != "" {
		t["plant"] = append(t["plant"], map[string]any{"plant": p.Title})
	}
	for _, name := range slices.Sorted(maps.Keys(p.Fluids)) {
		f := p.Fluids[name]
		r := filled("fluid", name, "family", f.Family, "density_15", f.Density15, "tension", f.Tension)
		for i, v := range f.Viscosity {
			n := strconv.Itoa(i + 1)
			r["at_"+n], r["cst_"+n] = v.At, v.CSt
		}
		t["fluids"] = append(t["fluids"], r)
	}
	for i := range p.Nodes {
		t["nodes"] = append(t["nodes"], nodeRow(&p.Nodes[i]))
	}
	for _, k := range p.Links {
		r := filled("a", string(k.A), "b", string(k.B), "bore_mm", k.BoreMM, "length_m", k.LengthM, "one_way", k.OneWay,
			"air_gap", k.AirGap)
		if k.HasLevel {
			r["invert_a_m"], r["invert_b_m"] = k.InvertM[0], k.InvertM[1]
		}
		t["links"] = append(t["links"], r)
	}
	for _, m := range p.Machines {
		t["machines"] = append(t["machines"], filled("id", m.ID, "name", m.Name, "nodes", joinIDs(m.Nodes), "standby",
			m.Standby, "controls", joinIDs(m.Controls), "starts_shut", joinIDs(m.StartsShut),
			"shut_at_rest", joinIDs(m.ShutAtRest)))
		for _, s := range m.Stored {
			t["stored"] = append(t["stored"], filled("machine", m.ID, "kind", s.Kind, "name", s.Name, "speed_rpm", s.SpeedRPM,
				"coast_down_s", s.CoastDownS,
				"temp_c", s.TempC, "mass_kg", s.MassKg, "area_m2", s.AreaM2, "ambient_c", s.AmbientC, "contact_s", s.ContactS,
				"limit_c", s.LimitC, "limit_because", s.LimitBecause,
				"volt", s.Volt, "resistance_ohm", s.ResistanceOhm, "capacitance_uf", s.CapacitanceUF, "gauge_bar", s.GaugeBar,
				"precharge_bar", s.PrechargeBar, "volume_l", s.VolumeL, "restraint", s.Restraint))
		}
	}
	for _, j := range p.Jobs {
		t["jobs"] = append(t["jobs"], filled("id", j.ID, "machine", j.Machine, "title", j.Title, "opens", joinIDs(j.Opens),
			"kept_off", joinIDs(j.KeptOff),
			"exposure", string(j.Exposure),
			"hazards", oneALine(j.Hazards), "precautions", oneALine(j.Precautions), "protective", oneALine(j.Protective),
			"kinds", oneALine(j.WorkKinds), "adjoining", oneALine(j.Adjoining),
			"live_because", j.LiveBecause))
		for _, g := range j.Gases {
			t["gases"] = append(t["gases"], filled("job", j.ID, "gas", g.Gas, "limit_ppm", g.LimitPPM, "because", g.Because))
		}
		for _, part := range j.Live {
			t["live"] = append(t["live"], filled("job", j.ID, "id", string(part.ID), "because", part.Because))
		}
		for _, h := range j.Holds {
			t["holds"] = append(t["holds"], filled("job", j.ID, "id", string(h.ID), "minutes", h.Minutes, "because", h.Because))
		}
		for _, d := range j.Deviations {
			t["deviations"] = append(t["deviations"], filled("job", j.ID, "source", string(d.Source), "demand", d.Demand,
				"because", d.Because, "measures", oneALine(d.Measures)))
		}
	}
	return t
}

func nodeRow(n *isolation.Node) map[string]any {
	r := filled("id", string(n.ID), "kind", string(n.Kind), "name", n.Name, "side", n.Place.Side, "energy",
		string(n.Energy), "fluid", n.Fluid,
		"volt", n.Volt, "volume_l", n.VolumeL, "measure", n.Measure, "awkward", n.Awkward,
		"fails", n.Fails, "supply", string(n.Supply), "role", n.Role, "bore_mm", n.BoreMM, "normal", string(n.Normal),
		"earthed", n.Earthed, "heated_by", string(n.HeatedBy), "lifts_bar", n.LiftsBar, "drive", string(n.Drive))
	if !n.Place.IsZero() {
		r["deck"], r["frame"] = n.Place.Deck, n.Place.Frame
	}
	if n.HasGauge {
		r["gauge_bar"] = n.GaugeBar
	}
	if n.HasTemp {
		r["temp_c"] = n.TempC
	}
	if n.HasElevation {
		r["elevation_m"] = n.ElevationM
	}
	if n.HasElevation && n.TopM > n.ElevationM {
		r["top_m"] = n.TopM
	}
	if n.Kind.IsMoved() {
		r["lockable"] = n.Lockable
	}
	return r
}

// filled returns a row of the pairs of name and value whose value is not empty, zero or false.
func filled(pairs ...any) map[string]any {
	r := map[string]any{}
	for i := 0; i+1 < len(pairs); i += 2 {
		switch v := pairs[i+1]; v {
		case "", 0.0, 0, false:
		default:
			r[pairs[i].(string)] = v
		}
	}
	return r
}

// oneALine writes sentences one a line; a line end inside one becomes a space.
func oneALine[W ~string](list []W) string {
	out := make([]string, len(list))
	for i, s := range list {
		out[i] = strings.Join(strings.Fields(string(s)), " ")
	}
	return strings.Join(out, "\n")
}

func joinIDs(ids []isolation.NodeID) string {
	out := make([]string, len(ids))
	for i, id := range ids {
		out[i] = string(id)
	}
	return strings.Join(out, ", ")
}
