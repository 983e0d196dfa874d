package main

import (
	"context"
	"encoding/json"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"stillwatch/cmd/stillwatch/demo"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// screenSize is a screen on which the pages are looked at.
type screenSize struct {
	name          string
	width, height int64
	touch         bool
}

var (
	phone = screenSize{"phone", 390, 844, true}
	desk  = screenSize{"desk", 1440, 900, false}
)

// startBrowser starts the system's Chromium without a window, if there is one as its headless shell: the same engine
// without the frame of a desk's browser, at a third of the processor time. It is gone when the test ends.
func startBrowser(t *testing.T) context.Context {
	t.Helper()
	program := needProgram(t, "chromium-headless-shell", "chromium", "chromium-browser", "google-chrome",
		"google-chrome-stable")
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(program),
		chromedp.UserDataDir(t.TempDir()),
		chromedp.DisableGPU, chromedp.Flag("disable-component-update", true), chromedp.Flag("no-proxy-server", true),
		chromedp.Flag("lang", "en"))
	if os.Geteuid() == 0 {
		options = append(options, chromedp.NoSandbox)
	}
	allocator, end := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, cancel := chromedp.NewContext(allocator)
	t.Cleanup(func() {
		if err := chromedp.Cancel(ctx); err != nil {
			t.Errorf("the browser does not end: %v", err)
		}
		cancel()
		end()
	})
	if err := chromedp.Do(ctx); err != nil {
		t.Fatalf("start %s: %v", program, err)
	}
	return ctx
}

// hands are somebody's eyes and hands at a device of their own: they see words, press what they see, and type.
type hands struct {
	t    *testing.T
	ctx  context.Context
	ship *testShip
	size screenSize
	used effort // since it was last looked at

	mu     sync.Mutex
	faults []string // what the browser complained of: scripts, styles, refused sources
}

// effort is what somebody had to do with their fingers.
type effort struct {
	taps  int // presses of buttons, links, choices and fields; two for a line of a list: open it, choose
	chars int // letters and digits typed, without PINs
	scans int // codes held before a camera
	pins  int
}

// hands returns somebody a device: a browser with no cookies but its own.
func (s *testShip) hands(t *testing.T, browser context.Context, size screenSize) *hands {
	t.Helper()
	ctx, cancel := chromedp.NewContext(browser, chromedp.WithNewBrowserContext())
	t.Cleanup(cancel)
	if err := chromedp.Do(ctx); err != nil { // without a time limit: it would be that of the whole window
		t.Fatalf("open a window: %v", err)
	}
	h := &hands{t: t, ctx: ctx, ship: s, size: size}
	var options []chromedp.EmulateViewportOption
	if size.touch {
		options = append(options, chromedp.EmulateMobile, chromedp.EmulateTouch, chromedp.EmulateScale(2))
	}
	h.do("set the screen", chromedp.EmulateViewport(size.width, size.height, options...))
	if err := chromedp.Listen(ctx, h.hear); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		h.mu.Lock()
		defer h.mu.Unlock()
		for _, f := range h.faults {
			t.Errorf("the browser complained: %s", f)
		}
	})
	return h
}

// hear keeps what the browser complains of. Answers with a status of 4xx are refusals, which the tests look at
// themselves.
func (h *hands) hear(event any) {
	words := ""
	switch e := event.(type) {
	case *runtime.EventExceptionThrown:
		words = e.ExceptionDetails.Text
	case *log.EventEntryAdded:
		if e.Entry.Level == log.EntryLevelError && e.Entry.Source != log.EntrySourceNetwork {
			words = e.Entry.Text
		}
	}
	if words != "" {
		h.mu.Lock()
		h.faults = append(h.faults, words)
		h.mu.Unlock()
	}
}

// patience is how long one step may take, on a machine that is busy with other things too.
var patience = 15 * time.Second

func (h *hands) do(what string, steps ...chromedp.Action[chromedp.Void]) {
	h.t.Helper()
	ctx, cancel := context.WithTimeout(h.ctx, patience)
	defer cancel()
	if err := chromedp.Do(ctx, steps...); err != nil {
		h.t.Fatalf("%s: %v", what, err)
	}
}

