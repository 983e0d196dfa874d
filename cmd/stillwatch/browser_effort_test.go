package main

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"
	"text/tabwriter"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"stillwatch/cmd/stillwatch/demo"
	"stillwatch/permits"
)

var measureEffort = flag.Bool("effort", false, "walk a separator's bowl overhaul in a real browser and print what it "+
	"asks of people's fingers, and how long the pages are")

// lengths is how long a page is on a phone, in screens.
type lengths struct {
	page           string
	served, folded float64 // as it comes, and with every fold shut
	todo           float64 // where what is to be done now ends; 0: nothing is
}

// pageLengths measures the page that is shown and leaves it as it was.
const pageLengths = `(() => {
  const open = [...document.querySelectorAll("main details[open]")];
  const tall = () => document.documentElement.scrollHeight / innerHeight;
  const now = document.querySelector("[data-todo]"), served = tall();
  const todo = now ? (now.getBoundingClientRect().bottom + scrollY) / innerHeight : 0;
  open.forEach((d) => d.open = false);
  const folded = tall();
  open.forEach((d) => d.open = true);
  return [served, folded, todo];
})()`

// opens goes to a page, past the door where the wait was longer than anybody stays signed in.
func (w *effortWalk) opens(h *hands, who, path string) {
	h.open(path)
	if strings.HasPrefix(h.where(), "/sign-in") {
		h.signIn(who)
	}
}

// measures notes how long the page is that somebody looks at.
func (w *effortWalk) measures(h *hands, page string) {
	l := ask[[]float64](h, pageLengths)
	w.pages = append(w.pages, lengths{page, l[0], l[1], l[2]})
	if *screensDir != "" {
		h.writes(w.t, strings.NewReplacer(" ", "-", ",", "").Replace(page), chromedp.FullScreenshot(100))
	}
}

// effortWalk is one separator's bowl overhaul by the shortest way that the pages offer, with what it takes.
type effortWalk struct {
	crewAtWork
	lines []effortLine
	pages []lengths
}

type effortLine struct {
	who  string
	did  effort
	then string // what was measured of the same before
}

// prints writes both tables.
func (w *effortWalk) prints() {
	out := tabwriter.NewWriter(os.Stdout, 0, 4, 2, ' ', 0)
	fmt.Fprintln(out, "\nwho\ttaps\tcharacters\tscans\tPINs\tbefore (20 Nov 2026)")
	for _, l := range w.lines {
		fmt.Fprintf(out, "%s\t%d\t%d\t%d\t%d\t%s\n", l.who, l.did.taps, l.did.chars, l.did.scans, l.did.pins, l.then)
	}
	fmt.Fprintln(out, "\npage, in phone screens of 390 x 844\tas served\tfolded shut\tto do now ends at")
	for _, l := range w.pages {
		fmt.Fprintf(out, "%s\t%.1f\t%.1f\t%.2f\n", l.page, l.served, l.folded, l.todo)
	}
	out.Flush()
}

// did ends somebody's part.
func (w *effortWalk) did(h *hands, who, then string) {
	w.lines = append(w.lines, effortLine{who, h.used, then})
	h.used = effort{}
}

// TestEffortOfASeparator walks the bowl overhaul of a separator in real browsers and prints what it takes:
// go test ./cmd/stillwatch -run EffortOfASeparator -effort -v.
func TestEffortOfASeparator(t *testing.T) {
	if !*measureEffort {
		t.Skip("a whole separator is walked only with -effort")
	}
	patience = time.Minute
	w := &effortWalk{crewAtWork: *manTheShip(t)}
	defer w.prints()
	w.asks()
	w.fitsAll()
	w.looksAtAll("second person, locks", "75 taps, 25 PINs")
	w.provesAll()
	w.worksOnIt()
	w.takesAllOff()
	w.looksAtAll("second person, way back", "")
	w.ends()
}

