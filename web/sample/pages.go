package sample

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"

	"stillwatch/isolation/plantfile"
	"stillwatch/permits"
	"stillwatch/permits/lookback"
	"stillwatch/permits/register"
	"stillwatch/web/office/desk"
	"stillwatch/web/screens"
	"stillwatch/web/static"
)

// Page is one screen with canned data.
type Page struct {
	Name, Screen string
	Make         func(b screens.Frame) any
}

// Write writes every screen with canned data into a folder as HTML files, in each palette (day-board.html,
// night-board.html …), with the style sheets beside them, for looking at them before they are merged. It returns an
// error when a template fails or a file cannot be written.
func Write(dir string) error {
	s, err := screens.Load(nil, func(name string) (string, error) { return "static/" + name, nil })
	if err != nil {
		return fmt.Errorf("load templates: %w", err)
	}
	list, err := List()
	if err != nil {
		return err
	}
	if err := writeStatic(filepath.Join(dir, "static")); err != nil {
		return err
	}
	for _, palette := range screens.Palettes {
		for _, p := range list {
			body, err := s.Write(p.Screen, p.Make(CannedBase(palette, p.Name)))
			if err != nil {
				return fmt.Errorf("page %s: %w", p.Name, err)
			}
			if err := os.WriteFile(filepath.Join(dir, palette+"-"+p.Name+".html"), body, 0o644); err != nil {
				return fmt.Errorf("write page %s: %w", p.Name, err)
			}
		}
	}
	return writeOffice(dir)
}

// writeOffice writes the screens of the office.
func writeOffice(dir string) error {
	s, err := screens.LoadSite(desk.Site, nil, func(name string) (string, error) { return "static/" + name, nil })
	if err != nil {
		return fmt.Errorf("load the office's templates: %w", err)
	}
	for _, palette := range screens.Palettes {
		for _, p := range officePages() {
			body, err := s.Write(p.screen, p.make(cannedOffice(palette, p.name, "fleet")))
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
	return fs.WalkDir(static.FS, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			return os.MkdirAll(filepath.Join(dir, name), 0o755)
		}
		body, err := fs.ReadFile(static.FS, name)
		if err != nil {
			return err
		}
		return os.WriteFile(filepath.Join(dir, name), body, 0o644)
	})
}

// CannedBase is the part of a canned page that every page carries.
func CannedBase(palette, title string) screens.Frame {
	b := screens.Frame{Title: title, Path: "/", Me: CannedCrew[2], Palette: palette,
		Clock: time.Date(2026, 11, 25, 7, 40, 0, 0, time.Local),
		Head:  screens.HeadLine{Size: 1284, Short: "9f3c51d2"}, Version: "sample", Crew: slices.Clone(CannedCrew)}
	screens.SortPeople(b.Crew)
	return b
}

// List returns every screen in the states that matter.
func List() ([]Page, error) {
	s, err := NewShip()
	if err != nil {
		return nil, err
	}
	stages, err := CannedStages(s)
	if err != nil {
		return nil, err
	}
	atWork, err := s.atWorkPages()
	if err != nil {
		return nil, err
	}
	several, err := severalPages()
	if err != nil {
		return nil, err
	}
	changes, err := changePages()
	if err != nil {
		return nil, err
	}
	return slices.Concat(cannedDoors(), cannedLists(s), stages, atWork, several, changes), s.Fault
}