// withoutScripts turns the page's scripts off, as some phones do.
func (h *hands) withoutScripts() {
	h.t.Helper()
	h.do("turn scripts off", chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, emulation.SetScriptExecutionDisabled,
			emulation.SetScriptExecutionDisabledParams{Value: true})
		return err
	}))
}

// ask evaluates an expression with the tester's own eyes; it works on pages whose scripts are off, too.
func ask[T any](h *hands, expression string) T {
	h.t.Helper()
	ctx, cancel := context.WithTimeout(h.ctx, patience)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression))
	if err != nil {
		h.t.Fatalf("look at the page: %v", err)
	}
	return v
}

// answered loads or presses, waits for the page that comes, and returns its status.
func (h *hands) answered(what string, step chromedp.Action[chromedp.Void]) int64 {
	h.t.Helper()
	ctx, cancel := context.WithTimeout(h.ctx, patience)
	defer cancel()
	resp, err := chromedp.RunResponse(ctx, step)
	if err != nil {
		h.t.Fatalf("%s: %v (at %s)", what, err, h.where())
	}
	return resp.Status
}

// open goes to an address of the ship, as a scanned code or a bookmark does.
func (h *hands) open(path string) {
	h.t.Helper()
	if status := h.answered("open "+path, chromedp.Navigate(h.ship.base+path)); status >= 400 {
		h.t.Fatalf("open %s: status %d: %s", path, status, h.alert())
	}
}

// found is where something is on the page.
type found struct {
	No   string  `json:"no"` // why it was not found
	X    float64 `json:"x"`
	Y    float64 `json:"y"`
	Href string  `json:"href"`
}

var findScript = sync.OnceValue(func() string {
	text, err := os.ReadFile("testdata/find.js")
	if err != nil {
		return "() => ({no: 'no find.js'})"
	}
	return string(text)
})

// scans holds a tag or a label before the phone's camera, which opens the address in its code.
func (h *hands) scans(path string) {
	h.t.Helper()
	h.used.scans++
	h.open(path)
}

// find looks for something by its words; part "" is the whole page.
func (h *hands) find(part, kind, words string) found {
	h.t.Helper()
	args, err := json.Marshal([]string{part, kind, words})
	if err != nil {
		h.t.Fatal(err)
	}
	f := ask[found](h, "("+findScript()+")(..."+string(args)+")")
	if f.No != "" {
		h.t.Fatalf("%s\nat %s:\n%s", f.No, h.where(), h.text())
	}
	return f
}

// press touches or clicks where something is.
func (h *hands) press(f found) chromedp.Action[chromedp.Void] {
	h.used.taps++
	if h.size.touch {
		return chromedp.TapXY(f.X, f.Y)
	}
	return chromedp.MouseClickXY(f.X, f.Y)
}

// sends presses a button that sends its form and wants the act taken.
func (h *hands) sends(part, button string) {
	h.t.Helper()
	status := h.answered("press "+button, h.press(h.find(part, "button", button)))
	if alert := h.alert(); status >= 400 || alert != "" {
		h.t.Fatalf("%s: status %d, %s\n%s", button, status, alert, h.text())
	}
}

// refused presses a button that sends its form and wants the act refused with these words.
func (h *hands) refused(part, button, words string) {
	h.t.Helper()
	status := h.answered("press "+button, h.press(h.find(part, "button", button)))
	if alert := h.alert(); status < 400 || !strings.Contains(alert, words) {
		h.t.Fatalf("%s: status %d, refusal %q; want one with %q", button, status, alert, words)
	}
}

// follows presses a link.
func (h *hands) follows(part, link string) {
	h.t.Helper()
	if status := h.answered("follow "+link, h.press(h.find(part, "link", link))); status >= 400 {
		h.t.Fatalf("follow %s: status %d: %s", link, status, h.text())
	}
}

// unfolds opens a fold if it is shut.
func (h *hands) unfolds(part, words string) {
	h.t.Helper()
	f := h.find(part, "fold", words)
	if !ask[bool](h, `document.querySelector("[data-found]").parentElement.open`) {
		h.do("unfold "+words, h.press(f))
	}
}

