package paper

import (
	"fmt"
	"strings"
)

// permitPeople is who worked.
func (p *sheet) permitPeople(s PermitSheet) {
	p.heading("People signed on and off", 14)
	if len(s.People) == 0 {
		p.para(sans, "Nobody has signed on.")
		return
	}
	p.attendance(s.People, "role", "on", "off", "STILL ON")
}

// attendance is a table of people and times; open stands where the second time is not known yet.
func (p *sheet) attendance(list []Attendance, role, from, to, open string) {
	rows := make([][]cell, 0, len(list))
	for _, a := range list {
		off := clock(a.Off)
		if off == "" {
			off = open
		}
		if a.Counted != "" {
			off += "; " + a.Counted
		}
		rows = append(rows, texts(a.Name, a.Role, clock(a.On), off))
	}
	p.table([]column{{"name", 48, sans}, {role, 38, sans}, {from, 38, sans}, {to, 54, sans}}, rows)
}

// permitSpace is who stood by, who was inside, and which detectors were out of action; nothing where there was none.
func (p *sheet) permitSpace(s PermitSheet) {
	if len(s.Posts) > 0 {
		p.heading("Standing by", 14)
		p.attendance(s.Posts, "post", "from", "until", "STANDS BY")
	}
	if len(s.Inside) > 0 {
		p.heading("In and out of the space", 14)
		p.attendance(s.Inside, "recorded by", "in", "out", "STILL INSIDE")
	}
	if len(s.Detectors) == 0 {
		return
	}
	p.heading("Detectors out of action", 14)
	rows := make([][]cell, 0, len(s.Detectors))
	for _, d := range s.Detectors {
		back := "STILL OUT OF ACTION"
		if d.BackBy != "" {
			back = signed(d.BackBy, d.BackAt)
		}
		rows = append(rows, texts(d.What, d.Means, signed(d.OutBy, d.OutAt), back))
	}
	p.table([]column{{"detector", 52, bold}, {"instead", 50, sans}, {"out", 38, sans}, {"back", 38, sans}}, rows)
}

// permitSubs is what works under the locks of this permit; nothing where nothing does.
func (p *sheet) permitSubs(list []SubPermit) {
	if len(list) == 0 {
		return
	}
	p.heading("Permits under the locks of this one", 14)
	rows := make([][]cell, 0, len(list))
	for _, s := range list {
		rows = append(rows, texts(s.Number, strings.ToUpper(s.State), s.Work, s.InCharge, clock(s.Until)))
	}
	p.table([]column{{"permit", 14, bold}, {"state", 26, bold}, {"work", 68, sans}, {"in charge", 32, sans},
		{"valid until", 38, sans}}, rows)
}

// permitBox is when the keys lay in a group box, and whose own lock was on it; nothing where none was used.
func (p *sheet) permitBox(s PermitSheet) {
	if len(s.Boxes) == 0 && len(s.OwnLocks) == 0 {
		return
	}
	p.heading("Group box: each who works has a lock of their own on it", 14)
	for _, b := range s.Boxes {
		p.para(sans, fmt.Sprintf("Box %s: %s of the locks, counted into it by %s, %s.", b.Box, keys(b.Keys), b.By,
			clock(b.At)))
	}
	if len(s.OwnLocks) == 0 {
		p.para(sans, "Nobody has hung a lock of their own on it.")
		return
	}
	p.y += 0.6
	rows := make([][]cell, 0, len(s.OwnLocks))
	for _, l := range s.OwnLocks {
		off := clock(l.Off)
		switch {
		case off == "":
			off = "STILL ON"
		case l.OffBy != "":
			off += "; taken off by " + l.OffBy
		}
		if l.Note != "" {
			off += "; " + l.Note
		}
		rows = append(rows, texts(l.Lock, l.Name, l.Box, clock(l.On), off))
	}
	p.table([]column{{"own lock", 22, mono}, {"of", 40, sans}, {"box", 16, sans}, {"on", 38, sans},
		{"off", 62, sans}}, rows)
}

// keys counts keys in words.
func keys(n int) string {
	if n == 1 {
		return "1 key"
	}
	return fmt.Sprintf("%d keys", n)
}
