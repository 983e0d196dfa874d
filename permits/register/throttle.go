package register

import (
	"fmt"
	"maps"
	"net/netip"
	"slices"
	"sync"
	"time"

	"stillwatch/permits"
)

// Origin says from where a PIN comes.
type Origin struct {
	Address  string           // network address
	SignedIn permits.PersonID // who is signed in on the device; "": nobody, as at the sign-in page
	Mark     string           // what MarkDevice made for whoever signs in, when they did so here before; "": nothing
}

// Wrong PINs are counted apart for each person and each origin, so that nobody shuts another out who guesses elsewhere
// (the device cookies of OWASP's page "Slow Down Online Guessing Attacks with Device Cookies"):
//
//   - on a device on which somebody is signed in, for the person who signs and whoever is signed in there;
//   - at the sign-in page of a device on which the person signed in before, for the person and that device;
//   - at any other sign-in page, a stranger's, three times: for the person and the address, for the person and all
//     strangers together, and for the address and everybody.
//
// So a stranger who guesses without end keeps the person from signing in on devices that are new to them, and from
// nothing else. Every wait is bounded, and is measured by how long the program has run, never by the clock: a clock
// that is set ends no wait and renews none.
type throttle struct {
	uptime func() time.Duration
	mu     sync.Mutex
	counts map[origin]tries
	// of origins, strangers' apart: one PIN at a time, so that guesses in parallel are counted too
	locks [2][64]sync.Mutex
}

// origin is whose wrong PINs from where are counted together.
type origin struct {
	person permits.PersonID // "": everybody
	from   string
}

// tries are the wrong PINs in a row of one origin.
type tries struct {
	wrong int
	last  time.Duration // of the program's running
	until time.Duration // no PIN is taken before
}

// rule says how long to wait after so many wrong PINs in a row, and after how long they are forgotten.
type rule struct {
	free   int           // without a wait
	first  time.Duration // after the next one, then twice as long after each
	most   time.Duration
	atMost int // as many make the longest wait
	rest   time.Duration
}

// Six digits hold at these figures: a stranger who guesses for one person day and night, from as many addresses as
// there are, gets 300 guesses a day, one in three thousand of finding the PIN. (The figures are common practice, no
// source.)
var (
	onePerson    = rule{free: 2, first: 2 * time.Second, most: 15 * time.Minute, atMost: lockTries, rest: 24 * time.Hour}
	allStrangers = rule{free: 20, first: time.Minute, most: 5 * time.Minute, atMost: 40, rest: time.Hour}
	oneAddress   = rule{free: deviceTries - 1, first: 5 * time.Minute, most: 5 * time.Minute, rest: time.Hour}
)

const (
	lockTries   = 10
	deviceTries = 30
	strangers   = "strangers"
	mostOrigins = 10_000 // are counted; more than this ship has people and devices
)

func newThrottle(uptime func() time.Duration) *throttle {
	return &throttle{uptime: uptime, counts: map[origin]tries{}}
}

// counted is an origin that counts, with its rule.
type counted struct {
	origin
	rule
}

// originsOf returns the origins at which a PIN of a person counts, their own first. known says whether there is such a
// person: invented names count at the address alone, and fill no memory. marked says whether the device bears the
// person's own mark.
func originsOf(id permits.PersonID, known, marked bool, o Origin) []counted {
	address := counted{origin{from: "at " + network(o.Address)}, oneAddress}
	switch {
	case !known:
		return []counted{address}
	case o.SignedIn != "":
		return []counted{{origin{id, "with " + string(o.SignedIn)}, onePerson}}
	case marked:
		return []counted{{origin{id, "on " + o.Mark}, onePerson}}
	}
	return []counted{{origin{id, address.from}, onePerson}, {origin{id, strangers}, allStrangers}, address}
}

// network returns what is counted as one address: an IPv6 device has as many as it likes within its network of 64 bits.
func network(address string) string {
	ip, err := netip.ParseAddr(address)
	if err != nil || ip.Unmap().Is4() {
		return address
	}
	net, err := ip.WithZone("").Prefix(64)
	if err != nil {
		return address
	}
	return net.String()
}

