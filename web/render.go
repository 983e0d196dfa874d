package web

import (
	"bytes"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"os"
	"path"
	"regexp"
	"strconv"

	"github.com/gin-gonic/gin"

	"stillwatch/templates"
)

// screens are the templates, one set a screen, parsed at start.
type screens struct {
	dev      bool
	funcs    template.FuncMap
	assetURL func(string) (string, error)
	set      map[string]*template.Template
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
	s := &screens{dev: dev, funcs: wordFuncs(), assetURL: assetURL, set: map[string]*template.Template{}}
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
	partials, err := fs.Glob(files, "partials/*.html")
	if err != nil {
		return nil, fmt.Errorf("parse screen %s: %w", name, err)
	}
	t := template.New("layout.html").Funcs(s.funcs)
	for _, file := range append(partials, "screens/"+name+".html", "layout.html") {
		text, err := fs.ReadFile(files, file)
		if err == nil {
			text, err = s.withAssets(text)
		}
		if err == nil && file == "layout.html" {
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
func (s *screens) withAssets(text []byte) ([]byte, error) {
	var fault error
	out := assetCall.ReplaceAllFunc(text, func(call []byte) []byte {
		url, err := s.assetURL(string(assetCall.FindSubmatch(call)[1]))
		fault = errors.Join(fault, err)
		return []byte(url)
	})
	return out, fault
}

// write makes a screen's HTML. It is all there before the first byte leaves, so that no half page is ever taken for
// one.
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
	if err := t.ExecuteTemplate(&b, "layout.html", page); err != nil {
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
	c.Header("Content-Length", strconv.Itoa(len(body))) // else it goes out in chunks
	c.Data(status, "text/html; charset=utf-8", body)
	return nil
}
