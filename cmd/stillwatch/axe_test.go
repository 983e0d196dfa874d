package main

import (
	"compress/gzip"
	"context"
	"io"
	"os"
	"testing"

	"github.com/chromedp/chromedp"
)

// axeSource reads the accessibility checker: axe-core 4.14.1, as it is published (licence beside it).
func axeSource(t *testing.T) string {
	t.Helper()
	file, err := os.Open("testdata/axe/axe.min.js.gz")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	in, err := gzip.NewReader(file)
	if err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(in)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// axeColours leaves of the checker's rules those that ask for computed colours.
const axeColours = "{runOnly: {type: 'rule', values: ['color-contrast', 'link-in-text-block']}}"

// axeFaults returns what the checker has against the shown page, into which it was loaded before.
func (h *hands) axeFaults(options string) []string {
	h.t.Helper()
	ctx, cancel := context.WithTimeout(h.ctx, patience)
	defer cancel()
	faults, err := chromedp.Run(ctx, chromedp.Evaluate[[]string]("axe.run(document, "+options+").then((r) => "+
		"r.violations.flatMap((v) => v.nodes.map((n) => v.id + ' at ' + n.target.join(' ') + ': ' + v.help)))",
		chromedp.EvalAwaitPromise))
	if err != nil {
		h.t.Fatalf("axe gives no answer: %v", err)
	}
	return faults
}
