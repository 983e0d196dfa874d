package screens

import (
	"bytes"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"maps"
	"path"
	"regexp"

	"stillwatch/templates"
)

// Site is which screens a site has: the ship's here, the office's in package web/office/desk.
type Site struct {
	Layout, Folder string           // of the templates
	Pages          map[string]any   // the page struct that each screen shows
	Funcs          template.FuncMap // words of its own, beside and instead of those that every site has
}

// Set are the templates, one set a screen, parsed at start.
type Set struct {
	live     fs.FS // read anew for each page; nil: what is embedded, read once
	site     Site
	funcs    template.FuncMap
	assetURL func(string) (string, error)
	Set      map[string]*template.Template
}

// Pages says which page struct each screen shows. The tests check every template against its struct, and
// Pages shows each with canned data.
var Pages = map[string]any{
	"audit_show":       AuditPage{},
	"board_screen":     BoardScreenPage{},
	"board_screens":    BoardScreensPage{},
	"board_show":       BoardPage{},
	"change_show":      ChangePage{},
	"emergency_show":   EmergencyPage{},
	"handover_show":    HandoverPage{},
	"entry_show":       EntryPage{},
	"inspections_list": InspectionsPage{},
	"figures_show":     FiguresPage{},
	"machine_show":     MachinePage{},
	"kept_show":        KeptPage{},
	"log_show":         LogPage{},
	"notice":           NoticePage{},
	"people_list":      PeoplePage{},
	"permit_request":   RequestPage{},
	"permit_show":      PermitPage{},
	"permits_list":     PermitsPage{},
	"pin_change":       PINPage{},
	"plan_show":        PlanPage{},
	"plant_show":       PlantPage{},
	"plant_proposed":   ProposalPage{},
	"point_list":       PointsPage{},
	"point_show":       PointPage{},
	"ship_found":       FirstRunPage{},
	"sign_in":          SignInPage{},
	"tag_open":         TagPage{},
	"trust_show":       TrustPage{},
	"walk_show":        WalkPage{},
	"work_show":        AtWorkPage{},
}

// Load parses every screen of the ship's site; with live not nil each is read anew from there whenever it is shown.
// assetURL returns the address of an asset. A template or asset that does not hold together is an error.
func Load(live fs.FS, assetURL func(string) (string, error)) (*Set, error) {
	return LoadSite(Site{Layout: "layout.html", Folder: "screens", Pages: Pages}, live, assetURL)
}

// LoadSite is Load for the screens of any site.
func LoadSite(site Site, live fs.FS, assetURL func(string) (string, error)) (*Set, error) {
	s := &Set{live: live, site: site, funcs: wordFuncs(), assetURL: assetURL, Set: map[string]*template.Template{}}
	maps.Copy(s.funcs, site.Funcs)
	for name := range site.Pages {
		t, err := s.parse(templates.FS, name)
		if err != nil {
			return nil, err
		}
		s.Set[name] = t
	}
	return s, nil
}

// parse reads the layout, the partials and one screen.
func (s *Set) parse(files fs.FS, name string) (*template.Template, error) {
	partials, err := fs.Glob(files, "partials/*.html")
	if err != nil {
		return nil, fmt.Errorf("parse screen %s: %w", name, err)
	}
	t := template.New(s.site.Layout).Funcs(s.funcs)
	for _, file := range append(partials, s.site.Folder+"/"+name+".html", s.site.Layout) {
		text, err := fs.ReadFile(files, file)
		if err == nil {
			text, err = s.withAssets(text)
		}
		if err == nil && file == s.site.Layout {
			_, err = t.Parse(string(text))
		} else if err == nil {
			_, err = t.New(path.Base(file)).Parse(string(text))
		}
		if err != nil {
			return nil, fmt.Errorf("parse screen %s, file %s: %w", name, file, err)
		}
	}
	return t, nil
}

// assetCall stands in a template for the address of an asset.
var assetCall = regexp.MustCompile(`{{asset "([^"]*)"}}`)

// withAssets puts the addresses of assets in, which are the same on every page: asking for each of them each time took
// a third of a tag's page.
func (s *Set) withAssets(text []byte) ([]byte, error) {
	var fault error
	out := assetCall.ReplaceAllFunc(text, func(call []byte) []byte {
		url, err := s.assetURL(string(assetCall.FindSubmatch(call)[1]))
		fault = errors.Join(fault, err)
		return []byte(url)
	})
	return out, fault
}

// Write makes a screen's HTML. It is all there before the first byte leaves, so that no half page is ever taken for
// one.
func (s *Set) Write(name string, page any) ([]byte, error) {
	t, ok := s.Set[name]
	if !ok {
		return nil, fmt.Errorf("there is no screen %s", name)
	}
	if s.live != nil {
		anew, err := s.parse(s.live, name)
		if err != nil {
			return nil, err
		}
		t = anew
	}
	var b bytes.Buffer
	if err := t.ExecuteTemplate(&b, s.site.Layout, page); err != nil {
		return nil, fmt.Errorf("render screen %s: %w", name, err)
	}
	return b.Bytes(), nil
}
