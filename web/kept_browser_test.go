package web

import (
	"context"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"stillwatch/permits"
)

// phoneOf starts a browser that keeps what it has in a folder, so that it can be ended and started again.
func phoneOf(t *testing.T, folder string) (w *window, end func()) {
	t.Helper()
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(chromium(t)),
		chromedp.UserDataDir(folder), chromedp.DisableGPU)
	if os.Geteuid() == 0 {
		options = append(options, chromedp.NoSandbox)
	}
	allocator, stop := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, cancel := chromedp.NewContext(allocator)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal(err)
	}
	w = &window{t, ctx}
	w.do(chromedp.EmulateViewport(390, 844))
	return w, func() {
		if err := chromedp.Cancel(ctx); err != nil {
			t.Errorf("the browser does not end: %v", err)
		}
		cancel()
		stop()
	}
}

// fits fits one step on the walk that is shown, by its form.
func (w *window) fits(j *job, n int) {
	w.t.Helper()
	l, _ := j.a.permit(j.id).Lock(n)
	w.until(fmt.Sprintf("step %d is next", n), fmt.Sprintf(`document.querySelector("[data-walk-now] [data-step]")?.dataset.step === "%d" && !document.querySelector("[data-walk-now] button[name=position]").disabled`, n))
	w.is(fmt.Sprintf(`(f => (
		f.elements.code.value ||= %q, f.elements.padlock && (f.elements.padlock.value = "L-%d"),
		f.querySelectorAll("[type=checkbox]").forEach(b => b.checked = true), f.querySelector("button[value=%s]").click(), true))(document.querySelector("[data-walk-now] form"))`,
		j.code(n), n, l.Step.Position))
}

const isCopy = `document.body?.dataset.kept > 0 && document.querySelector("[data-kept-note]")?.textContent.includes("copy on this phone")`

// TestWalkIsThereAfterTheBrowserWasClosedWithoutALine opens the walk, loses the line, closes the browser, and comes
// back at the points: walk, plan and a scanned tag are there, each says that it is a copy and how old, and locks are
// fitted. Once more the browser is closed; when the line is back all is sent, in its order, each once.
func TestWalkIsThereAfterTheBrowserWasClosedWithoutALine(t *testing.T) {
	j := begin(t)
	j.authorise()
	line := &brokenLine{}
	base := line.serve(t, j.a)
	folder := t.TempDir()
	w, end := phoneOf(t, folder)
	w.signsIn(base, "tech")
	w.do(chromedp.Navigate(base + j.path + "/walk"))
	w.until("the phone keeps the walk", `document.body.dataset.keeps === "yes"`)
	if w.is(`!!document.body.dataset.kept`) {
		t.Error("a page of the register is called a copy")
	}
	end()

	line.cut.Store(true)
	w, end = phoneOf(t, folder)
	w.do(chromedp.Navigate(base + j.path + "/walk"))
	w.until("the walk is there as a copy", isCopy)
	if !w.is(`/less than a minute old|\d+ min old/.test(document.querySelector("[data-kept-age]").textContent)`) {
		t.Error("the copy does not say how old it is")
	}
	if w.is(`document.querySelector("[data-live-state]")?.textContent === "up to date"`) {
		t.Error("the copy calls itself live")
	}
	w.fits(j, 1)
	w.until("the first waits on the phone", `outbox.list().length === 1`)
	w.do(chromedp.Navigate(base + j.path + "/plan"))
	w.until("the plan is there as a copy", isCopy)
	w.do(chromedp.Navigate(base + j.codeOf(2)))
	w.until("the scanned tag leads to the walk", `document.body.dataset.listed === "yes" && !!document.querySelector("[data-kept-list] a")`)
	w.is(`(document.querySelector("[data-kept-list] a").click(), true)`)
	w.until("the walk has the code", isCopy+fmt.Sprintf(` && document.querySelector("[data-walk-now] [name=code]")?.value === %q`,
		strings.TrimPrefix(j.codeOf(2), "/T/")))
	w.fits(j, 2)
	w.until("the second waits too", `outbox.list().length === 2`)
	w.do(chromedp.Navigate(base + j.path))
	w.until("the permit is there as a copy", isCopy)
	w.is(`(f => (f.noValidate = true, f.requestSubmit(), true))(document.querySelector("main form[method=post]"))`)
	w.until("nothing is signed on a copy", `document.querySelector("[data-kept-no]")?.textContent.includes("Nothing is recorded") === true`)
	end()

	line.cut.Store(false)
	w, end = phoneOf(t, folder)
	defer end()
	w.do(chromedp.Navigate(base + j.path + "/walk"))
	w.until("all is sent", `outbox.list().length === 0 && !document.body.dataset.kept`)
	j.wantFitted(2)
	w.until("the third is next", `document.querySelector("[data-walk-now] [data-step]")?.dataset.step === "3"`)
}

