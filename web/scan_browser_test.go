package web

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/skip2/go-qrcode"
)

// TestPhotoOfATagOpensItsPage reads a picture of a printed code in a real browser over plain HTTP, under the policy of
// the pages, and wants the tag's page to know that it came by photo; a picture without a code says so.
func TestPhotoOfATagOpensItsPage(t *testing.T) {
	j := begin(t)
	j.authorise()
	tag := j.a.codes(1)[1]
	good, bad := filepath.Join(t.TempDir(), "tag.png"), filepath.Join(t.TempDir(), "other.png")
	if err := qrcode.WriteFile(strings.ToUpper("http://bridge.ship:8080"+tag), qrcode.Medium, 600, good); err != nil {
		t.Fatal(err)
	}
	if err := qrcode.WriteFile("https://elsewhere.example/T/SHORT", qrcode.Medium, 600, bad); err != nil {
		t.Fatal(err)
	}
	w := openWindow(t)
	w.do(chromedp.EmulateViewport(390, 844), chromedp.Navigate(j.a.http.URL+"/sign-in"))
	w.is(`(document.querySelector("#person").value = "tech", document.querySelector("#pin").value = "` + testPINs["tech"] +
		`", document.querySelector("#f-sign-in button").click(), true)`)
	w.until("the board offers the camera",
		`location.pathname === "/" && document.documentElement.dataset.photos === "yes"`)
	before := j.a.reg.Head().Size
	w.do(chromedp.SetUploadFiles(chromedp.CSS("#scan-photo"), []string{bad}))
	w.until("the page says that it is no tag",
		`document.querySelector("[data-scan]").textContent.includes("no tag of this register")`)
	w.do(chromedp.SetUploadFiles(chromedp.CSS("#scan-photo"), []string{good}))
	w.until("the tag's page is open",
		`location.pathname === "`+tag+`" && document.querySelector("#f-fit [name=how]")?.value === "photo"`)
	if got := j.a.reg.Head().Size; got != before {
		t.Errorf("reading a photo wrote %d entries, want none", got-before)
	}
}

// TestScannerComesFromHere wants the reader's file to know no other site, and its licence to lie beside it.
func TestScannerComesFromHere(t *testing.T) {
	text, err := os.ReadFile("static/scanner/ponyfill.js")
	if err != nil {
		t.Fatal(err)
	}
	if strings.Contains(string(text), "https://") {
		t.Error("the reader names another site")
	}
	if _, err := os.Stat("static/scanner/LICENSE.txt"); err != nil {
		t.Error(err)
	}
}
