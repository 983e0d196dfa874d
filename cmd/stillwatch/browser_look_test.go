package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"stillwatch/permits"
	"stillwatch/web/screens"
)

var (
	screensDir = flag.String("screens", "", "folder into which TestScreens writes pictures of the pages; relative to "+
		"this package")
	everyScreen = flag.Bool("every", false, "with -screens: write every screen, full length, day and night")
)

// screen is one page as somebody sees it.
type screen struct {
	name, who, path string
}

// sceneOfScreens is the demo's ship: a closed permit, one half-way, and a third that is live, so that every kind of
// page has something to show.
func sceneOfScreens(t *testing.T) (*testShip, []screen) {
	t.Helper()
	s := setSail(t)
	d := s.drive()
	d.WholeJob()
	half := d.HalfWay()
	d.SignIn() // half a day has gone by
	live := d.Request("tove", "S1-pump", "Seal leaks: renew it")
	d.Authorise("ilse", live, "12")
	for _, l := range d.Permit(live).Locks() {
		d.Fit("tove", live, l)
		d.Check("bao", live, l)
	}
	proving := screens.PermitPath(live)
	drainTag := s.tags(live)[6]
	d.Prove(live)
	d.Act("ilse", "issues", proving, proving+"/issue", d.SignedBy("ilse", nil))
	d.Act("bao", "accepts", proving, proving+"/accept", d.SignedBy("bao", map[string]string{"tools_out": "7"}))
	d.Act("tove", "signs on", proving, proving+"/sign-on", d.SignedBy("tove", nil))
	draft := d.Request("tove", "SLP-stator", "Stator worn")
	s.went(d)
	tags := s.tags(half)
	at := func(id permits.PermitID) string { return screens.PermitPath(id) }
	return s, []screen{
		{"sign-in", "", "/sign-in"},
		{"board", "tove", "/"}, {"permits", "tove", "/permits"}, {"points", "tove", "/points"}, {"people", "aram", "/people"},
		{"log", "tove", "/log"}, {"plant", "aram", "/plant"}, {"pin", "tove", "/pin"}, {"entry", "tove", "/entries/60"},
		{"new", "tove", "/permits/new"}, {"new-job", "tove", "/permits/new?job=BF1-clean"},
		{"draft", "ilse", at(draft)}, {"isolating", "bao", at(half)}, {"live", "tove", at(live)}, {"closed", "aram", at(1)},
		{"plan", "ilse", at(half) + "/plan"},
		{"walk", "bao", at(half) + "/walk"}, {"looks", "tove", at(half) + "/looks"},
		{"tag-fit", "bao", tags[4]}, {"tag-check", "tove", tags[2]}, {"tag-wait", "bao", tags[6]},
		{"tag-drain", "tove", drainTag},
		{"tag-unknown", "tove", "/T/ABCDEFGH"}, {"point", "tove", "/points/SW1-V2"}, {"missing", "tove", "/permits/99"},
	}
}

// device returns somebody a device with a palette of their choice.
func (s *testShip) device(t *testing.T, browser context.Context, who string, size screenSize) *hands {
	t.Helper()
	h := s.hands(t, browser, size)
	h.answered("open the door", chromedp.Navigate(s.base+"/sign-in"))
	if who != "" {
		h.signIn(who)
	}
	return h
}

// dims chooses a palette as a person does: by its button.
func (h *hands) dims(palette string) {
	h.t.Helper()
	h.answered("open the door", chromedp.Navigate(h.ship.base+"/pin"))
	if ask[bool](h, `!!document.querySelector("details.menu")`) {
		h.unfolds("", "Menu")
	}
	h.answered("choose "+palette, h.press(h.find("", "button", strings.ToUpper(palette[:1])+palette[1:])))
}

// TestEveryScreenIsLegibleAndTouchable looks at every screen on a phone and at a desk, by day, at dusk and by night.
func TestEveryScreenIsLegibleAndTouchable(t *testing.T) {
	s, screens := sceneOfScreens(t)
	look, err := os.ReadFile("testdata/look.js")
	if err != nil {
		t.Fatal(err)
	}
	s.eachScreen(t, screens, []string{"day", "dusk", "night"}, func(t *testing.T, h *hands, _ string) {
		for _, fault := range ask[[]string](h, fmt.Sprintf("(%s)(%v)", look, h.size.touch)) {
			t.Error(fault)
		}
	})
}

// eachScreen shows every screen on both sizes and in each palette.
func (s *testShip) eachScreen(t *testing.T, screens []screen, palettes []string,
	see func(t *testing.T, h *hands, name string)) {
	t.Helper()
	browser := startBrowser(t)
	for _, size := range []screenSize{phone, desk} {
		devices := map[string]*hands{}
		for _, sc := range screens {
			if devices[sc.who] == nil {
				devices[sc.who] = s.device(t, browser, sc.who, size)
			}
		}
		for _, palette := range palettes {
			for _, h := range devices {
				h.dims(palette)
			}
			for _, sc := range screens {
				name := sc.name + "-" + size.name + "-" + palette
				t.Run(name, func(t *testing.T) {
					h := devices[sc.who]
					before := h.t
					h.t = t
					defer func() { h.t = before }()
					h.answered("open "+sc.path, chromedp.Navigate(s.base+sc.path))
					see(t, h, name)
				})
			}
		}
	}
}

// TestScreens writes the two pictures that README shows, or with -every all screens at their full length, to look at:
// go test ./cmd/stillwatch -run TestScreens -screens FOLDER [-every].
func TestScreens(t *testing.T) {
	if *screensDir == "" {
		t.Skip("pictures are written only with -screens FOLDER")
	}
	if err := os.MkdirAll(*screensDir, 0o755); err != nil {
		t.Fatal(err)
	}
	s, screens := sceneOfScreens(t)
	if !*everyScreen {
		browser := startBrowser(t)
		for _, sc := range screens {
			switch sc.name {
			case "board":
				s.picture(t, browser, sc, desk, "night")
			case "tag-fit":
				s.picture(t, browser, sc, phone, "day")
			}
		}
		return
	}
	s.eachScreen(t, screens, []string{"day", "night"}, func(t *testing.T, h *hands, name string) {
		h.writes(t, name, chromedp.FullScreenshot(100))
	})
}

// picture writes what somebody sees of one screen without scrolling.
func (s *testShip) picture(t *testing.T, browser context.Context, sc screen, size screenSize, palette string) {
	t.Helper()
	h := s.device(t, browser, sc.who, size)
	h.dims(palette)
	h.do("set the screen", chromedp.EmulateViewport(size.width, size.height))
	h.open(sc.path)
	name, _, _ := strings.Cut(sc.name, "-")
	h.writes(t, name+"-"+size.name+"-"+palette, chromedp.CaptureScreenshot())
}

func (h *hands) writes(t *testing.T, name string, shot chromedp.Action[[]byte]) {
	t.Helper()
	ctx, cancel := context.WithTimeout(h.ctx, patience)
	defer cancel()
	picture, err := chromedp.Run(ctx, shot)
	if err == nil {
		picture, err = smaller(picture)
	}
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(*screensDir, name+".png"), picture, 0o644); err != nil {
		t.Fatal(err)
	}
}
