package web

import (
	"net/http"
	"regexp"
	"testing"
)

// assetURLs finds what a page fetches by itself: style sheets, scripts and its mark.
var assetURLs = regexp.MustCompile(`/static/[0-9a-f]+/[a-z]+\.(?:css|js|svg)`)

// pageMost is how much a page may weigh on the line with all that it needs, when the phone has nothing of it yet. The
// reader of photos is fetched with the first photo and does not count.
const pageMost = 100_000

// TestEveryPageOfAJobIsLightOnTheLine counts the bytes that come over the line for the pages of a live permit, its
// board and its tags, with every style sheet, script and picture.
func TestEveryPageOfAJobIsLightOnTheLine(t *testing.T) {
	j := liveJob(t)
	bytesOf := func(path string) (n int, body string) {
		t.Helper()
		req, err := http.NewRequest(http.MethodGet, j.a.http.URL+path, nil)
		if err != nil {
			t.Fatal(err)
		}
		plain := j.tech.get(path).body
		req.Header.Set("Accept-Encoding", "gzip") // asked for by hand, it comes as it was sent
		got := j.tech.do(req)
		if got.status != http.StatusOK || got.head.Get("Content-Encoding") == "" && len(got.body) > 2000 {
			t.Errorf("GET %s = %d, %d bytes, not compressed", path, got.status, len(got.body))
		}
		return len(got.body), plain
	}
	assets := map[string]int{}
	for _, path := range []string{"/", j.path, j.path + "/plan", j.path + "/walk", j.codeOf(1), "/screen", "/permits/new",
		"/points", "/log", "/people", "/plant", "/handover"} {
		n, body := bytesOf(path)
		for _, url := range assetURLs.FindAllString(body, -1) {
			if _, known := assets[url]; !known {
				assets[url], _ = bytesOf(url)
			}
			n += assets[url]
		}
		if t.Logf("%s: %d bytes", path, n); n > pageMost {
			t.Errorf("%s: %d bytes on the line, want at most %d", path, n, pageMost)
		}
	}
}