// asks: the technician asks for the permit, the officer and the chief engineer sign.
func (w *effortWalk) asks() {
	h := w.tove
	h.open("/")
	h.signIn("tove")
	w.measures(h, "board, nothing open")
	h.follows("", "New permit")
	w.measures(h, "new permit, choose")
	h.unfolds("1. Machine and job", "Separator 1")
	h.follows("1. Machine and job", "Bowl overhaul")
	w.measures(h, "new permit, the plan (was 20)")
	h.types("2. Request", "What is to be done, and why", "Bowl overhaul")
	h.sends("2. Request", "Request this permit")
	w.page = strings.SplitN(h.where(), "?", 2)[0]
	if _, err := fmt.Sscanf(w.page, "/permits/%d", &w.id); err != nil {
		w.t.Fatalf("the request ended at %s, want the permit's page", w.page)
	}
	w.measures(h, "permit, draft")
	h = w.officer
	h.open("/")
	h.signIn("ilse")
	h.follows("", "Separator 1: Bowl overhaul")
	if len(w.ship.permit(w.id).Plan().Unproved) > 0 {
		h.picks("Authorise the isolation", "I have seen to it")
	}
	h.signs("Authorise the isolation", "ilse")
	h.sends("Authorise the isolation", "Authorise")
	w.did(h, "officer, authorising", "")
	w.head.open("/")
	w.head.signIn("aram")
	if w.ship.permit(w.id).NeedsAnswer() {
		w.head.open(w.page)
		w.head.signs("Answer for what the plan does not prove", "aram")
		w.head.sends("Answer for what the plan does not prove", "Answer for it")
	}
	w.tags = w.ship.tags(w.id)
}

// fitsAll: label and tag are scanned at each point, and what the plan asks is read before a point that would let it
// out.
func (w *effortWalk) fitsAll() {
	h := w.tove
	h.open(w.page)
	w.measures(h, "permit, authorised")
	for i, l := range w.ship.permit(w.id).Locks() {
		w.readsFirst()
		h.scans("/T/" + w.labels[string(l.Step.Point)])
		h.scans(w.tags[l.Step.N])
		if i == 1 {
			w.measures(h, "tag, to fit")
		}
		w.hangs(l)
		if i == 1 {
			w.measures(h, "tag, fitted")
			h.open(w.page)
			w.measures(h, "permit, isolating")
			h.open(w.page + "/walk")
			w.measures(h, "walk")
		}
	}
}

// hangs fits one lock; the number on it begins as on the last one, which stands there already.
func (w *effortWalk) hangs(l permits.Lock) {
	h, part, number := w.tove, fmt.Sprintf("Fit tag %d", l.Step.N), fmt.Sprintf("L1-%02d", l.Step.N)
	if l.Step.Lock {
		part = fmt.Sprintf("Fit lock %d", l.Step.N)
		f := h.find(part, "field", "Number on the lock")
		more := strings.TrimPrefix(number, ask[string](h, `document.querySelector("[data-found]").value`))
		h.used.chars += len(more)
		h.do("type the number", h.press(f), chromedp.KeyEvent(kb.End), chromedp.KeyEvent(more))
		if got := ask[string](h, `document.querySelector("[data-found]").value`); got != number {
			w.t.Fatalf("the lock's number reads %q, want %q", got, number)
		}
	}
	h.sends(part, l.Step.Kind.Word(l.Step.Position))
}

// readsFirst records what must be right before the next step.
func (w *effortWalk) readsFirst() {
	h, p := w.tove, w.ship.permit(w.id)
	first, dead := p.FirstReadings(w.ship.now()), p.FirstTests(w.ship.now())
	if len(first)+len(dead) == 0 {
		return
	}
	for _, s := range first {
		w.ship.wait(time.Duration(s.Check.WaitS) * time.Second)
	}
	w.opens(h, "tove", w.page)
	w.measures(h, "permit, to be read first")
	for _, s := range first {
		w.reads(s)
	}
	for _, d := range dead {
		w.tests(d)
	}
}

func (w *effortWalk) reads(s permits.StoredState) {
	h := w.tove
	if s.Check.Unit == "" {
		h.sends(s.Check.Name, "Yes")
		return
	}
	if s.Check.Limit == 0 {
		h.sends(s.Check.Name, "0 "+s.Check.Unit)
		return
	}
	h.types(s.Check.Name, s.Check.Quantity, typedFigure(s.Check.Limit))
	h.sends(s.Check.Name, "Record")
}

// typedFigure is a figure within a limit, in whole units where that says enough.
func typedFigure(limit float64) string {
	if limit >= 10 {
		return fmt.Sprintf("%.0f", limit-1)
	}
	return demo.Number(limit)
}

func (w *effortWalk) tests(d permits.DeadState) {
	h, part := w.tove, "Dead test: "+d.Test.Name
	h.unfoldsTo(part, "All three are so")
	h.sends(part, "All three are so")
}

