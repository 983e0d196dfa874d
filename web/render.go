package web

import (
	"bytes"
	"fmt"
	"html/template"
	"io/fs"
	"os"

	"github.com/gin-gonic/gin"

	"stillwatch/templates"
)

// screens are the templates, one set a screen, parsed at start.
type screens struct {
	dev   bool
	funcs template.FuncMap
	set   map[string]*template.Template
}

// screenPages says which page struct each screen shows. The tests check every template against its struct, and
// Pages shows each with canned data.
var screenPages = map[string]any{
	"board_show":     boardShowPage{},
	"entry_show":     entryShowPage{},
	"log_show":       logShowPage{},
	"notice":         noticePage{},
	"people_list":    peopleListPage{},
	"permit_request": permitRequestPage{},
	"permit_show":    permitShowPage{},
	"permits_list":   permitsListPage{},
	"pin_change":     pinChangePage{},
	"plan_show":      planShowPage{},
	"plant_show":     plantShowPage{},
	"point_list":     pointListPage{},
	"point_show":     pointShowPage{},
	"ship_found":     shipFoundPage{},
	"sign_in":        signInPage{},
	"tag_open":       tagOpenPage{},
	"trust_show":     trustShowPage{},
	"walk_show":      walkShowPage{},
}

func loadScreens(dev bool, assetURL func(string) (string, error)) (*screens, error) {
	s := &screens{dev: dev, funcs: wordFuncs(), set: map[string]*template.Template{}}
	s.funcs["asset"] = assetURL
	for name := range screenPages {
		t, err := s.parse(templates.FS, name)
		if err != nil {
			return nil, err
		}
		s.set[name] = t
	}
	return s, nil
}

// parse reads the layout, the partials and one screen.
func (s *screens) parse(files fs.FS, name string) (*template.Template, error) {
	t, err := template.New("layout.html").Funcs(s.funcs).ParseFS(files, "layout.html", "partials/*.html", "screens/"+name+".html")
	if err != nil {
		return nil, fmt.Errorf("parse screen %s: %w", name, err)
	}
	return t, nil
}

// write makes a screen's HTML. It is all there before the first byte leaves, so that no half page is ever taken for one.
func (s *screens) write(name string, page any) ([]byte, error) {
	t, ok := s.set[name]
	if !ok {
		return nil, fmt.Errorf("there is no screen %s", name)
	}
	if s.dev {
		anew, err := s.parse(os.DirFS("templates"), name)
		if err != nil {
			return nil, err
		}
		t = anew
	}
	var b bytes.Buffer
	if err := t.Execute(&b, page); err != nil {
		return nil, fmt.Errorf("render screen %s: %w", name, err)
	}
	return b.Bytes(), nil
}

// render answers with a screen. It is the only way in which a page goes out.
func (s *Server) render(c *gin.Context, status int, screen string, page any) error {
	body, err := s.screens.write(screen, page)
	if err != nil {
		return err
	}
	c.Data(status, "text/html; charset=utf-8", body)
	return nil
}