// unfoldsTo opens the part of the page with these words if what is sought in it does not show.
func (h *hands) unfoldsTo(part, words string) {
	h.t.Helper()
	if !strings.Contains(h.text(), words) {
		h.unfolds("", part)
	}
}

// picks presses a choice: a radio button or a box with its words.
func (h *hands) picks(part, words string) {
	h.t.Helper()
	h.do("pick "+words, h.press(h.find(part, "choice", words)))
	if !ask[bool](h, `document.querySelector("[data-found] input").checked`) {
		h.t.Fatalf("%q is not picked after pressing it", words)
	}
}

// types writes into the field with a label, in place of what stands there.
func (h *hands) types(part, label, words string) {
	h.t.Helper()
	f := h.find(part, "field", label)
	if strings.HasSuffix(label, "PIN") {
		h.used.pins++
	} else {
		h.used.chars += len([]rune(words))
	}
	h.do("type into "+label, h.press(f), chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := chromedp.Evaluate[chromedp.Void](`document.activeElement.select && document.activeElement.select()`)(ctx, t)
		return err
	}), chromedp.KeyEvent(words))
	if got := ask[string](h, `document.querySelector("[data-found]").value`); got != words {
		h.t.Fatalf("field %q holds %q after typing %q", label, got, words)
	}
}

// chooses picks a line of a list by typing its first letters.
func (h *hands) chooses(part, label, words string) {
	h.t.Helper()
	h.find(part, "field", label)
	h.used.taps += 2
	h.do("choose "+words, chromedp.Focus(chromedp.CSS("[data-found]")), chromedp.KeyEvent(words))
	if got := ask[string](h,
		`document.querySelector("[data-found]").selectedOptions[0].textContent.trim()`); !strings.HasPrefix(got, words) {
		h.t.Fatalf("list %q shows %q after choosing %q; it offers %s", label, got, words,
			ask[string](h, `document.querySelector("[data-found]").innerText`))
	}
}

// chosen wants a line of a list chosen, and chooses it if it is not.
func (h *hands) chosen(part, label, words string) {
	h.t.Helper()
	h.find(part, "field", label)
	shown := ask[string](h, `document.querySelector("[data-found]").selectedOptions[0].textContent.trim()`)
	if !strings.HasPrefix(shown, words) {
		h.chooses(part, label, words)
	}
}

// signs fills in somebody's own signature, on whoever's device this is.
func (h *hands) signs(part, id string) {
	h.t.Helper()
	name, pin := crewMember(h.t, id)
	h.chosen(part, "Who signs", name)
	h.types(part, "PIN", pin)
}

// signIn signs somebody in at the page that asks for it.
func (h *hands) signIn(id string) {
	h.t.Helper()
	name, pin := crewMember(h.t, id)
	h.chosen("", "Who you are", name)
	h.types("", "Your PIN", pin)
	h.sends("", "Sign in")
}

func crewMember(t testing.TB, id string) (name, pin string) {
	t.Helper()
	for _, c := range demo.DemoCrew {
		if string(c.ID) == id {
			return c.Name, c.Pin
		}
	}
	t.Fatalf("nobody of the demo's crew is %q", id)
	return "", ""
}

// sees wants words on the page.
func (h *hands) sees(words ...string) {
	h.t.Helper()
	text := h.text()
	for _, w := range words {
		if !strings.Contains(text, w) {
			h.t.Fatalf("%s does not say %q:\n%s", h.where(), w, text)
		}
	}
}

// text returns the words of the page's content as they are seen.
func (h *hands) text() string {
	h.t.Helper()
	return ask[string](h, `document.querySelector("main").innerText.replace(/\s+/g, " ")`)
}

// alert returns the words of a refusal on the page, or "".
func (h *hands) alert() string {
	h.t.Helper()
	return ask[string](h, `(document.querySelector("[role=alert]") || {innerText: ""}).innerText.replace(/\s+/g, " ")`)
}

// where returns the path of the page that is shown.
func (h *hands) where() string {
	h.t.Helper()
	return ask[string](h, `location.pathname + location.search`)
}
