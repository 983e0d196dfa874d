package register

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"stillwatch/permits/register/store"
)

// NoticeKind is what a notice is about. Kinds are only ever added.
type NoticeKind string

// What notices are about.
const (
	NoticePIN     NoticeKind = "pin"
	NoticeClock   NoticeKind = "clock"
	NoticeDisk    NoticeKind = "disk"
	NoticeBackup  NoticeKind = "backup"
	NoticeTables  NoticeKind = "tables"
	NoticeLost    NoticeKind = "lost"
	NoticeWitness NoticeKind = "witness"
	NoticeShore   NoticeKind = "shore"
)

// NoticeKinds returns every kind of notice.
func NoticeKinds() []NoticeKind {
	return []NoticeKind{NoticePIN, NoticeClock, NoticeDisk, NoticeBackup, NoticeTables, NoticeLost, NoticeWitness,
		NoticeShore}
}

// Notice is something that the officer of the watch must be told.
type Notice struct {
	Kind  NoticeKind
	Since time.Time
	Words string
	Do    string // what is to be done about it
	Head  Head   // that the log once had; of NoticeLost
}

// TellShore makes a notice of what the shore says against the log; no words: there is nothing any more.
func (r *Register) TellShore(words, do string) {
	if words == "" {
		r.shoreTrouble.Store(nil)
		return
	}
	n := &Notice{Kind: NoticeShore, Since: r.now().UTC(), Words: words, Do: do}
	if old := r.shoreTrouble.Load(); old != nil && old.Words == words {
		n.Since = old.Since
	}
	r.shoreTrouble.Store(n)
}

// backupAge is how old the last backup may be before the officer is told.
const backupAge = 7 * 24 * time.Hour

// clockSlack is how far the clock may stand behind the log without a notice: clocks are set by seconds all the time.
const clockSlack = 2 * time.Second

// Notices returns what the officer must be told now, the gravest first.
func (r *Register) Notices(ctx context.Context) []Notice {
	var out []Notice
	now := r.now().UTC()
	if n := r.trouble.Load(); n != nil {
		out = append(out, *n)
	} else if err := r.db.StillThere(); err != nil {
		out = append(out, Notice{Kind: NoticeDisk, Since: now, Words: store.Trouble(err) + " Nothing can be recorded.",
			Do: "Find the folder " + r.db.Dir() + " again before anybody relies on the board."})
	}
	if w := r.state(); w.latest.Sub(now) > clockSlack {
		out = append(out, Notice{Kind: NoticeClock, Since: now,
			Words: fmt.Sprintf("The clock of this computer stands %s behind the log, which "+
				"has an entry of %s.",
				inWords(w.latest.Sub(now)), w.latest.Format("2006-01-02 15:04 MST")),
			Do: "Compare it with another clock and set it right. If it is right now and had run ahead, the chief engineer or " +
				"the " +
				"master says so below: then every permit with an entry of the false time is proved anew."})
	}
	if n, ok := r.lostNotice(); ok {
		out = append(out, n)
	}
	for _, n := range []*Notice{r.differs.Load(), r.witnessTrouble.Load(), r.shoreTrouble.Load()} {
		if n != nil {
			out = append(out, *n)
		}
	}
	out = append(out, r.pins.notices(now)...)
	if n, ok := r.backupNotice(ctx, now); ok {
		out = append(out, n)
	}
	return out
}

// notices tells for whom many wrong PINs came.
func (p *pins) notices(now time.Time) []Notice {
	var out []Notice
	for _, l := range p.tries.locked() {
		who, at := p.r.Ship().People[l.person].String(), now.Add(-l.ago)
		words := fmt.Sprintf("%d wrong PINs in a row were given for %s, the last at %s.", l.wrong, who,
			at.UTC().Format("2006-01-02 15:04 MST"))
		if l.wait > 0 {
			words += " From there none is taken for the next " + inWords(l.wait) + "."
		}
		out = append(out, Notice{Kind: NoticePIN, Since: at.UTC(), Words: words, Do: "Ask " + who +
			". If it was somebody else, find out who; the chief engineer may set a new PIN."})
	}
	slices.SortFunc(out, func(a, b Notice) int { return strings.Compare(a.Words, b.Words) })
	return out
}

const lastBackupMark = "last backup"

// LastBackup returns when the last backup of this register was written; known is false if there has been none, or the
// register cannot be read.
func (r *Register) LastBackup(ctx context.Context) (at time.Time, known bool) {
	at, err := r.lastBackup(ctx)
	return at, err == nil && !at.IsZero()
}

// lastBackup returns when the last backup was written; the zero time if there has been none.
func (r *Register) lastBackup(ctx context.Context) (time.Time, error) {
	mark, err := r.db.Now(ctx).Mark(lastBackupMark)
	if err != nil || mark == "" {
		return time.Time{}, err
	}
	return time.Parse(time.RFC3339, mark)
}

// backupNotice tells of a register that has no backup, or an old one.
func (r *Register) backupNotice(ctx context.Context, now time.Time) (Notice, bool) {
	const do = "Write one with the command backup, to another disk, and keep it ashore or in another space."
	at, err := r.lastBackup(ctx)
	switch {
	case err != nil:
		return Notice{Kind: NoticeDisk, Since: now, Words: "The register cannot be read: " + err.Error() + ".",
			Do: "Look at the disk."}, true
	case at.IsZero():
		first, err := r.Entry(ctx, 0)
		if err != nil || now.Sub(first.At) < backupAge {
			return Notice{}, false
		}
		return Notice{Kind: NoticeBackup, Since: first.At, Words: "There has never been a backup of this register.", Do: do},
			true
	case now.Sub(at) < backupAge:
		return Notice{}, false
	}
	return Notice{Kind: NoticeBackup, Since: at, Words: "The last backup of this register is of " +
		at.UTC().Format("2006-01-02 15:04 MST") +
		".", Do: do}, true
}
