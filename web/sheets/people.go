package sheets

import (
	"time"

	"stillwatch/permits"
	"stillwatch/permits/paper"
	"stillwatch/web/screens"
)

// sheetPeople puts on paper who worked, how each came out, and whose own lock was on the group box.
func sheetPeople(sheet *paper.PermitSheet, set permits.Setting, p permits.Permit, entries []permits.Entry,
	tell *screens.Teller) {
	for _, e := range entries {
		if a, uses := e.Act.(permits.UseBox); uses {
			sheet.Boxes = append(sheet.Boxes, paper.BoxRecord{Box: a.Box, Keys: a.Keys, By: tell.Name(e.By),
				At: e.At.Local()})
		}
	}
	for _, a := range p.Crew() {
		who, _ := tell.Ship.Person(a.Person)
		sheet.People = append(sheet.People, paper.Attendance{Name: tell.Name(a.Person), Role: screens.RankOf(who),
			On: a.On.Local(), Off: localOrNone(a.Off), Counted: countedWords(a, tell)})
		if a.Padlock == "" {
			continue
		}
		own := paper.OwnLock{Lock: string(a.Padlock), Name: tell.Name(a.Person), Box: boxAt(sheet.Boxes, a.On),
			On: a.On.Local(), Off: localOrNone(a.LockOff.At)}
		if p.Under() != 0 {
			own.Box = screens.Choose(p.Box(set) != "", p.Box(set), "of permit "+screens.PermitNumber(p.Under()))
		}
		if a.LockOff.By != a.Person && !a.LockOff.IsZero() {
			own.OffBy = tell.Name(a.LockOff.By)
		}
		if a.Released {
			own.Note = "released for an absent owner"
		}
		sheet.OwnLocks = append(sheet.OwnLocks, own)
	}
}

// boxAt returns the box into which the keys were put last before a moment.
func boxAt(list []paper.BoxRecord, at time.Time) (box string) {
	for _, b := range list {
		if !b.At.After(at) {
			box = b.Box
		}
	}
	return box
}

// countedWords says who saw somebody outside, and where; "" for whoever signed off.
func countedWords(a permits.Attendance, tell *screens.Teller) string {
	if a.CountedBy == "" {
		return ""
	}
	return "counted out by " + tell.Name(a.CountedBy) + ", seen: " + a.Where
}

// Sub puts a permit that works under the locks of another on the sheet of that.
func Sub(p permits.Permit, tell *screens.Teller) paper.SubPermit {
	s := paper.SubPermit{Number: screens.PermitNumber(p.ID()), State: p.State().String(), Work: p.Work(),
		Until: localOrNone(p.Until())}
	if by := p.Accepted().By; by != "" {
		s.InCharge = tell.Name(by)
	}
	return s
}

// sheetSpace puts on paper who stood by, who was inside, and which detectors were out of action.
func sheetSpace(sheet *paper.PermitSheet, p permits.Permit, tell *screens.Teller) {
	for _, x := range p.Stood() {
		sheet.Posts = append(sheet.Posts, paper.Attendance{Name: tell.Name(x.By), Role: string(x.Post),
			On: x.Since.Local(), Off: localOrNone(x.Until)})
	}
	for _, x := range p.Entrants() {
		sheet.Inside = append(sheet.Inside, paper.Attendance{Name: tell.Name(x.Person), Role: tell.Name(x.InBy),
			On: x.In.Local(), Off: localOrNone(x.Out)})
	}
	for _, x := range p.Inhibited() {
		d := paper.Detector{What: x.What, Means: x.Means, OutBy: tell.Name(x.Out.By), OutAt: x.Out.At.Local()}
		if !x.Back.IsZero() {
			d.BackBy, d.BackAt = tell.Name(x.Back.By), x.Back.At.Local()
		}
		sheet.Detectors = append(sheet.Detectors, d)
	}
}
