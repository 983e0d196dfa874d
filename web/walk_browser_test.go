package web

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"sync/atomic"
	"testing"

	"github.com/chromedp/chromedp"

	"stillwatch/permits"
	"stillwatch/permits/register"
)

// brokenLine serves the ship over a line that can be cut: a request that comes then gets no answer. Whether the act
// reached the register before the line broke is up to after.
type brokenLine struct {
	cut   atomic.Bool
	after atomic.Bool // the line breaks on the way back
}

func (b *brokenLine) serve(t *testing.T, a *aboard) string {
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if b.cut.Load() {
			if b.after.Load() {
				a.web.Handler().ServeHTTP(httptest.NewRecorder(), r)
			}
			panic(http.ErrAbortHandler)
		}
		a.web.Handler().ServeHTTP(w, r)
	}))
	t.Cleanup(server.CloseClientConnections)
	return server.URL
}

// TestWalkGoesOnWithoutALine fits the locks of a permit in a real browser while the line comes and goes: what was
// fitted without one waits on the phone, is sent in its order afterwards, once each, and is told as not recorded until
// then.
func TestWalkGoesOnWithoutALine(t *testing.T) {
	j := begin(t)
	j.authorise()
	line := &brokenLine{}
	base := line.serve(t, j.a)
	w := openWindow(t)
	w.do(chromedp.EmulateViewport(390, 844), chromedp.Navigate(base+"/sign-in"))
	w.is(`(document.querySelector("#person").value = "tech", document.querySelector("#pin").value = "` + testPINs["tech"] +
		`", document.querySelector("#f-sign-in button").click(), true)`)
	w.until("the board is open", `location.pathname === "/"`)
	w.do(chromedp.Navigate(base + j.path + "/walk"))
	locks := j.a.permit(j.id).Locks()
	fit := func(l permits.Lock) {
		t.Helper()
		w.until(fmt.Sprintf("step %d is next", l.Step.N),
			fmt.Sprintf(`document.querySelector("[data-walk-now] [data-step]")?.dataset.step === "%d" && !document.querySelector("[data-walk-now] button[name=position]").disabled`, l.Step.N))
		w.is(fmt.Sprintf(`(f => (f.elements.code.value = %q, f.elements.padlock && (f.elements.padlock.value = "L-%d"), f.querySelectorAll("[type=checkbox]").forEach(b => b.checked = true), f.querySelector("button[value=%s]").click(), true))(document.querySelector("[data-walk-now] form"))`,
			j.code(l.Step.N), l.Step.N, l.Step.Position))
	}
	kept := func(n int) string { return fmt.Sprintf(`outbox.list().length === %d`, n) }
	fit(locks[0])
	w.until("the first is recorded", `document.querySelector(".walk [data-n='1'] [data-status]").textContent === "hangs"`)

	line.cut.Store(true)
	line.after.Store(true) // the register has it, and the answer is lost
	fit(locks[1])
	w.until("the second waits on the phone",
		kept(1)+` && document.querySelector("[data-outbox]").textContent.includes("Not recorded yet: step 2")`)
	line.after.Store(false)
	fit(locks[2])
	w.until("the third waits too",
		kept(2)+` && document.querySelector(".walk [data-n='3'] [data-status]").textContent === "not recorded"`)
	w.do(chromedp.Navigate("about:blank")) // the page is lost; the phone keeps what it has
	line.cut.Store(false)
	w.do(chromedp.Navigate(base + "/"))
	w.until("all is sent", kept(0))
	j.wantFitted(3)

	w.do(chromedp.Navigate(base + j.path + "/walk"))
	line.cut.Store(true)
	fit(locks[3])
	w.until("the fourth waits", kept(1))
	j.oow.must(j.oow.post(j.path+"/cancel", "words", "put off", "pin", testPINs["oow"]), j.path)
	line.cut.Store(false)
	w.is(`(outbox.flush(), true)`)
	w.until("the refusal is told and the act still kept",
		kept(1)+` && document.querySelector("[data-outbox]").textContent.includes("step 4 was refused")`)
	j.wantFitted(3)

	w.is(`(globalThis.confirm = () => true, [...document.querySelectorAll("[data-outbox] button")].find(b => b.textContent.startsWith("Forget")).click(), true)`)
	w.until("it is forgotten", kept(0)+` && !document.querySelector("[data-outbox]")`)
	w.do(chromedp.Navigate(base + j.path + "/walk"))
	between := func() {
		t.Helper()
		for a, due, _ := j.a.permit(j.id).NextAdded(); due; a, due, _ = j.a.permit(j.id).NextAdded() {
			form := fmt.Sprintf(`document.querySelector("form[action='%s/walk/back/%d']")`, j.path, a.N)
			w.until(fmt.Sprintf("%q is asked for", a.Do), form+` !== null`)
			w.is(fmt.Sprintf(`(f => (f.elements.signer.value = "tech", f.elements.pin.value = %q, f.querySelector("button.main").click(), true))(%s)`,
				testPINs["tech"], form))
			w.until("it is signed", form+` === null`)
		}
	}
	between()
	w.until("the third comes off first", `document.querySelector("[data-walk-now] [data-step]")?.dataset.step === "3"`)
	line.cut.Store(true)
	remove := fmt.Sprintf(
		`(f => (f.elements.code.value = %q, f.querySelector("button[value=%s]").click(), true))(document.querySelector("[data-walk-now] form"))`, j.code(3), locks[2].Step.Clearance)
	w.is(remove)
	w.until("nothing comes off without a line",
		kept(0)+` && document.querySelector("[data-walk-say]").textContent.includes("No line: nothing is recorded")`)
	line.cut.Store(false)
	w.is(remove)
	w.until("the third is off", `document.querySelector(".walk [data-n='3'] [data-status]").textContent === "off"`)
	between()
	w.until("the second is next", `document.querySelector("[data-walk-now] [data-step]")?.dataset.step === "2"`)
	if l, _ := j.a.permit(j.id).Lock(3); l.IsOn() {
		t.Error("step 3 is still recorded as hanging")
	}
}

// wantFitted wants so many locks recorded, each once.
func (j *job) wantFitted(want int) {
	j.a.t.Helper()
	entries, err := j.a.reg.Entries(j.a.t.Context(), register.EntryQuery{Permit: j.id, Kind: permits.KindFitLock})
	if err != nil || len(entries) != want || j.a.permit(j.id).LocksOn() != want {
		j.a.t.Errorf("%d entries of fitted locks, %d hang, %v; want %d", len(entries), j.a.permit(j.id).LocksOn(), err, want)
	}
}
