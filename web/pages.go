package web

import (
	"context"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"

	"stillwatch/isolation/plantfile"
	"stillwatch/permits"
	"stillwatch/permits/register"
)

// cannedPage is one screen with canned data.
type cannedPage struct {
	name, screen string
	make         func(b base) any
}

// Pages writes every screen with canned data into a folder as HTML files, in each palette (day-board.html,
// night-board.html …), with the style sheets beside them, for looking at them before they are merged. It returns an
// error when a template fails or a file cannot be written.
func Pages(dir string) error {
	s, err := loadScreens(false, func(name string) (string, error) { return "static/" + name, nil })
	if err != nil {
		return fmt.Errorf("load templates: %w", err)
	}
	list, err := cannedPages()
	if err != nil {
		return err
	}
	if err := writeStatic(filepath.Join(dir, "static")); err != nil {
		return err
	}
	for _, palette := range palettes {
		for _, p := range list {
			body, err := s.write(p.screen, p.make(cannedBase(palette, p.name)))
			if err != nil {
				return fmt.Errorf("page %s: %w", p.name, err)
			}
			if err := os.WriteFile(filepath.Join(dir, palette+"-"+p.name+".html"), body, 0o644); err != nil {
				return fmt.Errorf("write page %s: %w", p.name, err)
			}
		}
	}
	return nil
}

// writeStatic puts the assets beside the pages.
func writeStatic(dir string) error {
	root, err := fs.Sub(embedded, "static")
	if err != nil {
		return err
	}
	return fs.WalkDir(root, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			return os.MkdirAll(filepath.Join(dir, name), 0o755)
		}
		body, err := fs.ReadFile(root, name)
		if err != nil {
			return err
		}
		return os.WriteFile(filepath.Join(dir, name), body, 0o644)
	})
}

// cannedBase is the part of a canned page that every page carries.
func cannedBase(palette, title string) base {
	b := base{Title: title, Path: "/", Me: cannedCrew[2], Palette: palette,
		Clock: time.Date(2026, 11, 25, 7, 40, 0, 0, time.Local),
		Head:  headLine{1284, "9f3c51d2"}, Version: "sample", people: slices.Clone(cannedCrew)}
	sortPeople(b.people)
	return b
}

// cannedPages returns every screen in the states that matter.
func cannedPages() ([]cannedPage, error) {
	s, err := newCannedShip()
	if err != nil {
		return nil, err
	}
	stages, err := cannedStages(s)
	if err != nil {
		return nil, err
	}
	return slices.Concat(cannedDoors(), cannedLists(s), stages), s.fault
}

// cannedDoors is the screens before and beside the work.
func cannedDoors() []cannedPage {
	no := &permits.Refusal{Kind: permits.Forbidden, Gate: "signature", Field: "pin", What: "The PIN is not right.",
		Opens: "Try again with care."}
	return []cannedPage{
		{"sign-in", "sign_in", func(b base) any {
			b.Me = permits.Person{}
			return signInPage{base: b, People: b.Sign("", string(permits.KindSignOn)).People}
		}},
		{"sign-in-demo", "sign_in", func(b base) any {
			b.Me, b.back = permits.Person{}, back{Form: "sign-in", Refusal: no}
			return signInPage{base: b, Trust: true, People: b.Sign("", string(permits.KindSignOn)).People,
				Demo: []DemoPerson{{"aram", "Aram", "Chief engineer", "407193"}, {"ilse", "Ilse", "Second engineer", "582064"}}}
		}},
		{"first-run", "ship_found", func(b base) any { b.Me = permits.Person{}; return shipFoundPage{base: b, AsksCode: true} }},
		{"pin", "pin_change", func(b base) any { return pinChangePage{b} }},
		{"trust", "trust_show", func(b base) any {
			b.Me = permits.Person{}
			return cannedTrust(b)
		}},
		{"notice", "notice", func(b base) any {
			return noticePage{base: b, Heading: "Something went wrong inside", Words: "It is not your fault.",
				Opens: "Try again.", Request: "5f0c2a91d4"}
		}},
	}
}