// cannedDoors is the screens before and beside the work.
func cannedDoors() []Page {
	no := &permits.Refusal{Kind: permits.Forbidden, Gate: "signature", Field: "pin", What: "The PIN is not right.",
		Opens: "Try again with care."}
	return []Page{
		{"sign-in", "sign_in", func(b screens.Frame) any {
			b.Me = permits.Person{}
			return screens.SignInPage{Frame: b, People: b.Sign("", string(permits.KindSignOn)).People}
		}},
		{"sign-in-demo", "sign_in", func(b screens.Frame) any {
			b.Me, b.Back = permits.Person{}, screens.Back{Form: "sign-in", Refusal: no}
			return screens.SignInPage{Frame: b, Trust: true, People: b.Sign("", string(permits.KindSignOn)).People,
				Demo: []screens.DemoPerson{{ID: "aram", Name: "Aram", Role: "Chief engineer", PIN: "407193"}, {ID: "ilse",
					Name: "Ilse", Role: "Second engineer", PIN: "582064"}}}
		}},
		{"first-run", "ship_found", func(b screens.Frame) any {
			b.Me = permits.Person{}
			return screens.FirstRunPage{Frame: b, AsksCode: true}
		}},
		{"pin", "pin_change", func(b screens.Frame) any { return screens.PINPage{Frame: b} }},
		{"trust", "trust_show", func(b screens.Frame) any {
			b.Me = permits.Person{}
			return cannedTrust(b)
		}},
		{"kept", "kept_show", func(b screens.Frame) any {
			b.Me = permits.Person{}
			return screens.KeptPage{Frame: b}
		}},
		{"notice", "notice", func(b screens.Frame) any {
			return screens.NoticePage{Frame: b, Heading: "Something went wrong inside", Words: "It is not your fault.",
				Opens: "Try again.", Request: "5f0c2a91d4"}
		}},
	}
}

