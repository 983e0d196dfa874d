package main

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"stillwatch/cmd/stillwatch/demo"
	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/web/screens"
)

// watchAboard is a ship on which several permits live one after the other. What leads up to the part that a test looks
// at is sent form by form; what it looks at is pressed by somebody of the crew on a device of their own.
type watchAboard struct {
	whole   *testing.T // which the devices live as long as
	t       *testing.T // of the part that looks now
	ship    *testShip
	browser context.Context
	drive   *demo.Drive
	devices map[string]*hands
}

// TestPermitsLiveInRealBrowsers looks at the turns that the life of a permit can take beside the straight way.
// TestJobIsDoneInRealBrowsers goes that; TestWatchIsHandedOverInRealBrowsers and
// TestMachineIsRunForATestInRealBrowsers have a ship of their own.
func TestPermitsLiveInRealBrowsers(t *testing.T) {
	t.Parallel()
	s := setSail(t)
	w := &watchAboard{whole: t, t: t, ship: s, browser: startBrowser(t), drive: s.drive(), devices: map[string]*hands{}}
	for _, part := range []struct {
		name string
		look func(*watchAboard)
	}{
		{"shared point", (*watchAboard).sharedPoint},
		{"entry", (*watchAboard).entry},
		{"hot work", (*watchAboard).hotWork},
		{"absent owner", (*watchAboard).absentOwner},
		{"expiry", (*watchAboard).expiry}, // last: it lets half a day go by
	} {
		t.Run(part.name, func(t *testing.T) {
			w.lookedAtBy(t)
			began := time.Now()
			part.look(w)
			w.ship.went(w.drive)
			t.Logf("%.1f s", time.Since(began).Seconds())
		})
	}
	w.lookedAtBy(t)
}

// lookedAtBy has everything tell this test what is wrong.
func (w *watchAboard) lookedAtBy(t *testing.T) {
	w.t, w.ship.t = t, t
	for _, h := range w.devices {
		h.t = t
	}
}

// on opens a page on somebody's own device: a desk for officers, a phone for the others. They sign in where it asks.
func (w *watchAboard) on(who, path string) *hands {
	w.t.Helper()
	h, has := w.devices[who]
	if !has {
		size := phone
		if who == "ilse" || who == "aram" {
			size = desk
		}
		h = w.ship.hands(w.whole, w.browser, size)
		h.t, w.devices[who] = w.t, h
	}
	h.open(path)
	if strings.HasPrefix(h.where(), "/sign-in") {
		h.signIn(who)
		h.open(path)
	}
	return h
}

// begins requests and authorises a permit, and has everything fitted up to a number of locks; 0 is all of them, seen.
func (w *watchAboard) begins(job string, locks int) permits.PermitID {
	w.t.Helper()
	d := w.drive
	id := d.Request("tove", job, "Opened for inspection")
	d.Authorise("ilse", id, "8")
	w.ship.went(d)
	if set := (permits.Setting{Rules: w.ship.reg.Rules()}); w.ship.permit(id).NeedsCountersign(set) {
		w.sends(id, "noor", "/countersign", nil)
	}
	if locks == 0 {
		d.FitAll(id)
	}
	for _, l := range w.ship.permit(id).Locks()[:locks] {
		d.Fit("tove", id, l)
	}
	w.ship.went(d)
	return id
}

// sends fills in a form of the permit's page and signs it, without a browser.
func (w *watchAboard) sends(id permits.PermitID, who, form string, fields map[string]string) {
	w.t.Helper()
	path := screens.PermitPath(id)
	w.drive.Act(who, form, path, path+form, w.drive.SignedBy(who, fields))
	w.ship.went(w.drive)
}

func (w *watchAboard) stands(id permits.PermitID, want permits.State) {
	w.t.Helper()
	if got := w.ship.permit(id).State(); got != want {
		w.t.Fatalf("permit %d stands at %s, want %s", id, got, want)
	}
}

