package web

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// window is a page in a real browser.
type window struct {
	t   *testing.T
	ctx context.Context
}

// patienceOf is how long a browser may take for one thing.
const patienceOf = 30 * time.Second

// chromium returns the system's Chromium, or skips the test where there is none.
func chromium(t *testing.T) string {
	t.Helper()
	program, err := exec.LookPath("chromium-headless-shell") // the same engine, a third of the processor time
	if err != nil {
		program, err = exec.LookPath("chromium")
	}
	if err != nil && os.Getenv("CI") == "true" {
		t.Fatal("there is no Chromium here, and CI=true asks for it")
	}
	if err != nil {
		t.Skip("there is no Chromium here")
	}
	return program
}

// openWindow starts the system's Chromium, or skips the test where there is none.
func openWindow(t *testing.T) *window {
	t.Helper()
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(chromium(t)),
		chromedp.UserDataDir(t.TempDir()), chromedp.DisableGPU)
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
		t.Fatal(err)
	}
	return &window{t, ctx}
}

func (w *window) do(steps ...chromedp.Action[chromedp.Void]) {
	w.t.Helper()
	ctx, cancel := context.WithTimeout(w.ctx, patienceOf)
	defer cancel()
	if err := chromedp.Do(ctx, steps...); err != nil {
		w.t.Fatal(err)
	}
}

// until waits for an expression to become true.
func (w *window) until(what, expression string) {
	w.t.Helper()
	for range 300 {
		if w.is(expression) {
			return
		}
		time.Sleep(100 * time.Millisecond)
	}
	w.t.Fatalf("in 30 s it did not become so that %s", what)
}

func (w *window) is(expression string) bool {
	w.t.Helper()
	ctx, cancel := context.WithTimeout(w.ctx, patienceOf)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[bool](expression))
	return err == nil && v // while a page is being left there is nothing to ask
}

// TestOpenPageFollowsWhatOthersDo has a board and a permit open in a real browser while others act. The page follows by
// itself; while somebody types into it, it only says that it has changed.
func TestOpenPageFollowsWhatOthersDo(t *testing.T) {
	j := begin(t)
	w := openWindow(t)
	w.do(chromedp.Navigate(j.a.http.URL + "/sign-in"))
	w.is(fmt.Sprintf(`(document.querySelector("#person").value = "oow", document.querySelector("#pin").value = %q, document.querySelector("#f-sign-in button").click(), true)`, testPINs["oow"]))
	w.until("the board is open",
		`location.pathname === "/" && document.querySelector("[data-live-state]").textContent === "up to date"`)
	w.is(`(window.same = true)`)
	j.tech.must(j.tech.post("/permits", "job", "P1-seal", "work", "The other seal leaks too"), "/permits/2")
	w.until("the second permit is on the board",
		`[...document.querySelectorAll(".card-no")].some(e => e.textContent === "2")`)
	if !w.is(`window.same === true`) {
		t.Error("the page was loaded anew as a whole")
	}

	w.do(chromedp.Navigate(j.a.http.URL + "/permits/1"))
	w.until("the permit's page is live", `document.querySelector("[data-live-state]")?.textContent === "up to date"`)
	w.do(chromedp.Focus(chromedp.CSS("#authorise-hours")), chromedp.SendKeys(chromedp.CSS("#authorise-hours"), "5"))
	j.authorise()
	w.until("the page says that it has changed", `!document.querySelector("[data-changed]").hidden`)
	if !w.is(`document.querySelector("#authorise-hours").value.includes("5")`) {
		t.Error("what was being typed is gone")
	}
	w.do(chromedp.Click(chromedp.CSS("[data-changed] a")))
	w.until("the page shows the permit as it is", `document.querySelector(".way .now")?.textContent === "authorised"`)
	if body := j.oow.get(j.path).body; !strings.Contains(body, `data-path="/permits/1"`) {
		t.Error("the page does not say from where it is fetched anew")
	}
}

// signAllOff has everybody come out who is at work.
func (j *job) signAllOff() {
	j.a.t.Helper()
	for _, who := range j.a.permit(j.id).SignedOn() {
		j.tech.must(j.tech.post(j.path+"/sign-off", "signer", string(who), "pin", testPINs[string(who)]), j.path)
	}
}

// TestAlarmBreaksInOnSomebodyWhoTypes has a live permit open while a point of it is found passing.
func TestAlarmBreaksInOnSomebodyWhoTypes(t *testing.T) {
	j := liveJob(t)
	w := openWindow(t)
	w.do(chromedp.Navigate(j.a.http.URL + "/sign-in"))
	w.is(fmt.Sprintf(`(document.querySelector("#person").value = "oow", document.querySelector("#pin").value = %q, document.querySelector("#f-sign-in button").click(), true)`, testPINs["oow"]))
	w.until("the board is open",
		`location.pathname === "/" && document.querySelector("[data-live-state]").textContent === "up to date"`)
	w.do(chromedp.Navigate(j.a.http.URL + j.path))
	w.until("the permit's page is live", `document.querySelector("[data-live-state]")?.textContent === "up to date"`)
	w.is(`(document.querySelector("details.stop").open = true)`)
	w.do(chromedp.Focus(chromedp.CSS("#suspend-words")), chromedp.SendKeys(chromedp.CSS("#suspend-words"), "Water"))
	j.mate.must(j.mate.post("/points/"+j.isolates()+"/passing", "words", "drips at the drain"), "/points/"+j.isolates())
	w.until("the alarm shows",
		`document.querySelector("main [data-alarm]")?.textContent.includes("2 people are signed on")`)
	if !w.is(`document.querySelector("#suspend-words").value === "Water"`) {
		t.Error("what was being typed is gone")
	}
	j.head.must(j.head.post("/points/"+j.isolates()+"/repair", "words", "seat lapped and tested", "signer", "chief", "pin",
		testPINs["chief"]), "/points/"+j.isolates())
	j.signAllOff()
	w.until("the alarm is gone", `!document.querySelector("main [data-alarm]")`)
}
