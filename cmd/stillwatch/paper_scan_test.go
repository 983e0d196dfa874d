package main

import (
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"stillwatch/cmd/stillwatch/demo"
	"stillwatch/web/screens"
)

// scanned reads the codes of a PDF as a phone would from paper, by another program. A phone looks many times, from near
// and far: what is missing at 300 dpi is looked for at 600. The scanner misses a code now and then by how its squares
// fall on the picture's dots (measured on 1200 labels: 7 at 200 dpi, 80 at 400, none at 600, and none at all four).
func scanned(t *testing.T, pdf []byte, codes int) []string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "paper.pdf")
	if err := os.WriteFile(file, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	found := scannedAt(t, file, "300")
	if len(found) < codes {
		found = append(found, scannedAt(t, file, "600")...)
		slices.Sort(found)
		found = slices.Compact(found)
	}
	return found
}

// scannedAt prints a paper at so many dots an inch and reads every code on it.
func scannedAt(t *testing.T, file, dpi string) []string {
	t.Helper()
	draw, scan := needProgram(t, "pdftoppm"), needProgram(t, "zbarimg")
	dir := t.TempDir()
	if out, err := exec.Command(draw, "-r", dpi, "-gray", file, filepath.Join(dir, "page")).CombinedOutput(); err != nil {
		t.Fatalf("pdftoppm: %v: %s", err, out)
	}
	pages, err := filepath.Glob(filepath.Join(dir, "page*"))
	if err != nil || len(pages) == 0 {
		t.Fatalf("pdftoppm drew no page (%v)", err)
	}
	out, err := exec.Command(scan, append([]string{"--quiet", "--raw", "-Sdisable", "-Sqrcode.enable"},
		pages...)...).Output()
	if err != nil {
		t.Fatalf("zbarimg: %v", err)
	}
	return strings.Fields(string(out))
}

// TestEveryPrintedCodeOpensItsPage reads back the codes from the papers that the running server prints, and opens each
// as a phone's camera does: a permit's tags and the labels of all points.
func TestEveryPrintedCodeOpensItsPage(t *testing.T) {
	s := setSail(t)
	d := s.drive()
	id := d.Request("tove", "S1-bowl", "Bowl overhaul")
	d.Authorise("ilse", id, "12")
	s.went(d)

	var tags, labels []string
	for _, l := range s.permit(id).Locks() {
		tags = append(tags, string(l.Step.Point))
	}
	for point := range d.Labels() {
		labels = append(labels, point)
	}
	for _, tc := range []struct {
		name, path string
		points     []string
		says       string // beside the point itself
	}{
		{"lock tags", screens.PermitPath(id) + "/tags.pdf", tags, "Step"},
		{"point labels", "/points/labels.pdf", labels, "read. It counts"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			paper, err := d.People["ilse"].Open(d.Ctx, tc.path)
			if err != nil || paper.Status != http.StatusOK || !demo.IsPDF(paper.Bytes) {
				t.Fatalf("GET %s = %d, %v; want a paper", tc.path, paper.Status, err)
			}
			var opened []string
			for _, address := range scanned(t, paper.Bytes, len(tc.points)) {
				path, ours := strings.CutPrefix(strings.ToLower(address[:len(s.base)])+address[len(s.base):], s.base)
				if !ours || !strings.HasPrefix(path, "/T/") {
					t.Errorf("a code says %s, want an address of %s", address, s.base)
					continue
				}
				page, err := d.People["tove"].Open(d.Ctx, path)
				if err != nil || page.Status != http.StatusOK || page.Page == nil {
					t.Errorf("GET %s = %d, %v; want its page", path, page.Status, err)
					continue
				}
				if !strings.Contains(demo.Text(page.Page), tc.says) {
					t.Errorf("the page of %s does not say %q", path, tc.says)
				}
				opened = append(opened, firstHeading(page))
			}
			slices.Sort(opened)
			slices.Sort(tc.points)
			if !slices.Equal(opened, tc.points) {
				t.Errorf("the codes open the pages of %v, want each of %v once", opened, tc.points)
			}
		})
	}
}

// firstHeading returns the words of a page's first heading: on the pages of tags and labels that is the point.
func firstHeading(a demo.Answer) string {
	for n := range a.Page.Descendants() {
		if n.Data == "h1" {
			return demo.Text(n)
		}
	}
	return ""
}