// cannedLists is the screens of the whole ship.
func cannedLists(s *cannedShip) []cannedPage {
	return []cannedPage{
		{"people", "people_list", func(b base) any {
			b.Me = cannedCrew[0]
			return peopleListPage{base: b, Aboard: cannedCrew,
				Gone: []permits.Person{{ID: "old", Name: "Ines", Rank: "Third engineer", Left: true}}, Roles: permits.Roles(),
				May: true}
		}},
		{"plant", "plant_show", func(b base) any {
			b.Me = cannedCrew[0]
			return plantShowPage{base: b, Plant: s.plant, Rules: s.rules, Entry: 2, Shipped: true, Points: len(s.plant.Points()),
				Notes: s.plant.Remarks, May: true}
		}},
		{"plant-broken", "plant_show", func(b base) any {
			b.Me = cannedCrew[0]
			b.back = back{Form: "plant", Refusal: &permits.Refusal{Kind: permits.Invalid, Gate: "adopt plant",
				What:  "The file was not taken: 1 thing is wrong in it.",
				Opens: "Mend what is listed below and send the file again."}}
			return plantShowPage{base: b, Plant: s.plant, Rules: s.rules, May: true, FaultsOf: "plant",
				Faults: []*plantfile.FileError{{File: "plant.yaml", Line: 12, Column: 42,
					Words: `unknown key "normall"; did you mean "normal"?`,
					Excerpt: "     11 | …\n>    12 |   - {id: S1-V1, kind: valve, normall: open}\n        |                         " +
						"     ^"}}}
		}},
		{"points", "point_list", func(b base) any {
			return pointListPage{base: b, Groups: pointGroups(pointLines(s.setting(b.Me), ""), false), MayLabel: true}
		}},
		{"log", "log_show", func(b base) any {
			return logShowPage{base: b, Lines: s.lines(0), Kinds: permits.Kinds(),
				Full: register.Head{Size: int64(len(s.log)),
					Hash: "9f3c51d2aa07be4410c7d95e8f6b2a3390e1f7c4d8b6a5e2317f0c9d4b8e6a21"}, Older: "/log?before=1"}
		}},
		{"entry", "entry_show", func(b base) any {
			return entryShowPage{base: b, Line: s.lines(1)[0], Text: "{\n  \"kind\": \"close\"\n}", Size: 214, Prev: 3, Next: 5}
		}},
		{"permits", "permits_list", func(b base) any {
			return permitsListPage{base: b, States: permits.States(), Lines: s.permitLines(), Now: b.Clock}
		}},
		{"board", "board_show", func(b base) any { return s.board(b) }},
		{"board-empty", "board_show", func(b base) any { return boardShowPage{base: b, NoPlant: true} }},
	}
}

func (s *cannedShip) board(b base) boardShowPage {
	page := boardOf(later(s.setting(b.Me), 9*time.Hour), s.open())
	page.base = b
	page.Alarms = boardAlarms(s.setting(b.Me), s.open())
	page.Hang = hangLines(s.held(), s.plant)
	page.Passing = []passingLine{{"S1-Q1", s.ship.Passing["S1-Q1"]}}
	page.Notices = []register.Notice{{Kind: register.NoticePIN, Since: b.Clock,
		Words: "No PIN of Bao is taken for a while: ten wrong ones in a row.", Do: "Ask Bao whether it was them."}}
	return page
}

// lines returns the newest n entries of a canned log in words; 0: all.
func (s *cannedShip) lines(n int) []entryLine {
	tell := &teller{context.Background(), s.ship, func(_ context.Context, id permits.PermitID) (permits.Permit,
		error) {
		return s.permits[id], nil
	}, map[permits.PermitID]permits.Permit{}}
	var out []entryLine
	for _, e := range slices.Backward(s.log) {
		if out = append(out, tell.line(e)); len(out) == n {
			break
		}
	}
	return out
}

func (s *cannedShip) permitLines() []register.PermitLine {
	var out []register.PermitLine
	for id := permits.PermitID(len(s.permits)); id > 0; id-- {
		p := s.permits[id]
		out = append(out, register.PermitLine{ID: id, State: p.State(), MachineName: p.Plan().MachineName,
			Title: p.Plan().Title, Work: p.Work(), RequestedBy: p.Requested().By,
			RequestedAt: p.Requested().At, Until: p.Until(), Locks: len(p.Locks()), LocksOn: p.LocksOn()})
	}
	return out
}

// later returns a setting some time on.
func later(set permits.Setting, by time.Duration) permits.Setting {
	set.At = set.At.Add(by)
	return set
}
