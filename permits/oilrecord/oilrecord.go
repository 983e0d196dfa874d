package oilrecord

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// Contents says whether what was drained is oil, as far as the register can know.
type Contents string

// What was drained. Unclear is what no fluid is named for, or what may hold oil in water.
const (
	Oil     Contents = "oil"
	NotOil  Contents = "not oil"
	Unclear Contents = "unclear"
)

// oilFamilies and waterFamilies are the families of fluids that a plant file may name.
var (
	oilFamilies   = []string{"residual fuel", "distillate fuel", "lubricating oil"}
	waterFamilies = []string{"water", "steam condensate"}
)

// contentsOf tells oil from water by the fluid's family. Where the plant file names no fluid, or one that may hold oil
// in water, only a person can tell.
func contentsOf(s isolation.Section) Contents {
	family, fluid := "", strings.ToLower(s.Fluid)
	if s.Basis != nil {
		family = string(s.Basis.Fluid.Family)
	}
	named := s.Basis != nil && s.Basis.Fluid.Name != ""
	mixed := slices.ContainsFunc([]string{"bilge", "oily", "slop", "emulsion"},
		func(w string) bool { return strings.Contains(fluid, w) })
	switch {
	case mixed:
		return Unclear
	case slices.Contains(oilFamilies, family):
		return Oil
	case slices.Contains(waterFamilies, family) && named:
		return NotOil
	}
	return Unclear
}

// Total is how much of one fluid went into one tank, over every record of a permit.
type Total struct {
	Tank        string // as it was first written; "" if nobody wrote where it went
	Fluid       string
	Contents    Contents
	Litres      float64 // sum of what each record adds, what came in the holds included
	Records     []Record
	First, Last time.Time
}

// Record is one record in a total.
type Record struct {
	Section, Name string
	Litres        float64 // more than the section's record before it; less than 0 where that one said too much
	At            time.Time
	Entry         int64
}

// From returns the names of the sections, each once, in the order of the records.
func (t Total) From() []string {
	var out []string
	for _, r := range t.Records {
		if !slices.Contains(out, r.Name) {
			out = append(out, r.Name)
		}
	}
	return out
}

// Totals returns the running totals of what was drained, by tank and fluid, from a permit's entries; those of other
// permits are passed over. A record
// says what has come out of its section in all, so it adds what it has more than the one before. Tanks are the same if
// their names are, but for capitals and spaces. They come in the order of their first record.
func Totals(id permits.PermitID, drains []permits.DrainState, entries []permits.Entry) []Total {
	var out []Total
	before := map[string]float64{}
	for _, e := range entries {
		a, is := e.Act.(permits.RecordDrain)
		i := slices.IndexFunc(drains, func(d permits.DrainState) bool { return d.Section.ID == a.Section })
		if !is || e.Permit != id || i < 0 {
			continue
		}
		s := drains[i].Section
		r := Record{Section: s.ID, Name: s.Name, Litres: a.Reading.OutL + a.Reading.HoldInL - before[s.ID], At: e.At,
			Entry: e.N}
		before[s.ID] += r.Litres
		tank := a.Tank()
		k := slices.IndexFunc(out, func(t Total) bool { return strings.EqualFold(t.Tank, tank) && t.Fluid == s.Fluid })
		if k < 0 {
			out = append(out, Total{Tank: tank, Fluid: s.Fluid, Contents: contentsOf(s), First: e.At})
			k = len(out) - 1
		}
		t := &out[k]
		t.Litres, t.Last = t.Litres+r.Litres, e.At
		t.Records = append(t.Records, r)
	}
	return slices.DeleteFunc(out, func(t Total) bool { return t.Litres <= 0 })
}

// Draft is the draft of one entry for the Oil Record Book: it is offered to the officer, who writes the book; the
// register never does. Code is "C" where what was drained is oil and went into a tank that is called one for oil
// residues; else it is "" and the draft leaves the code open.
type Draft struct {
	Tank  string
	Code  string
	Lines []string
}

// blank is what the officer fills in.
const blank = "______"

// oilRecordSource: facts of the book, second hand.
const oilRecordSource = "MARPOL Annex I, Oil Record Book Part I, code C, items 11.1 to 11.4 (second hand: check " +
	"against the book aboard)"

// Drafts returns a draft for each tank that took oil, or what may hold oil, dated in the ship's zone. Only what
// the register knows is filled in; blanks are the officer's. Water gives none.
func Drafts(totals []Total, zone *time.Location) []Draft {
	var tanks []string
	byTank := map[string][]Total{}
	for _, t := range totals {
		if t.Contents == NotOil {
			continue
		}
		key := strings.ToLower(t.Tank)
		if byTank[key] == nil {
			tanks = append(tanks, key)
		}
		byTank[key] = append(byTank[key], t)
	}
	out := make([]Draft, 0, len(tanks))
	for _, key := range tanks {
		out = append(out, draftFor(byTank[key], zone))
	}
	return out
}