// tag is the address in the code of a step's tag.
func (w *watchAboard) tag(id permits.PermitID, n int) string { return w.ship.tags(id)[n] }

// sharedPoint has two permits hold one breaker. Giving one back leaves it off, and says why; with the other's lock it
// comes on. (One point, several jobs: whoever clears the last line clears the tag; US naval training manuals, read.)
func (w *watchAboard) sharedPoint() {
	first, last := w.begins("SW1-drive", 2), w.begins("SW1-impeller", 2)
	const breaker = 2
	l, _ := w.ship.permit(first).Lock(breaker)
	other, _ := w.ship.permit(last).Lock(breaker)
	if l.Step.Point != other.Step.Point || l.Step.Kind != isolation.Breaker {
		w.t.Fatalf("step %d is %s for one permit and %s for the other, want one breaker", breaker, l.Step.Point,
			other.Step.Point)
	}
	off, on := l.Step.Kind.Word(l.Step.Position), l.Step.Kind.Word(l.Step.Clearance)
	for _, id := range []permits.PermitID{first, last} {
		w.cancels(id)
	}
	h := w.on("tove", w.tag(first, breaker))
	h.sees("It stays so", fmt.Sprintf("permit %d still has a lock on it", last))
	h.refused("Take off lock", on, "must be left "+off)
	h.sends("Take off lock", off)
	h.scans("/points/" + string(l.Step.Point))
	h.sees(fmt.Sprintf("Permit %d, step %d", last, breaker))
	h = w.on("tove", w.tag(last, breaker))
	h.sends("Take off lock", on)
	if n := w.ship.permit(first).LocksOn() + w.ship.permit(last).LocksOn(); n != 2 {
		w.t.Errorf("%d locks and tags hang, want the two tags of the control switch", n)
	}
}

// cancels ends a permit whose work never began, and has done what comes before its next lock comes off.
func (w *watchAboard) cancels(id permits.PermitID) {
	w.t.Helper()
	w.sends(id, "ilse", "/cancel", map[string]string{"words": "Spare is the wrong size"})
	for {
		a, due, _ := w.ship.permit(id).NextAdded()
		if !due {
			return
		}
		w.sends(id, "tove", fmt.Sprintf("/back/%d", a.N), nil)
	}
}

// absentOwner releases the locks of somebody who cannot come: three conditions, each with who, when and how. Another
// takes them off. The owner signs nothing before having read it. (29 CFR 1910.147(e)(3), read.)
func (w *watchAboard) absentOwner() {
	id := w.begins("SLP-stator", 2)
	w.cancels(id)
	next, _ := w.ship.permit(id).NextRemove()
	h := w.on("bao", w.tag(id, next.Step.N))
	h.sees("is the lock of Tove")

	head := w.on("aram", screens.PermitPath(id))
	const part = "Chief engineer: release"
	head.unfoldsTo("More that can be done", part)
	head.unfolds("", part)
	head.chosen(part, "Whose locks", "Tove")
	head.picks(part, "They are aboard and cannot come")
	for _, effort := range []string{"Verified not to be aboard", "It was tried to tell them", "They will be told"} {
		head.picks(effort, effort)
		head.types(effort, "How, such as", "at the cabin door, asleep after the night")
		if strings.HasPrefix(effort, "They") {
			head.chooses(effort, "Who tells them", "Rui")
			continue
		}
		head.chooses(effort, "Who did it", "Rui")
		head.sets(effort, "When", w.ship.now().Local().Format("15:04"))
	}
	head.signs(part, "aram")
	head.sends(part, "Release")

	h = w.on("bao", w.tag(id, next.Step.N))
	h.sends("Take off", next.Step.Kind.Word(next.Step.Clearance))
	const second = "Second person"
	owner := w.on("tove", w.tag(id, next.Step.N))
	sees := func() {
		owner.unfolds(second, "It is wrong, or sign this one now")
		owner.picks(second, "Right")
		owner.signs(second, "tove")
	}
	sees()
	owner.refused(second, "Sign the check", "released")
	owner.open("/")
	owner.sees("Your locks were released while you were away", "asleep after the night")
	owner.signs("", "tove")
	owner.sends("", "I know")
	owner.open(w.tag(id, next.Step.N))
	sees()
	owner.sends(second, "Sign the check")
}