// looksAtAll: the second person scans each tag, looks, and signs once.
func (w *effortWalk) looksAtAll(who, then string) {
	h, way := w.bao, w.ship.permit(w.id).State() == permits.Restoring
	for i, l := range w.ship.permit(w.id).Locks() {
		h.scans(w.tags[l.Step.N])
		if i == 0 && !way {
			h.signIn("bao")
		}
		if i == 1 {
			w.measures(h, "tag, to look at: "+who)
		}
		h.sends("Second person", "It is right. I sign at the end")
	}
	h.follows("", "Sign what you have seen")
	w.measures(h, "second person's list")
	h.signs("", "bao")
	h.sends("", "Sign once for all of them")
	w.did(h, who, then)
}

// provesAll records what the proof asks, and signs it.
func (w *effortWalk) provesAll() {
	h, p := w.tove, w.ship.permit(w.id)
	w.ship.wait(demo.LongestWait(p))
	w.opens(h, "tove", w.page)
	w.measures(h, "permit, proving")
	for _, d := range p.Drains() {
		part := "Drain: " + d.Section.Name
		h.types(part, "Came out", fmt.Sprintf("%.1f", d.Section.OutL))
		h.types(part, "Temperature", "40")
		h.picks(part, "Held for 15 minutes")
		h.sends(part, "Record")
	}
	for _, r := range w.ship.permit(w.id).Stored() { // what was read hours ago is read again
		w.reads(r)
	}
	for _, d := range w.ship.permit(w.id).Dead() {
		if d.Recorded.IsZero() {
			w.tests(d)
		}
	}
	if p.NeedsStart() {
		h.sends("Start attempt", "Nothing moved, and the controls are off again")
	}
	w.measures(h, "permit, proof to sign")
	h.signs("Sign the proof", "tove")
	h.sends("Sign the proof", "Sign the proof")
}

// worksOnIt: issued, accepted on the second person's phone, signed on and off, handed back.
func (w *effortWalk) worksOnIt() {
	h := w.tove
	w.opens(w.officer, "ilse", w.page)
	w.officer.signs("Issue the permit", "ilse")
	w.officer.sends("Issue the permit", "Issue")
	w.did(w.officer, "officer, issuing", "")
	w.opens(w.bao, "bao", w.page)
	w.bao.types("Accept the permit", "How many tools and loose parts", "7")
	w.bao.signs("Accept the permit", "bao")
	w.bao.sends("Accept the permit", "Accept")
	h.open(w.page)
	w.measures(h, "permit, live")
	h.signs("Sign on to the work", "tove")
	h.sends("Sign on to the work", "Sign on")
	w.measures(h, "permit, at work")
	h.signs("Sign off", "tove")
	h.sends("Sign off", "Sign off")
	w.bao.open(w.page)
	w.bao.types("Hand back", "Tools and loose parts that came back", "7")
	w.bao.picks("Hand back", "Guards and covers")
	w.bao.signs("Hand back", "bao")
	w.bao.sends("Hand back", "Hand back")
	w.did(w.bao, "person in charge", "")
	w.wantState(permits.HandedBack)
}

// takesAllOff: each tag is scanned as it comes off; what stands between is signed on the walk.
func (w *effortWalk) takesAllOff() {
	h := w.tove
	for i := 0; ; i++ {
		p := w.ship.permit(w.id)
		w.between()
		l, on := p.NextRemove()
		if !on {
			break
		}
		h.used.scans++
		w.takesOff(l, "")
		if i == 0 {
			w.measures(h, "tag, taken off")
			h.open(w.page)
			w.measures(h, "permit, restoring")
		}
	}
}

// ends: what is done when all is off, and the chief engineer closes.
func (w *effortWalk) ends() {
	w.between()
	w.did(w.tove, "technician", "177 taps, 155 characters, 75 scans")
	h := w.head
	w.opens(h, "aram", w.page)
	const part = "Chief engineer: close the"
	h.picks(part, "Every point was seen")
	h.picks(part, "Everybody concerned was told")
	h.signs(part, "aram")
	h.sends(part, "Close the")
	w.wantState(permits.Closed)
	w.opens(w.tove, "tove", w.page)
	w.measures(w.tove, "permit, closed")
	w.tove.open(w.page + "/plan")
	w.measures(w.tove, "plan")
	w.tove.open("/")
	w.measures(w.tove, "board")
	w.tove.open("/points")
	w.measures(w.tove, "points")
	w.tove.open("/log")
	w.measures(w.tove, "log")
}
