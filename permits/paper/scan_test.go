package paper

import (
	"bytes"
	"fmt"
	"image"
	"io"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	qrcode "github.com/skip2/go-qrcode"
)

// printed is a paper as bytes.
func printed[S any](t *testing.T, write func(io.Writer, S) error, s S) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := write(&b, s); err != nil {
		t.Fatalf("write %T: %v", s, err)
	}
	return b.Bytes()
}

// scanAll is what is read from all pages of a PDF, each page put through the change.
func scanAll(t *testing.T, pdf []byte, dpi int, change func(*image.Gray) *image.Gray) []string {
	t.Helper()
	var codes []string
	for _, page := range render(t, pdf, dpi) {
		codes = append(codes, scan(t, change(page))...)
	}
	slices.Sort(codes)
	return codes
}

func asPrinted(page *image.Gray) *image.Gray { return page }

func tagURLs(s LockTagSheet) (urls []string) {
	for _, tag := range s.Tags {
		urls = append(urls, tag.URL)
	}
	slices.Sort(urls)
	return urls
}

func scanURLs(s ScanSheet) (urls []string) {
	urls = append(urls, s.URL)
	for _, r := range s.Rows {
		urls = append(urls, r.URL)
	}
	slices.Sort(urls)
	return urls
}

func TestEveryCodeIsReadBackFromPrint(t *testing.T) {
	tags, labels, permit := cannedTags(13), cannedLabels(17), cannedPermit()
	var labelURLs []string
	for _, l := range labels.Labels {
		labelURLs = append(labelURLs, l.URL)
	}
	for _, tc := range []struct {
		name string
		pdf  []byte
		want []string
	}{
		{"lock tags", printed(t, WriteLockTags, tags), tagURLs(tags)},
		{"point labels", printed(t, WritePointLabels, labels), labelURLs},
		{"permit", printed(t, WritePermit, permit), []string{permit.URL}},
		{"scan sheet", printed(t, WriteScanSheet, cannedScan()), scanURLs(cannedScan())},
	} {
		if diff := cmp.Diff(tc.want, scanAll(t, tc.pdf, 300, asPrinted)); diff != "" {
			t.Errorf("%s scanned at 300 dpi (-want +got):\n%s", tc.name, diff)
		}
	}
}

func TestTagsAreReadFromACopyOfACopy(t *testing.T) {
	tags := cannedTags(8)
	grey := copier{blurPx: 1, noise: 6, fadeTo: 30, slopeDeg: 0.7}
	line := copier{blurPx: 1, noise: 12, fadeTo: 60, slopeDeg: -1.6, bilevel: true, specks: 40}
	for dpi, want := range map[int][]string{150: tagURLs(tags), 200: tagURLs(tags)} {
		got := scanAll(t, printed(t, WriteLockTags, tags), dpi, func(page *image.Gray) *image.Gray {
			return copied(copied(page, grey, 3), line, 4)
		})
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("copy of a copy at %d dpi (-want +got):\n%s", dpi, diff)
		}
	}
}

// A test of the copier itself: one that spoils too much must make the codes unreadable.
func TestCopierCanSpoilACode(t *testing.T) {
	got := scanAll(t, printed(t, WriteLockTags, cannedTags(2)), 150, func(page *image.Gray) *image.Gray {
		return copied(page, copier{blurPx: 6}, 1)
	})
	if len(got) != 0 {
		t.Errorf("codes read after a blur of 1.2 mm = %q, want none", got)
	}
}