// cannedLists is the screens of the whole ship.
func cannedLists(s *Ship) []Page {
	return []Page{
		{"people", "people_list", func(b screens.Frame) any {
			b.Me = CannedCrew[0]
			return screens.PeoplePage{Frame: b, Aboard: CannedCrew,
				Gone: []permits.Person{{ID: "old", Name: "Ines", Rank: "Third engineer", Left: true}}, Roles: permits.Roles(),
				May: true}
		}},
		{"plant", "plant_show", func(b screens.Frame) any {
			b.Me = CannedCrew[0]
			return screens.PlantPage{Frame: b, Plant: s.plant, Rules: s.rules, Entry: 2, Shipped: true,
				Points: len(s.plant.Points()),
				Notes:  s.plant.Remarks, May: true}
		}},
		{"plant-proposed", "plant_proposed", s.proposal},
		{"plant-broken", "plant_show", func(b screens.Frame) any {
			b.Me = CannedCrew[0]
			b.Back = screens.Back{Form: "propose-plant", Refusal: &permits.Refusal{Kind: permits.Invalid, Gate: "propose file",
				What:  "The file was not taken: 1 thing is wrong in it.",
				Opens: "Mend what is listed below and send the file again."}}
			return screens.PlantPage{Frame: b, Plant: s.plant, Rules: s.rules, May: true, FaultsOf: "plant",
				Faults: []*plantfile.FileError{{File: "plant.yaml", Line: 12, Column: 42,
					Words: `unknown key "normall"; did you mean "normal"?`,
					Excerpt: "     11 | …\n>    12 |   - {id: S1-V1, kind: valve, normall: open}\n        |                         " +
						"     ^"}}}
		}},
		{"points", "point_list", func(b screens.Frame) any {
			return screens.PointsPage{Frame: b, Groups: screens.PointGroups(screens.PointLines(s.Setting(b.Me), ""), false),
				MayLabel: true}
		}},
		{"log", "log_show", func(b screens.Frame) any {
			return screens.LogPage{Frame: b, Lines: s.lines(0), Kinds: permits.Kinds(),
				Full: register.Head{Size: int64(len(s.log)),
					Hash: "9f3c51d2aa07be4410c7d95e8f6b2a3390e1f7c4d8b6a5e2317f0c9d4b8e6a21"}, Older: "/log?before=1"}
		}},
		{"entry", "entry_show", func(b screens.Frame) any {
			return screens.EntryPage{Frame: b, Line: s.lines(1)[0], Text: "{\n  \"kind\": \"close\"\n}", Size: 214, Prev: 3,
				Next: 5}
		}},
		{"permits", "permits_list", func(b screens.Frame) any {
			return screens.PermitsPage{Frame: b, States: permits.States(), Lines: s.permitLines(), Now: b.Clock,
				Machines: s.plant.Machines, Kinds: screens.PermitKinds()}
		}},
		{"permits-sought", "permits_list", func(b screens.Frame) any {
			return screens.PermitsPage{Frame: b, States: permits.States(), Lines: s.permitLines()[:1], Now: b.Clock,
				Machines: s.plant.Machines, Kinds: screens.PermitKinds(), PermitFilter: screens.PermitFilter{
					Machine: s.plant.Machines[0].ID, From: "2026-11-01", Overdue: true, Query: "overdue=yes"}}
		}},
		{"machine", "machine_show", func(b screens.Frame) any {
			m := s.plant.Machines[0]
			return screens.MachinePage{Frame: b, ID: m.ID, Machine: m.Name, Lines: s.permitLines(), History: s.lines(12),
				Points: screens.MachinePoints(s.Setting(b.Me), s.pointsOf(1))}
		}},
		{"figures", "figures_show", func(b screens.Frame) any { return s.figures(b) }},
		{"figures-none", "figures_show", func(b screens.Frame) any {
			page := screens.FiguresPage{Frame: b, Figures: lookback.Asked{From: b.Clock.AddDate(-1, 0, 0), To: b.Clock,
				Zone: time.Local}.Figures()}
			page.Parts = screens.FigureParts(page.Figures, b.Name)
			return page
		}},
		{"board", "board_show", func(b screens.Frame) any { return s.board(b) }},
		{"screen", "board_screen", func(b screens.Frame) any { return s.boardScreen(b) }},
		{"screen-empty", "board_screen", func(b screens.Frame) any {
			b.Me, b.Screen = permits.Person{}, "Bridge"
			page := screens.BoardScreenOf(permits.Setting{At: b.Clock}, nil)
			page.Frame = b
			return page
		}},
		{"screens", "board_screens", func(b screens.Frame) any {
			b.Me = CannedCrew[0]
			return screens.BoardScreensPage{Frame: b, May: true, Lines: []permits.BoardScreen{{Name: "Bridge",
				Allowed: permits.Mark{By: "aram", At: b.Clock}}}}
		}},
		{"handover", "handover_show", func(b screens.Frame) any {
			return screens.HandoverOf(b, s.Setting(b.Me), s.Open())
		}},
		{"audit", "audit_show", func(b screens.Frame) any {
			b.Me = CannedCrew[3]
			return screens.AuditOf(b, later(s.Setting(b.Me), 14*24*time.Hour-10*time.Hour), "")
		}},
		{"audit-signs", "audit_show", func(b screens.Frame) any {
			b.Me = CannedCrew[3]
			return s.allSighted().auditPage(b)
		}},
		{"audit-none", "audit_show", func(b screens.Frame) any {
			b.Me = CannedCrew[0]
			return screens.AuditOf(b, permits.Setting{By: b.Me, At: b.Clock}, "")
		}},
		{"inspections", "inspections_list", func(b screens.Frame) any {
			return screens.InspectionsOf(b, later(s.Setting(CannedCrew[4]), 366*24*time.Hour), s.plant.Jobs[0].ID)
		}},
		{"board-empty", "board_show", func(b screens.Frame) any { return s.newBoard(b) }},
	}
}

// later returns a setting some time on.
func later(set permits.Setting, by time.Duration) permits.Setting {
	set.At = set.At.Add(by)
	return set
}

// allSighted returns a ship on which the motorman has sighted every tag that hangs, and may sign for it.
func (s *Ship) allSighted() *Ship {
	all := s.apart()
	for _, d := range permits.AuditDue(s.Setting(CannedCrew[3])) {
		l, _ := s.Permits[d.Permit].Lock(d.Step)
		all.do(d.Permit, "bao", permits.SightTag{N: d.Step, Point: d.Point, Seen: permits.AsFound, Tag: l.Tag})
	}
	return all
}

func (s *Ship) auditPage(b screens.Frame) screens.AuditPage {
	return screens.AuditOf(b, s.Setting(b.Me), "")
}