// receiver is what a tank's name says of it.
type receiver uint8

const (
	unclearTank receiver = iota
	residueTank          // one for oil residues, by its name
	elsewhere            // a drum, a bilge well and the like: other codes
)

// The words by which people call such places. What the ship's certificate lists counts, not the name; the draft says
// so.
var (
	residueWords   = []string{"sludge", "oil residue", "residue tank", "waste oil", "separated oil"}
	elsewhereWords = []string{"drum", "bilge", "can", "canister", "jerrycan", "bucket", "barrel", "container", "tray",
		"save-all", "scupper", "overboard", "deck", "tote", "tarpaulin", "rag", "rags"}
)

func receiverOf(tank string) receiver {
	name := strings.ToLower(tank)
	wordsOf := strings.FieldsFunc(name, func(r rune) bool {
		return r == ' ' || r == ',' || r == '/' || r == '(' ||
			r == ')'
	})
	says := func(w string) bool {
		return slices.Contains(wordsOf, w) || slices.Contains(wordsOf, w+"s") || strings.Contains(w, " ") &&
			strings.Contains(name, w)
	}
	switch {
	case slices.ContainsFunc(elsewhereWords, says):
		return elsewhere
	case slices.ContainsFunc(residueWords, says):
		return residueTank
	}
	return unclearTank
}

// draftFor writes the draft of one tank.
func draftFor(totals []Total, zone *time.Location) Draft {
	d := Draft{Tank: totals[0].Tank}
	allOil := !slices.ContainsFunc(totals, func(t Total) bool { return t.Contents != Oil })
	where := receiverOf(d.Tank)
	if where == residueTank && allOil {
		d.Code = "C"
	}
	add := func(s string) { d.Lines = append(d.Lines, s) }
	add("Draft for the Oil Record Book, offered and not written: the officer in charge checks every figure and writes " +
		"the book.")
	add("Date: " + dates(totals, zone))
	if d.Code == "C" {
		add("Code: C")
		add("11.1 Tank: " + d.Tank + " (as the certificate's supplement names it: " + blank + ")")
		add("11.2 Capacity: " + blank + " m³")
		add("11.3 Retained in it: " + blank + " m³")
		add("11.4 Collected by manual operation: " + quantity(totals))
	} else {
		add("Code: " + blank + " (" + whyOpen(where, allOil) + ")")
		add("Went to: " + orBlank(d.Tank))
		add("Quantity: " + quantity(totals))
	}
	add("Officer's signature: " + blank + "  Master's, under the page: " + blank)
	add("Source: " + oilRecordSource)
	return d
}

// whyOpen says why the code is the officer's to choose.
func whyOpen(where receiver, allOil bool) string {
	switch {
	case where == elsewhere:
		return "C is for tanks for oil residues; into a drum or a bilge well other codes apply"
	case !allOil:
		return "the register does not know whether all of it is oil"
	}
	return "C, items 11.1 to 11.4, if that is a tank for oil residues by the certificate's supplement; else other codes " +
		"apply"
}

// quantity returns how much from where.
func quantity(totals []Total) string {
	litres := 0.0
	var from []string
	for _, t := range totals {
		litres += t.Litres
		from = append(from, strings.Join(t.From(), ", ")+" ("+t.Fluid+")")
	}
	return cubic(litres) + " m³ (" + litresOf(litres) + " L), from " + strings.Join(from, "; ")
}

// dates returns the day of the last record, in the form of the book (from memory), and that of the first if it is
// another.
func dates(totals []Total, zone *time.Location) string {
	first, last := totals[0].First, totals[0].Last
	for _, t := range totals {
		if t.First.Before(first) {
			first = t.First
		}
		if t.Last.After(last) {
			last = t.Last
		}
	}
	day := func(t time.Time) string { return strings.ToUpper(t.In(zone).Format("02-Jan-2006")) }
	if day(first) != day(last) {
		return day(last) + " (recorded from " + day(first) + " on: one entry a day may be needed)"
	}
	return day(last)
}

func orBlank(s string) string {
	if s == "" {
		return blank + " (nobody wrote where it went)"
	}
	return s
}

// litresOf writes litres to a tenth, cubic the same in cubic metres.
func litresOf(l float64) string { return strconv.FormatFloat(l, 'f', 1, 64) }

func cubic(l float64) string { return strconv.FormatFloat(l/1000, 'f', 4, 64) }
