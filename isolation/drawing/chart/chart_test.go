package chart

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"stillwatch/isolation"
	"stillwatch/isolation/planner"
	"stillwatch/isolation/plantfile"
)

var update = flag.Bool("update", false, "write the golden charts anew; a person looks at them")

// tester is what a check needs of a test, Go's own or a property's.
type tester interface {
	Helper()
	Errorf(format string, args ...any)
	Fatal(args ...any)
	Fatalf(format string, args ...any)
}

func drawn(t tester, c Chart) string {
	t.Helper()
	var b bytes.Buffer
	if err := c.SVG(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// inlet is a section as a plan would foretell it: 12.4 litres, most of them soon.
func inlet() isolation.Section {
	s := isolation.Section{ID: "S1-inlet-pipe", Name: "Separator 1 inlet pipe", OutL: 12.4, SpreadL: 1.9, KeptL: 0.8,
		DrainS: 440, Provable: true}
	for i := range 23 {
		x := float64(i) / 22
		s.Curve = append(s.Curve, isolation.Level{S: 440 * x, L: 12.338 * (1 - (1-x)*(1-x))})
	}
	return s
}

// storedOf is one stored energy, foretold as a plan does.
func storedOf(t *testing.T, s isolation.Stored) isolation.StoredCheck {
	t.Helper()
	p := plantWith(t, s)
	plan, err := planner.Make(p, plantfile.ShippedRules(), "job", isolation.Circumstances{})
	plan.Stored = slices.DeleteFunc(plan.Stored, func(c isolation.StoredCheck) bool { return c.Stored.IsSeen() })
	if err != nil || len(plan.Stored) != 1 {
		t.Fatalf("Make = %d stored energies, %v, want one", len(plan.Stored), err)
	}
	return plan.Stored[0]
}

var (
	bowl = isolation.Stored{Kind: "rotation", Name: "bowl", SpeedRPM: 7200, CoastDownS: 1500}
	hood = isolation.Stored{Kind: "heat", Name: "hood and bowl", TempC: 95, MassKg: 420, AreaM2: 1.9}
	link = isolation.Stored{Kind: "charge", Name: "converter", Volt: 560, ResistanceOhm: 10000, CapacitanceUF: 1000}
	shut = isolation.Stored{Kind: "gas", Name: "bottle", GaugeBar: 7, VolumeL: 40}
)

func must(t *testing.T, s isolation.Stored, readings ...Reading) Chart {
	t.Helper()
	c, ok := Stored(storedOf(t, s), readings)
	if !ok {
		t.Fatalf("Stored(%s) gives no chart", s.Kind)
	}
	return c
}

// canned are charts of every sort, the awkward ones too.
func canned(t *testing.T) map[string]Chart {
	passing := inlet()
	passing.Provable, passing.Why = false, "no air can be relied on at the strainer"
	vented := storedOf(t, shut)
	vented.WaitS = 95
	gas, _ := Stored(vented, []Reading{{S: 60, Value: 2.2, Clock: "14:01"},
		{S: 130, Value: 0.02, OK: true, Clock: "14:03"}})
	return map[string]Chart{
		"drain": Drain(inlet(), []Reading{{S: 180, Value: 7.1, HoldS: 60, HoldL: 1.2, Clock: "14:03"},
			{S: 1300, Value: 12.1, HoldS: 700, OK: true, Clock: "14:22"}}),
		"passing": Drain(passing, []Reading{{S: 1200, Value: 15.8, HoldS: 600, HoldL: 3.1, Clock: "14:20"},
			{S: 90000, Value: 60, HoldS: 600, Clock: "next day"}}),
		"unknown": Drain(isolation.Section{ID: "x", Name: "Dead leg",
			Why: "no drain of the plan is open, so nothing can come out"}, []Reading{{S: 300, Value: 2, Clock: "09:00"}}),
		"nothing": Drain(isolation.Section{ID: "x", Name: "Dead leg", Why: "nothing can be said"}, nil),
		"run-down": must(t, bowl, Reading{S: 300, Value: 5200, Clock: "08:05"}, Reading{S: 600, Value: 3600, Clock: "08:10"},
			Reading{S: 900, Value: 2350, Clock: "08:15"}),
		"at-rest": must(t, bowl, Reading{S: 1620, Value: 0, OK: true, Clock: "08:27"}),
		"cooling": must(t, hood, Reading{S: 3600, Value: 79, Clock: "09:00"},
			Reading{S: 20000, Value: 47.5, OK: true, Clock: "13:33"}),
		"discharge": must(t, link, Reading{S: 10, Value: 190, Clock: "10:00:10"},
			Reading{S: 40, Value: 8, OK: true, Clock: "10:00:40"}),
		"pressure": gas,
		"shut-in": must(t, shut, Reading{S: 200, Value: 6.9, Clock: "14:03"},
			Reading{S: math.NaN(), Value: 6.8, Note: "the moment of opening is not known"}),
	}
}

func TestGoldenCharts(t *testing.T) {
	for name, c := range canned(t) {
		t.Run(name, func(t *testing.T) {
			got := drawn(t, c)
			path := filepath.Join("testdata", name+".svg")
			if *update {
				if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(got, "\n")); diff != "" {
				t.Errorf("SVG of %s (-want +got):\n%s", name, diff)
			}
		})
	}
}

// checkSVG reads a chart as XML and checks what a page with a strict policy relies on.
func checkSVG(t tester, c Chart) {
	t.Helper()
	got := drawn(t, c)
	if strings.Contains(got, "NaN") || strings.Contains(got, "Inf") {
		t.Errorf("SVG(%q) holds what is not a number", c.Title)
	}
	dec := xml.NewDecoder(strings.NewReader(got))
	seen, ids := map[string]bool{}, map[string]bool{}
	for {
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("SVG(%q) is not XML: %v", c.Title, err)
		}
		el, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		seen[el.Name.Local] = true
		for _, a := range el.Attr {
			if name := a.Name.Local; name == "style" || name == "href" || strings.HasPrefix(name, "on") {
				t.Errorf("SVG(%q): attribute %s, want none that a strict page refuses", c.Title, name)
			}
			if a.Name.Local == "id" {
				if ids[a.Value] || a.Value == "" || strings.ContainsAny(a.Value, " \t\"") {
					t.Errorf("SVG(%q): id %q is none, or stands twice", c.Title, a.Value)
				}
				ids[a.Value] = true
			}
			if (a.Name.Local == "fill" || a.Name.Local == "stroke") && a.Value != "none" && a.Value != "currentColor" {
				t.Errorf("SVG(%q): colour %s, want the page's own", c.Title, a.Value)
			}
		}
	}
	if !seen["title"] || !seen["desc"] || seen["script"] || seen["style"] {
		t.Errorf("SVG(%q) has the elements %v, want title and desc, no script, no style", c.Title, seen)
	}
}

func TestChartsAreXMLThatAStrictPageAccepts(t *testing.T) {
	for _, c := range canned(t) {
		checkSVG(t, c)
	}
	s := inlet()
	s.ID, s.Name, s.Why, s.Provable = "\"><script>é", "<b>\x00 & \"'", "]]>\xff\ufffe", false
	checkSVG(t, Drain(s, []Reading{{S: 10, Value: 1, Clock: "<i>", Note: "\x0b"}}))
	checkSVG(t, Chart{})
}

var placed = regexp.MustCompile(`<(?:text|circle)[^>]* (?:x|cx)="([0-9.]+)"`)

func TestEverythingStandsInsideThePicture(t *testing.T) {
	for name, c := range canned(t) {
		svg := drawn(t, c)
		for _, m := range regexp.MustCompile(
			`text-anchor="(start|end|middle)" fill="currentColor">([^<]*)<`).FindAllStringSubmatch(svg, -1) {
			if n := len([]rune(m[2])); n > 48 {
				t.Errorf("%s: %q has %d letters, want 48 at most: it runs out of a phone's screen", name, m[2], n)
			}
		}
		if len(placed.FindAllString(svg, -1)) == 0 {
			t.Errorf("%s shows nothing", name)
		}
	}
}

func TestWordsOfALimitMakeWayForAReading(t *testing.T) {
	where := func(readings ...Reading) string {
		m := regexp.MustCompile(`text-anchor="(start|end)" fill="currentColor">over`).FindStringSubmatch(
			drawn(t, Drain(inlet(), readings)))
		if m == nil {
			t.Fatal("the chart does not say from where on something passes")
		}
		return m[1]
	}
	if got := where(); got != "start" {
		t.Errorf("words of the upper limit stand at the %s, want the start", got)
	}
	if got := where(Reading{S: 60, Value: 14.9}); got != "end" {
		t.Errorf("with a reading at the left they stand at the %s, want the end", got)
	}
	if got := where(Reading{S: 600, Value: 14.9}); got != "start" {
		t.Errorf("with a reading at the right they stand at the %s, want the start", got)
	}
}
