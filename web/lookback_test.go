package web

import (
	"encoding/csv"
	"slices"
	"strings"
	"testing"
	"time"
)

// table reads a CSV answer.
func (c *browser) table(path string) [][]string {
	c.a.t.Helper()
	got := c.get(path)
	if got.status != 200 || !strings.HasPrefix(got.body, "\ufeff") {
		c.a.t.Fatalf("%s = %d, %.40q", path, got.status, got.body)
	}
	rows, err := csv.NewReader(strings.NewReader(strings.TrimPrefix(got.body, "\ufeff"))).ReadAll()
	if err != nil {
		c.a.t.Fatalf("%s: %v", path, err)
	}
	return rows
}

// TestPermitsAreSearchedAndExported filters the list by everything at once, and takes the same list away as a table and
// on paper.
func TestPermitsAreSearchedAndExported(t *testing.T) {
	a := ship(t)
	j := &job{a: a, tech: a.as("tech"), mate: a.as("mate"), oow: a.as("oow"), id: 1, path: "/permits/1"}
	j.tech.must(j.tech.post("/permits", "job", "P1-seal", "work", "=HYPERLINK(\"http://x\")"), j.path)
	j.authorise()
	j.isolate()
	point := string(a.permit(1).Locks()[0].Step.Point)
	day := a.clock().Local().Format(time.DateOnly)
	all := "machine=P1&point=" + strings.ToLower(point) + "&person=mate&kind=open&from=" + day + "&to=" + day +
		"&text=hyperlink"
	j.shows(j.oow, "/permits?"+all, `href="/permits/1"`, "/permits.csv?", "/machines/P1")
	for _, none := range []string{"person=chief", "kind=enter", "point=nowhere", "to=2001-01-01", "overdue=yes",
		"machine=P9"} {
		j.hides(j.oow, "/permits?"+none, `href="/permits/1"`)
	}
	a.wait(13 * time.Hour)
	j.oow = a.as("oow")
	j.shows(j.oow, "/permits?overdue=yes", `href="/permits/1"`, "overdue</span>")
	rows := j.oow.table("/permits.csv?" + all)
	if len(rows) != 2 || !slices.Contains(rows[1], "'=HYPERLINK(\"http://x\")") {
		t.Errorf("the table has %d rows: %q", len(rows), rows)
	}
	at := rows[1][slices.Index(rows[0], "Requested")]
	want := a.permit(1).Requested().At.Truncate(time.Second)
	if when, err := time.Parse(time.RFC3339, at); err != nil || !when.Equal(want) {
		t.Errorf("requested %q, %v; want %s", at, err, want)
	}
	for _, path := range []string{"/permits.pdf?" + all, "/points/" + point + "/history.pdf", "/machines/P1/history.pdf",
		"/figures.pdf"} {
		if got := j.oow.get(path); got.status != 200 || !strings.HasPrefix(got.body, "%PDF") {
			t.Errorf("%s = %d, %.20q", path, got.status, got.body)
		}
	}
}

func TestHistoriesAndFiguresAreShown(t *testing.T) {
	j := liveJob(t)
	locks := j.a.permit(1).Locks()
	point := string(locks[0].Step.Point)
	j.shows(j.oow, "/machines/P1", "requested the permit", point, "/machines/P1/history.csv")
	if got := j.oow.get("/machines/P9"); got.status != 404 || !strings.Contains(got.body, "has no machine P9") {
		t.Errorf("a machine that is not there = %d", got.status)
	}
	history := j.oow.table("/machines/P1/history.csv")
	if want := j.a.permit(1).Entries(); len(history) < want {
		t.Errorf("the machine's history has %d lines, want %d at least", len(history)-1, want)
	}
	for _, row := range j.oow.table("/points/" + point + "/history.csv")[1:] {
		if !strings.Contains(strings.Join(row, " "), point) {
			t.Errorf("in the history of %s: %q", point, row)
		}
	}
	j.shows(j.oow, "/figures", "1 permit went live", "ch-bar", "What gates refused", "No audit was signed", "0 of "+
		"1 plan")
	rows := j.oow.table("/figures.csv")
	if !slices.ContainsFunc(rows, func(r []string) bool {
		return r[0] == "From request to live" && r[1] == "half of them"
	}) {
		t.Errorf("the figures lack the time to live: %q", rows)
	}
	j.shows(j.oow, "/figures?from=2001-01-01&to=2001-02-01", "No permit was requested", "No gate refused anything")
}