// TestCopyGivesWayToTheRegister has a copy shown when the line comes back: it turns into the register's page by itself,
// and only then calls itself live.
func TestCopyGivesWayToTheRegister(t *testing.T) {
	j := begin(t)
	j.authorise()
	line := &brokenLine{}
	base := line.serve(t, j.a)
	w, end := phoneOf(t, t.TempDir())
	defer end()
	w.signsIn(base, "tech")
	w.do(chromedp.Navigate(base + j.path + "/walk"))
	w.until("the phone keeps the walk", `document.body.dataset.keeps === "yes"`)
	w.do(chromedp.Navigate("about:blank"))
	j.oow.must(j.oow.post(j.path+"/cancel", "words", "put off", "pin", testPINs["oow"]), j.path)
	line.cut.Store(true)
	w.do(chromedp.Navigate(base + j.path + "/walk"))
	w.until("the walk is there as a copy", isCopy)
	w.is(`(window.lied = false, setInterval(() => { lied ||= !!document.body.dataset.kept && document.querySelector("[data-live-state]")?.textContent === "up to date"; }, 5), true)`)
	line.cut.Store(false)
	w.until("the page is the register's", `!document.body.dataset.kept && !document.querySelector("[data-kept-note]")`)
	if w.is("window.lied") {
		t.Error("the copy called itself live when the line came back")
	}
	w.until("it shows what came meanwhile", `document.querySelector("main").textContent.includes("cancelled")`)
	if j.a.permit(j.id).State() != permits.Cancelled {
		t.Fatal("the permit is not cancelled")
	}
}

// TestNothingIsKeptForTheNextPerson looks into the phone's stores: no PIN is there, and when somebody signs out, also
// without a line, no page of theirs is left for whoever takes the phone next.
func TestNothingIsKeptForTheNextPerson(t *testing.T) {
	j := begin(t)
	j.authorise()
	line := &brokenLine{}
	base := line.serve(t, j.a)
	w, end := phoneOf(t, t.TempDir())
	defer end()
	const stores = `(async () => { let all = JSON.stringify(localStorage) + JSON.stringify(sessionStorage); for (const name of await caches.keys()) { const c = await caches.open(name); for (const r of await c.keys()) if (!r.url.includes("/static/")) all += r.url + await (await c.match(r)).text(); } return all; })()`
	held := func() string {
		ctx, cancel := context.WithTimeout(w.ctx, patienceOf)
		defer cancel()
		all, err := chromedp.Run(ctx, chromedp.Evaluate[string](stores, chromedp.EvalAwaitPromise))
		if err != nil {
			t.Fatal(err)
		}
		return all
	}
	w.signsIn(base, "tech")
	w.do(chromedp.Navigate(base + j.path + "/walk"))
	w.until("the phone keeps the walk", `document.body.dataset.keeps === "yes"`)
	w.do(chromedp.Navigate(base + j.path))
	w.is(fmt.Sprintf(`(f => (f.querySelector("[name=words]").value = "general alarm", f.querySelector("[name=pin]") && (f.querySelector("[name=pin]").value = %q), f.requestSubmit(), true))(document.querySelector("form[action$='/cancel']"))`, testPINs["tech"]))
	w.until("the page came back", `document.readyState === "complete"`)
	if all := held(); strings.Contains(all, testPINs["tech"]) || !strings.Contains(all, "Permit 1") {
		t.Errorf("the phone keeps a PIN, or no page (%d bytes)", len(all))
	}
	line.cut.Store(true)
	w.do(chromedp.Navigate(base + j.path + "/walk"))
	w.until("the walk is there as a copy", isCopy)
	w.is(`(HTMLFormElement.prototype.submit.call(document.querySelector("form[action='/sign-out']")), true)`)
	w.until("the sign-out found no line", `location.protocol === "chrome-error:"`)
	w.do(chromedp.Navigate(base + j.path + "/walk"))
	w.until("nothing is kept", `document.body.dataset.listed === "yes" && document.querySelector("main").textContent.includes("No page is kept")`)
	if all := held(); strings.Contains(all, "Permit 1") || strings.Contains(all, "/permits/1") {
		t.Error("a page is kept after the sign-out")
	}
}