// sets puts a time into its field, as the picker of a phone does.
func (h *hands) sets(part, label, clock string) {
	h.t.Helper()
	h.find(part, "field", label)
	h.used.taps += 2
	if got := ask[string](h, `(() => { const f = document.querySelector("[data-found]"); f.value = "`+clock+
		`"; f.dispatchEvent(new Event("input", {bubbles: true})); return f.value; })()`); got != clock {
		h.t.Fatalf("field %q holds %q after setting %q", label, got, clock)
	}
}

// entry tests the air at each level, keeps out who would be alone, records two in and out, and calls all out. (IMO
// A.1050(27), 7.2 and 7.3, read; nobody alone: MSC.581(110), second hand.)
func (w *watchAboard) entry() {
	id := w.begins("R1-entry", 0)
	at := screens.AtWorkPath(id)
	w.drive.Record(id)
	w.ship.went(w.drive)
	h := w.on("tove", at)
	for i, level := range w.ship.permit(id).Air() {
		if i == 0 {
			w.tests(h, id, level.Level, "19.5")
			h.sees("no valid test")
			h.unfolds("", w.heading(level.Level))
			h.types(w.heading(level.Level), "What was changed", "vented for an hour more")
		}
		w.tests(h, id, level.Level, "20.9")
	}
	h.sees("within limits")
	w.sends(id, "tove", "/prove", nil)
	w.goesLive(id)

	for _, who := range []string{"tove", "bao"} {
		w.sends(id, who, "/sign-on", nil)
	}
	const inside, out = "Inside now", "Call everybody out"
	post := w.on("rui", at)
	post.sees("Nobody goes in now", "attendant")
	post.signs("Attendant", "rui")
	post.sends("Attendant", "Stand by")
	post.picks(inside, "Tove")
	post.picks(inside, "Each wears a gas meter")
	post.refused(inside, "Record as in", "Nobody goes in alone")
	post.picks(inside, "Bao")
	post.sends(inside, "Record as in")
	post.sees("Inside now: 2")
	post.unfolds("", out)
	post.types(out, "Why", "gas meter sounds")
	post.sends(out, out)
	w.stands(id, permits.Suspended)
	w.on("ilse", "/").sees("gas meter sounds", "Tove", "Bao")
	post.open(at)
	for _, who := range []string{"Tove", "Bao"} {
		post.picks(inside, who)
	}
	post.sends(inside, "Record as out")
	post.sees("Nobody is inside.")
	post.unfolds("", "Leave the post")
	post.signs("Attendant", "rui")
	post.sends("Attendant", "Leave the post")
	h.open(screens.PermitPath(id))
	h.signs("Sign off", "tove")
	h.sends("Sign off", "Sign off")
}

// goesLive signs the issue and the acceptance: Bao is in charge.
func (w *watchAboard) goesLive(id permits.PermitID) {
	w.t.Helper()
	w.sends(id, "ilse", "/issue", nil)
	w.sends(id, "bao", "/accept", map[string]string{"tools_out": "7"})
	w.stands(id, permits.Live)
}

func (w *watchAboard) heading(level string) string {
	return strings.ToUpper(level[:1]) + level[1:] + ":"
}

// tests records the air at one level; all but the oxygen is right.
func (w *watchAboard) tests(h *hands, id permits.PermitID, level, oxygen string) {
	h.t.Helper()
	part := w.heading(level)
	h.unfolds("", part)
	for _, l := range w.ship.permit(id).Plan().Air.Limits {
		h.types(part, l.Name, screens.Choose(l.Gas == "O2", oxygen, "0"))
	}
	h.types(part, "Meter, its number", "G-07")
	h.picks(part, "The meter was tried on known gas")
	h.picks(part, "The ventilation stood still meanwhile")
	h.sends(part, "Record the air")
}