// The choice of level in qrModules, counted on copies with specks at the edge of what
// can be read. The seeds are fixed; the margin leaves room for another zbarimg.
func TestLevelQOutlastsHOnCopies(t *testing.T) {
	const copies = 16
	read := map[qrcode.RecoveryLevel]int{}
	for _, c := range []copier{
		{blurPx: 2, noise: 20, slopeDeg: 1, bilevel: true, fadeTo: 60, specks: 4},
		{blurPx: 3, noise: 20, slopeDeg: 1, bilevel: true, fadeTo: 60},
	} {
		for _, level := range []qrcode.RecoveryLevel{qrcode.Low, qrcode.High, qrcode.Highest} {
			for i := range copies {
				code, err := qrcode.New(fmt.Sprintf("HTTP://STILLWATCH.LOCAL/T/7K3MQ2XD9PTR%04d", i), level)
				if err != nil {
					t.Fatal(err)
				}
				code.DisableBorder = true
				read[level] += len(scan(t, copied(matrixImage(code.Bitmap(), tagQR, 200), c, uint64(i))))
			}
		}
	}
	t.Logf("read of %d: L %d, Q %d, H %d", 2*copies, read[qrcode.Low], read[qrcode.High], read[qrcode.Highest])
	if q := read[qrcode.High]; q < copies || q <= read[qrcode.Highest] {
		t.Errorf("codes read at level Q = %d of %d, want at least half, and more than H (%d)", q, 2*copies,
			read[qrcode.Highest])
	}
}

func TestLevelIsRaisedOnlyWhereTheSymbolStaysAsSmall(t *testing.T) {
	for _, content := range []string{"HTTP://A.B/T/1", "HTTP://STILLWATCH.LOCAL/T/7K3MQ2XD9PTR0001",
		"HTTP://192.168.100.200:8080/T/7K3MQ2XD9PTR0001"} {
		got, err := qrModules(content)
		if err != nil {
			t.Fatal(err)
		}
		q, err := qrcode.New(content, qrcode.High)
		if err != nil {
			t.Fatal(err)
		}
		if want := 17 + 4*q.VersionNumber; len(got) != want {
			t.Errorf("qrModules(%q) has %d modules a side, want %d as level Q needs", content, len(got), want)
		}
	}
}

// 29 CFR 1910.145(f)(4): the signal word readable at 5 ft; 10 mm is this package's
// own floor. Measured on the stem of the D, white on the black band.
func TestSignalWordIsTenMillimetresHigh(t *testing.T) {
	const dpi = 300
	page := render(t, printed(t, WriteLockTags, cannedTags(1)), dpi)[0]
	px := func(mm float64) int { return int(mm / 25.4 * dpi) }
	x0, y0 := tagGrid.origin()
	top, bottom := px(y0+bandTop)+3, px(y0+bandTop+bandH)-3
	for x := px(x0 + tagPad + 1); x < px(x0+tagGrid.w/2); x++ {
		white := 0
		for y := top; y < bottom; y++ {
			if page.GrayAt(x+2, y).Y > 128 {
				white++
			}
		}
		if white > 0 {
			if got := float64(white) / dpi * 25.4; got < 10 || got > bandH-2 {
				t.Errorf("capital height of the signal word = %.1f mm, want 10 or more, inside the band", got)
			}
			return
		}
	}
	t.Error("no white letter found on the black band")
}

// TestFootOfEveryFiledPageLeadsToItsEntry: whoever holds any page of a filed paper can open the entry it was made from.
func TestFootOfEveryFiledPageLeadsToItsEntry(t *testing.T) {
	const entry = "HTTP://192.168.100.100:8080/E/1284567"
	plan, permit, handover := cannedPlan(), cannedPermit(), cannedHandover()
	plan.Stamp.URL, permit.Stamp.URL, handover.Stamp.URL = entry, entry, entry
	for _, tc := range []struct {
		name string
		pdf  []byte
	}{
		{"plan", printed(t, WritePlan, plan)},
		{"permit", printed(t, WritePermit, permit)},
		{"handover", printed(t, WriteHandover, handover)},
	} {
		for i, page := range render(t, tc.pdf, 300) {
			if got := scan(t, page); !slices.Contains(got, entry) {
				t.Errorf("%s, page %d: codes read = %q, want %q among them", tc.name, i+1, got, entry)
			}
		}
	}
}