// TestReadingsAndLooksWaitOnThePhone has a second person look at the locks and a technician read a drain where there is
// no line. Both wait on their phones, are called not recorded, and are recorded when the line is back, dated by when
// they were made.
func TestReadingsAndLooksWaitOnThePhone(t *testing.T) {
	j := begin(t)
	j.authorise()
	line := &brokenLine{}
	base := line.serve(t, j.a)
	for _, l := range j.a.permit(j.id).Locks() {
		tag := j.codeOf(l.Step.N)
		j.tech.must(j.tech.post(tag+"/fit", j.fitFields(l)...), tag)
	}
	w, end := phoneOf(t, t.TempDir())
	defer end()
	w.signsIn(base, "mate")
	w.do(chromedp.Navigate(base + j.path + "/looks"))
	w.until("the first is to be looked at", `document.querySelector("[data-walk-now] #f-look") !== null`)
	line.cut.Store(true)
	for n := 1; n <= 2; n++ {
		w.until(fmt.Sprintf("step %d is next", n), fmt.Sprintf(`document.querySelector("[data-walk-now] [data-step]")?.dataset.step === "%d"`, n))
		w.is(fmt.Sprintf(`(f => (f.elements.code.value = %q, f.querySelector("button.main").click(), true))(document.querySelector("[data-walk-now] form"))`, j.code(n)))
		w.until("it waits on the phone", fmt.Sprintf(`outbox.list().length === %d && document.querySelector(".walk [data-n='%d'] [data-status]").textContent === "not recorded"`, n, n))
	}
	j.a.wait(20 * time.Second)
	line.cut.Store(false)
	w.is(`(outbox.flush(), true)`)
	w.until("both are recorded", `outbox.list().length === 0`)
	for n := 1; n <= 2; n++ {
		if l, _ := j.a.permit(j.id).Lock(n); l.Looked.By != "mate" {
			t.Errorf("the look at step %d is recorded as of %q, want mate", n, l.Looked.By)
		}
	}

	j.check()
	j.a.wait(drainsRun)
	w.signsOut(base)
	w.signsIn(base, "tech")
	w.do(chromedp.Navigate(base + j.path))
	d := j.a.permit(j.id).Drains()[0].Section
	form := fmt.Sprintf(`document.querySelector("form[action$='/drain/%s']")`, d.ID)
	w.until("the drain is asked for", form+` !== null`)
	line.cut.Store(true)
	w.is(fmt.Sprintf(`(f => (f.elements.out_l.value = "%.2f", f.elements.temp_c.value = "30", f.elements.held.checked = true, f.elements.into.value = "Sludge tank",
		f.querySelector("button.main").click(), true))(%s)`, d.OutL, form))
	w.until("the reading waits on the phone",
		`outbox.list().length === 1 && document.querySelector("[data-kept-reading]")?.textContent.includes("NOT recorded") === true`)
	if !j.a.permit(j.id).Drains()[0].Recorded.IsZero() {
		t.Error("a reading that the phone keeps is recorded")
	}
	line.cut.Store(false)
	w.is(`(outbox.flush(), true)`)
	w.until("it is recorded", `outbox.list().length === 0 && !document.querySelector("[data-kept-reading]")`)
	if got := j.a.permit(j.id).Drains()[0]; got.Recorded.By != "tech" || !got.Finding.OK {
		t.Errorf("the section is recorded by %q and found %+v, want tech and drained", got.Recorded.By, got.Finding)
	}
}

// signsOut signs whoever is signed in out.
func (w *window) signsOut(base string) {
	w.t.Helper()
	w.do(chromedp.Navigate(base + "/pin"))
	w.is(`(document.querySelector("form[action='/sign-out'] button").click(), true)`)
	w.until("nobody is signed in", `location.pathname === "/sign-in"`)
}
