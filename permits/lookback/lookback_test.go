package lookback

import (
	"encoding/csv"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/register"
)

func at(month time.Month, day, hour int) time.Time {
	return time.Date(2026, month, day, hour, 0, 0, 0, time.UTC)
}

// The shares against gonum's, which calls nearest rank the empirical quantile.
func TestSharesAreThoseOfTheNearestRank(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var lives []register.Life
		var hours []float64
		begin := at(1, 1, 0)
		for _, m := range rapid.SliceOfN(rapid.IntRange(1, 10_000), 1, 60).Draw(t, "minutes") {
			lives = append(lives, register.Life{Requested: begin, Live: begin.Add(time.Duration(m) * time.Minute)})
			hours = append(hours, float64(m)/60)
		}
		lives = append(lives, register.Life{Requested: begin}) // never live
		got := spreadOf(lives)
		sortFloats(hours)
		for _, c := range []struct {
			of   float64
			have time.Duration
		}{{0.5, got.Half}, {0.9, got.Nine}, {1, got.Most}} {
			want := stat.Quantile(c.of, stat.Empirical, hours, nil)
			if off := c.have.Hours() - want; off > 1e-9 || off < -1e-9 {
				t.Fatalf("the share %g of %v = %g h, want %g", c.of, hours, c.have.Hours(), want)
			}
		}
	})
}

func sortFloats(v []float64) {
	for i := range v {
		for j := i; j > 0 && v[j] < v[j-1]; j-- {
			v[j], v[j-1] = v[j-1], v[j]
		}
	}
}

func TestFiguresCountWhatWasRead(t *testing.T) {
	life := func(id int, requested time.Time, hours int, locks int) register.Life {
		l := register.Life{ID: permits.PermitID(id), Requested: requested, Locks: locks}
		if hours > 0 {
			l.Live = requested.Add(time.Duration(hours) * time.Hour)
		}
		return l
	}
	refused := func(gate string) permits.Entry { return permits.Entry{Act: permits.RefusedAct{Gate: gate}} }
	audit := func(at time.Time) permits.Entry {
		return permits.Entry{At: at, By: "oow", Act: permits.SignAudit{Tags: 9}}
	}
	f := Asked{From: at(3, 15, 0), To: at(5, 2, 0), Zone: time.FixedZone("", 3*3600),
		Lives:   []register.Life{life(1, at(3, 20, 8), 4, 6), life(2, at(3, 31, 22), 2, 9), life(3, at(4, 30, 8), 0, 6)},
		Refused: []permits.Entry{refused("live"), refused("fit lock"), refused("fit lock")},
		Passing: []permits.Entry{{At: at(4, 1, 0), Act: permits.RecordPassing{Point: "V1"}}},
		Audits:  []permits.Entry{audit(at(3, 10, 8)), audit(at(3, 20, 8)), audit(at(4, 10, 8))},
		Setting: permits.Setting{Ship: permits.Ship{Passing: map[isolation.NodeID]string{"V1": "drips", "V2": "hisses"}}},
	}.Figures()
	if f.Requested != 3 || f.ToLive.N != 2 || f.ToLive.Half != 2*time.Hour || f.ToLive.Most != 4*time.Hour {
		t.Errorf("%d requested, %+v", f.Requested, f.ToLive)
	}
	// 31 March 22:00 UTC is April aboard, three hours east
	var months []int
	for _, m := range f.Months {
		months = append(months, m.Requested)
	}
	if len(months) != 3 || months[0] != 1 || months[1] != 2 || months[2] != 0 {
		t.Errorf("permits by month = %v, want 1 2 0", months)
	}
	if len(f.Locks) != 2 || f.Locks[0] != (Count{"6 locks and tags", 2}) || f.LocksHalf != 6 {
		t.Errorf("locks = %v, half %d", f.Locks, f.LocksHalf)
	}
	if len(f.Refusals) != 2 || f.Refusals[0] != (Count{"fit lock", 2}) {
		t.Errorf("refusals = %v", f.Refusals)
	}
	if len(f.Passing) != 2 || !f.Passing[0].Since.Equal(at(4, 1, 0)) || !f.Passing[1].Since.IsZero() {
		t.Errorf("passing = %v", f.Passing)
	}
	if len(f.Audits) != 2 || f.Audits[0].After != 10*24*time.Hour || f.Audits[0].Late || !f.Audits[1].Late {
		t.Errorf("audits = %+v", f.Audits)
	}
}

// No field, read by whichever separator, begins with what a spreadsheet takes for a formula (OWASP, CSV injection, from
// memory).
func TestNoTextBecomesAFormula(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"Shaft seal", "Shaft seal"}, {"", ""}, {"=1+1", "'=1+1"}, {"  =1", "  '=1"}, {"@SUM(A1)", "'@SUM(A1)"},
		{"-5 °C", "'-5 °C"}, {"−5 °C", "'−5 °C"}, {"a;=cmd", "a;'=cmd"}, {"a\t=cmd", "a =cmd"}, {"\r\n=x", "  '=x"},
		{"＝1", "'＝1"}, {"x\",=1", "x\",'=1"}, {"S1-V3, SHUT", "S1-V3, SHUT"}, {"\x00=1", "'=1"}, {"1 + 1", "1 + 1"},
	} {
		if got := Text(c.in).Words(); got != c.want {
			t.Errorf("Text(%q) = %q, want %q", c.in, got, c.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		in := rapid.StringOf(rapid.SampledFrom([]rune("=+-@;,|\"' \t\r\naé\u00a0＝"))).Draw(t, "text")
		var b strings.Builder
		if err := WriteCSV(&b, []string{"a", "b"}, [][]Cell{{Whole(7), Text(in)}}); err != nil {
			t.Fatal(err)
		}
		for _, separators := range []string{",", ";", "|", "\t"} {
			for _, line := range strings.Split(strings.TrimPrefix(b.String(), byteOrderMark), "\r\n") {
				for _, field := range strings.Split(line, separators) {
					field = strings.TrimLeft(field, "\" \u00a0")
					if field != "" && strings.ContainsRune("=+-@＝", []rune(field)[0]) {
						t.Fatalf("of %q a spreadsheet that separates by %q reads the formula %q", in, separators, field)
					}
				}
			}
		}
		rows, err := csv.NewReader(strings.NewReader(strings.TrimPrefix(b.String(), byteOrderMark))).ReadAll()
		if err != nil || len(rows) != 2 || len(rows[1]) != 2 || rows[1][1] != Text(in).Words() {
			t.Fatalf("read back %v, %v", rows, err)
		}
	})
}

func TestMomentsAreOfTheShipWithTheirOffset(t *testing.T) {
	zone := time.FixedZone("", -(3*3600 + 30*60))
	if got := Moment(at(3, 1, 2), zone).Words(); got != "2026-02-28T22:30:00-03:30" {
		t.Errorf("Moment = %s", got)
	}
	if got := Moment(at(3, 1, 2), time.UTC).Words(); got != "2026-03-01T02:00:00+00:00" {
		t.Errorf("Moment in UTC = %s", got)
	}
	if got := Moment(time.Time{}, zone).Words(); got != "" {
		t.Errorf("no moment = %q", got)
	}
}
