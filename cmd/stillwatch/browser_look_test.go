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
	bringToLife(s, d, live)
	drainTag := s.tags(live)[6]
	d.Act("tove", "signs on", screens.PermitPath(live), screens.PermitPath(live)+"/sign-on", d.SignedBy("tove", nil))
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

// wears puts on the shown page what another palette changes of it: that this is all it changes is held by
// TestCannedPagesAreSoundAndAlikeInEveryPalette in web.
func (h *hands) wears(palette string) {
	h.t.Helper()
	ask[bool](h, fmt.Sprintf(`(() => {
		document.documentElement.className = "p-%[1]s";
		document.querySelector("meta[name=color-scheme]").content = "%[1]s" === "day" ? "light" : "dark";
		for (const b of document.querySelectorAll("button[name=palette]")) {
			if (b.value === "%[1]s") b.setAttribute("aria-pressed", "true"); else b.removeAttribute("aria-pressed");
		}
		return true;
	})()`, palette))
}

// eachScreen shows every screen on both sizes.
func (s *testShip) eachScreen(t *testing.T, screens []screen, see func(t *testing.T, h *hands, name string)) {
	t.Helper()
	browser := startBrowser(t)
	for _, size := range []screenSize{phone, desk} {
		devices := map[string]*hands{}
		for _, sc := range screens {
			if devices[sc.who] != nil {
				continue
			}
			h := s.device(t, browser, sc.who, size)
			devices[sc.who] = h
		}
		for _, sc := range screens {
			t.Run(sc.name+"-"+size.name, func(t *testing.T) {
				h := devices[sc.who]
				before := h.t
				h.t = t
				defer func() { h.t = before }()
				h.answered("open "+sc.path, chromedp.Navigate(s.base+sc.path))
				see(t, h, sc.name+"-"+size.name)
			})
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
	s.eachScreen(t, screens, func(t *testing.T, h *hands, name string) {
		for _, palette := range []string{"day", "night"} {
			h.wears(palette)
			h.writes(t, name+"-"+palette, chromedp.FullScreenshot(100))
		}
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
