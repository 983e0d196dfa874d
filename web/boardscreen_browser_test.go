package web

import (
	"fmt"
	"net"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// silentLine carries bytes between pages and the register, until it falls silent: nothing is closed, and nothing comes
// through, as when a radio link dies. Nobody is told of it.
type silentLine struct {
	silent atomic.Bool
	ended  atomic.Bool
}

// serve returns the address at which the ship is reached over the line.
func (s *silentLine) serve(t *testing.T, a *aboard) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.ended.Store(true); l.Close() })
	go func() {
		for {
			near, err := l.Accept()
			if err != nil {
				return
			}
			far, err := net.Dial("tcp", strings.TrimPrefix(a.http.URL, "http://"))
			if err != nil {
				near.Close()
				continue
			}
			go s.carry(near, far)
			go s.carry(far, near)
		}
	}()
	return "http://" + l.Addr().String()
}

func (s *silentLine) carry(from, to net.Conn) {
	defer from.Close()
	defer to.Close()
	buffer := make([]byte, 32<<10)
	for {
		n, err := from.Read(buffer)
		for s.silent.Load() && !s.ended.Load() {
			time.Sleep(20 * time.Millisecond)
		}
		if n > 0 {
			if _, err := to.Write(buffer[:n]); err != nil {
				return
			}
		}
		if err != nil || s.ended.Load() {
			return
		}
	}
}

// signsIn signs somebody in on the device, and waits for the board.
func (w *window) signsIn(base, who string) {
	w.t.Helper()
	w.do(chromedp.Navigate(base + "/sign-in"))
	w.is(fmt.Sprintf(`(document.querySelector("#person").value = %q, document.querySelector("#pin").value = %q,
		document.querySelector("#f-sign-in button").click(), true)`, who, testPINs[who]))
	w.until(who+" is signed in", `location.pathname === "/" && document.readyState === "complete"`)
}

// TestBoardScreenNeverPassesOldForLive hangs a board screen in a real browser. It follows what others do. When its line
// dies without a word, after a sleep, and when what it hears of cannot be fetched, it says that it is out of date, and
// how old; when all is well again it says live, and shows what came meanwhile.
func TestBoardScreenNeverPassesOldForLive(t *testing.T) {
	j := begin(t)
	line := &silentLine{}
	base := line.serve(t, j.a)
	w := openWindow(t)
	w.signsIn(base, "chief")
	w.do(chromedp.Navigate(base + "/screens"))
	w.is(fmt.Sprintf(`(f => (f.elements.name.value = "Bridge", f.elements.signer.value = "chief", f.elements.pin.value = %q,
		f.querySelector("button.main").click(), true))(document.querySelector("#f-allow"))`, testPINs["chief"]))
	const live = `document.querySelector("[data-bs-state]")?.textContent === "up to date" && document.querySelector("[data-bs-stale]").hidden`
	const stale = `document.querySelector("[data-bs-state]").textContent.startsWith("OUT OF DATE") && !document.querySelector("[data-bs-stale]").hidden`
	const list = `document.querySelector(".bs-permits").textContent.replace(/\s+/g, " ")`
	w.until("the screen is live", live)
	w.is(`(window.same = true)`)
	j.tech.must(j.tech.post("/permits", "job", "P1-seal", "work", "The other seal leaks too"), "/permits/2")
	w.until("the second permit stands on it", list+`.includes("draft 2")`)
	if !w.is(`window.same && ` + live) {
		t.Error("the page was loaded anew as a whole, or is not live")
	}

	line.silent.Store(true)
	j.authorise()
	w.until("it says that it is out of date", stale)
	if !w.is(`/heard from the register for \d+ s/.test(document.querySelector("[data-bs-why]").textContent) && /\d+ s ago/.test(document.querySelector("[data-bs-age]").textContent)`) {
		t.Error("it does not say for how long nothing was heard, or how old the board is")
	}
	if w.is(list + `.includes("authorised")`) {
		t.Error("the line is silent, and something came through it")
	}
	line.silent.Store(false)
	w.until("it is live again", live)
	w.until("it shows what came meanwhile", list+`.includes("authorised")`)

	// A sleep: no timer runs, and the clock has moved on when the first one does.
	if !w.is(`(Date.now = (was => () => was() + 3600000)(Date.now.bind(Date)), dispatchEvent(new Event("pageshow")), ` + stale + `)`) {
		t.Error("after a sleep of an hour it does not say at once that it is out of date")
	}
	w.until("it is live again after the sleep", live)

	// The line is up, and the board cannot be fetched: the number of entries alone is no news.
	w.is(`(window.fetch0 = fetch, fetch = () => Promise.reject(new Error("no")), true)`)
	j.tech.must(j.tech.post("/permits", "job", "P1-seal", "work", "A third"), "/permits/3")
	w.until("it says that it is out of date while the line is up", stale)
	w.is(`(fetch = fetch0, true)`)
	w.until("it is live after that", live)

	j.oow.must(j.oow.post("/screens/end", "name", "Bridge", "signer", "oow", "pin", testPINs["oow"]), "/screens")
	w.until("it says that it was ended",
		`document.querySelector("[data-bs-why]").textContent.includes("no more") && !document.querySelector("[data-bs-stale]").hidden`)
}