// hotWork has a fire watch during the work and after it, and a detector put out of action and back. (UK COSWP and
// ISGOT, hot work, from memory; half an hour of watch: 29 CFR 1910.252(a)(2)(iii)(B), from memory.)
func (w *watchAboard) hotWork() {
	id := w.begins("R1-weld", 0)
	w.drive.Prove(id)
	w.goesLive(id)
	at, path := screens.AtWorkPath(id), screens.PermitPath(id)
	h := w.on("tove", path)
	h.sees("fire watch")
	fire := w.on("aram", at)
	fire.signs("Fire watch", "aram")
	fire.sends("Fire watch", "Stand by")
	officer := w.on("ilse", at)
	const loops = "Detectors out of action"
	officer.unfolds(loops, "Inhibit a detector")
	officer.types(loops, "Which detector or loop", "Loop 3, auxiliary engine room")
	officer.types(loops, "What looks for fire instead", "the fire watch, with a radio to the bridge")
	officer.signs(loops, "ilse")
	officer.sends(loops, "Sign that it is inhibited")
	officer.sees("Detectors out of action: 1")

	h.open(path)
	h.unfolds("", "Sign on to the work")
	h.signs("Sign on to the work", "tove")
	h.sends("Sign on to the work", "Sign on")
	h.unfolds("", "Sign off")
	h.signs("Sign off", "tove")
	h.sends("Sign off", "Sign off")

	h = w.on("bao", path)
	h.sees("Everybody has signed off. Put Loop 3, auxiliary engine room back in action")
	officer.unfolds(loops, "Put it back")
	officer.picks(loops, "The panel shows it in action")
	officer.signs("Put it back", "ilse")
	officer.sends(loops, "Sign that it is back")
	h.open(path)
	h.sees("Everybody has signed off. Stay at the post as long as it asks for")
	w.ship.wait(31 * time.Minute)
	fire.open(at)
	fire.unfolds("Fire watch", "Leave the post")
	fire.picks("Fire watch", "I looked: nothing glows")
	fire.signs("Leave the post", "aram")
	fire.sends("Fire watch", "Leave the post")
	w.handsBack(id)
}

// handsBack has Bao give the work back on his phone.
func (w *watchAboard) handsBack(id permits.PermitID) {
	w.t.Helper()
	h := w.on("bao", screens.PermitPath(id))
	h.unfolds("", "Hand back")
	h.types("Hand back", "Tools and loose parts", "7")
	h.picks("Hand back", "Guards and covers")
	h.signs("Hand back", "bao")
	h.sends("Hand back", "Hand back")
	w.stands(id, permits.HandedBack)
}

// expiry lets a period run out under somebody at work: nothing leads on to work, everybody is called out, and the work
// can be handed back. (UK COSWP, second hand: at most 24 h, extended by signature.)
func (w *watchAboard) expiry() {
	id := w.begins("S2-pump", 0)
	w.drive.Prove(id)
	w.goesLive(id)
	w.sends(id, "ilse", "/extend", map[string]string{"hours": "1"})
	w.sends(id, "tove", "/sign-on", nil)
	path := screens.PermitPath(id)
	late := w.on("bao", path)
	late.unfolds("", "Sign on to the work")
	late.signs("Sign on to the work", "bao")
	w.ship.wait(61 * time.Minute)
	late.refused("Sign on to the work", "Sign on", "ran out at")
	w.on("ilse", "/").sees("ran out", "Tove")
	late.open(path)
	if strings.Contains(late.text(), "Sign on to the work") {
		w.t.Error("a permit that has run out offers to sign on")
	}
	h := w.on("tove", path)
	h.sees("ran out")
	h.signs("Sign off", "tove")
	h.sends("Sign off", "Sign off")
	w.handsBack(id)
}
