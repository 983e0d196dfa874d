package web

import (
	"fmt"
	"testing"

	"github.com/chromedp/chromedp"
)

// feels stands in for the motor, the loudspeaker and the screen of a phone, and notes what is asked of them. What it
// notes outlives the page.
const feels = `(navigator.vibrate = (p) => { sessionStorage.buzz = JSON.stringify(p); return true; },
	window.AudioContext = class { constructor() { this.currentTime = 0; this.destination = {}; }
		createOscillator() { const o = { frequency: { set value(hz) { sessionStorage.tone = hz; } }, connect: (g) => g, start() {}, stop() {} }; return o; }
		createGain() { return { gain: { setValueAtTime() {}, setTargetAtTime() {} }, connect: (x) => x }; } },
	Object.defineProperty(navigator, "wakeLock", { configurable: true, value: { request: () => { sessionStorage.awake = "yes"; return Promise.resolve({}); } } }),
	document.dispatchEvent(new Event("visibilitychange")), true)`

// TestTagPageAnswersTheHand presses a wrong and a right answer on a tag's page with a finger. The phone buzzes and
// sounds otherwise for yes than for no, its screen is asked to stay on, no field takes the focus by itself, so that no
// keyboard covers the page, and each answer is written there too.
func TestTagPageAnswersTheHand(t *testing.T) {
	j := begin(t)
	j.authorise()
	w, end := phoneOf(t, t.TempDir())
	defer end()
	w.do(chromedp.EmulateViewport(390, 844, chromedp.EmulateMobile, chromedp.EmulateTouch))
	w.signsIn(j.a.http.URL, "tech")
	l, _ := j.a.permit(j.id).Lock(1)
	wrong, right := l.Step.Kind.Passing(), l.Step.Position
	if wrong == right {
		wrong = l.Step.Kind.Isolating()
	}
	const typing = `/^(INPUT|SELECT|TEXTAREA)$/.test(document.activeElement?.tagName)`
	press := func(position, buzz, tone string) {
		t.Helper()
		w.is(`(sessionStorage.clear(), true)`)
		w.is(feels)
		if w.is(typing) || !w.is(`sessionStorage.awake === "yes"`) {
			t.Error("a field has the focus, or the screen is not kept awake")
		}
		w.is(`(f => (f.elements.padlock && (f.elements.padlock.value = "R-1"), f.querySelectorAll("[type=checkbox]").forEach(b => b.checked = true), true))(document.querySelector("#f-fit"))`)
		w.do(chromedp.Click(chromedp.CSS(fmt.Sprintf("#f-fit button[value=%s]", position))))
		w.until("the phone answers", fmt.Sprintf(`sessionStorage.buzz === %q && sessionStorage.tone === %q`, buzz, tone))
	}
	w.do(chromedp.Navigate(j.a.http.URL + j.codeOf(1)))
	press(string(wrong), "[300,120,300]", "220")
	w.until("the refusal is written there", `document.querySelector(".refusal")?.textContent.includes("must be") === true`)
	if j.a.permit(j.id).LocksOn() != 0 {
		t.Fatal("a wrong position was recorded")
	}
	w.do(chromedp.Navigate(j.a.http.URL + j.codeOf(1)))
	press(string(right), "80", "1320")
	w.until("it is written there", `document.querySelector(".done")?.textContent.includes("Recorded") === true`)
	j.wantFitted(1)

	w.do(chromedp.Navigate(j.a.http.URL + j.path + "/walk"))
	w.fits(j, 2)
	w.until("the third is next", `document.querySelector("[data-walk-now] [data-step]")?.dataset.step === "3"`)
	if w.is(typing) {
		t.Error("the walk puts the focus into a field on a phone")
	}
}

// TestTagPageKeepsItsLockWithoutALine hangs a lock on the tag's own page, after the browser was closed without a line.
func TestTagPageKeepsItsLockWithoutALine(t *testing.T) {
	j := begin(t)
	j.authorise()
	line := &brokenLine{}
	base := line.serve(t, j.a)
	folder := t.TempDir()
	w, end := phoneOf(t, folder)
	w.signsIn(base, "tech")
	w.do(chromedp.Navigate(base + j.codeOf(1)))
	w.until("the phone keeps the tag's page", `document.body.dataset.keeps === "yes"`)
	end()
	line.cut.Store(true)
	w, end = phoneOf(t, folder)
	defer end()
	w.do(chromedp.Navigate(base + j.codeOf(1)))
	w.until("the tag is there as a copy", isCopy)
	l, _ := j.a.permit(j.id).Lock(1)
	w.is(fmt.Sprintf(`(f => (f.elements.padlock && (f.elements.padlock.value = "R-1"), f.querySelectorAll("[type=checkbox]").forEach(b => b.checked = true), f.querySelector("button[value=%s]").click(), true))(document.querySelector("#f-fit"))`, l.Step.Position))
	w.until("it waits on the phone", `outbox.list().length === 1 && document.querySelector("main").textContent.includes("NOT recorded")`)
	line.cut.Store(false)
	w.is(`(outbox.flush(), true)`)
	w.until("it is recorded", `outbox.list().length === 0`)
	j.wantFitted(1)
}