// lock lets one PIN after the other in from an origin.
func (t *throttle) lock(o origin, stranger bool) (unlock func()) {
	apart, sum := 0, 0
	if stranger {
		apart = 1
	}
	for _, c := range []byte(string(o.person) + o.from) {
		sum = sum*31 + int(c)
	}
	m := &t.locks[apart][uint(sum)%uint(len(t.locks[apart]))]
	m.Lock()
	return m.Unlock
}

// wait returns how long no PIN is taken from these origins.
func (t *throttle) wait(all []counted) time.Duration {
	t.mu.Lock()
	defer t.mu.Unlock()
	longest := time.Duration(0)
	for _, c := range all {
		longest = max(longest, t.counts[c.origin].until-t.uptime())
	}
	return longest
}

// wrong counts a wrong PIN, and returns the count of the first origin and how long to wait now.
func (t *throttle) wrong(all []counted) (count int, wait time.Duration) {
	t.mu.Lock()
	defer t.mu.Unlock()
	now := t.uptime()
	t.sweep(now)
	for i, c := range all {
		n := t.counts[c.origin].next(now, c.rule)
		t.counts[c.origin] = n
		if i == 0 {
			count = n.wrong
		}
		wait = max(wait, n.until-now)
	}
	return count, wait
}

// sweep forgets the counts that have rested for a day, when there are many; if that is not enough, all that wait no
// more.
func (t *throttle) sweep(now time.Duration) {
	if len(t.counts) < mostOrigins {
		return
	}
	maps.DeleteFunc(t.counts, func(_ origin, n tries) bool { return now-n.last > onePerson.rest })
	if len(t.counts) >= mostOrigins {
		maps.DeleteFunc(t.counts, func(_ origin, n tries) bool { return now > n.until })
	}
}

// right forgets the wrong PINs of the first origin: those of strangers and of the address are others' too.
func (t *throttle) right(all []counted) {
	t.mu.Lock()
	defer t.mu.Unlock()
	delete(t.counts, all[0].origin)
}

// forget forgets all wrong PINs of a person, who has a new one.
func (t *throttle) forget(id permits.PersonID) {
	t.mu.Lock()
	defer t.mu.Unlock()
	maps.DeleteFunc(t.counts, func(o origin, _ tries) bool { return o.person == id })
}

// recall counts a wrong PIN of before the program started, so long ago.
func (t *throttle) recall(a permits.RefusedPIN, ago time.Duration) {
	then := t.uptime() - ago
	all := []counted{{origin{a.Person, a.From}, onePerson}}
	if a.From == "at "+network(a.Device) {
		all = originsOf(a.Person, true, false, Origin{Address: a.Device})
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	for _, c := range all {
		t.counts[c.origin] = t.counts[c.origin].next(then, c.rule)
	}
}

// locked is a person for whom many wrong PINs came from one origin.
type locked struct {
	person permits.PersonID
	tries
	wait time.Duration // from now
	ago  time.Duration
}

// locked returns for whom many wrong PINs in a row came from one origin, and still count; the worst of each.
func (t *throttle) locked() []locked {
	t.mu.Lock()
	defer t.mu.Unlock()
	worst := map[permits.PersonID]locked{}
	now := t.uptime()
	for o, n := range t.counts {
		if o.person == "" || n.wrong < lockTries || n.wrong <= worst[o.person].wrong || now-n.last > onePerson.rest {
			continue
		}
		worst[o.person] = locked{o.person, n, max(0, n.until-now), now - n.last}
	}
	return slices.Collect(maps.Values(worst))
}

// next returns the count after one more wrong PIN.
func (n tries) next(now time.Duration, r rule) tries {
	if now-n.last > r.rest {
		n.wrong = 0
	}
	n.wrong, n.last = n.wrong+1, now
	n.until = now + r.waitAfter(n.wrong)
	return n
}

// waitAfter returns the wait after so many wrong PINs in a row.
func (r rule) waitAfter(wrong int) time.Duration {
	over := wrong - r.free
	switch {
	case over <= 0:
		return 0
	case r.atMost > 0 && wrong >= r.atMost || over > 20:
		return r.most
	}
	return min(r.first<<(over-1), r.most)
}

func inWords(d time.Duration) string {
	s := int((d + time.Second - 1) / time.Second)
	if s < 120 {
		return fmt.Sprintf("%d seconds", s)
	}
	return fmt.Sprintf("%d minutes", (s+59)/60)
}
