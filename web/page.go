package web

import (
	"cmp"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"stillwatch/permits"
)

// base is what every page carries: who is signed in, how it looks, what was just done or refused.
type base struct {
	Title   string
	Tab     string // which of the tabs is this one
	Path    string // the page's own address, for forms that come back to it
	Me      permits.Person
	Palette string
	Clock   time.Time
	Done    string // what was just done
	Head    headLine
	Version string
	Live    bool   // the page shows what changes, and listens
	Sought  string // what was typed into the code field, when it was refused
	back    back
	people  []permits.Person
}

// headLine names the log's head, so that a page can be held against the record.
type headLine struct {
	Size  int64
	Short string
}

// base makes the part that every page carries.
func (s *Server) base(c *gin.Context, title, tab string) base {
	ship := s.reg.Ship()
	head := s.reg.Head()
	b := base{Title: title, Tab: tab, Path: c.Request.URL.RequestURI(), Me: me(c), Palette: paletteOf(c.Request),
		Clock: s.now(),
		Done:  s.takeDone(c), Head: headLine{head.Size, shortHash(head.Hash)}, Version: s.cfg.Version}
	if c.Request.Method != http.MethodGet {
		b.Path = "/"
	}
	for _, p := range ship.People {
		b.people = append(b.people, p)
	}
	sortPeople(b.people)
	return b
}

func sortPeople(list []permits.Person) {
	slices.SortFunc(list, func(a, b permits.Person) int {
		return cmp.Or(strings.Compare(a.String(), b.String()), cmp.Compare(a.ID, b.ID))
	})
}

func shortHash(h string) string {
	if len(h) > 8 {
		return h[:8]
	}
	return h
}

// Base returns this part itself: the layout asks for it once, since a template looks long for what is embedded.
func (b base) Base() base { return b }

// Refusal returns the refusal that the page shows first, or nil.
func (b base) Refusal() *permits.Refusal { return b.back.Refusal }

// RefusedForm returns the name of the form that was refused, or "".
func (b base) RefusedForm() string { return b.back.Form }

// Typed returns what was typed into a field of a form that was refused, or "".
func (b base) Typed(form, field string) string {
	if b.back.Form != form {
		return ""
	}
	return b.back.Values.Get(field)
}

// TypedOr is Typed for a field that begins filled in.
func (b base) TypedOr(form, field, otherwise string) string {
	if b.back.Form != form {
		return otherwise
	}
	return b.back.Values.Get(field)
}

// Picked reports whether a choice was made in a form that was refused.
func (b base) Picked(form, field, value string) bool {
	return b.back.Form == form && slices.Contains(b.back.Values[field], value)
}

// Wrong reports whether this field is the one because of which the form was refused.
func (b base) Wrong(form, field string) bool {
	return b.back.Form == form && b.back.Refusal != nil && b.back.Refusal.Field == field
}

// Is reports whether the person at this device has the role.
func (b base) Is(role string) bool { return b.Me.Has(permits.Role(role)) }

// Name returns how a person is called.
func (b base) Name(id permits.PersonID) string {
	for _, p := range b.people {
		if p.ID == id {
			return p.String()
		}
	}
	return string(id)
}

// signBox is the part of a form in which somebody signs: who, and their own PIN.
type signBox struct {
	Form   string
	Does   string // completes "… signs to …"
	Roles  string
	People []signer
}

type signer struct {
	ID, Name string
	Chosen   bool
}

// Sign makes the signing part of a form for a kind of act: everybody aboard who may sign it; whoever is signed in is
// chosen beforehand.
func (b base) Sign(form, kind string) signBox { return b.SignBut(form, kind, "") }

// SignBut is Sign without one person, of whom it is known that the gate would refuse them.
func (b base) SignBut(form, kind string, not permits.PersonID) signBox {
	k := permits.Kind(kind)
	roles := k.Roles()
	box := signBox{Form: form, Does: k.Does(), Roles: rolesInWords(roles)}
	chosen := b.TypedOr(form, "signer", string(b.Me.ID))
	for _, p := range b.people {
		if p.Has(roles...) && p.ID != not {
			box.People = append(box.People, signer{string(p.ID), p.String() + ", " + rankOf(p), chosen == string(p.ID)})
		}
	}
	return box
}

// SignAmong is Sign for those of the people named who may sign it, and for those who have the role besides.
func (b base) SignAmong(form, kind string, besides permits.Role, who ...permits.PersonID) signBox {
	box := b.Sign(form, kind)
	box.People = slices.DeleteFunc(box.People, func(s signer) bool {
		i := slices.IndexFunc(b.people, func(p permits.Person) bool { return string(p.ID) == s.ID })
		return !slices.Contains(who, permits.PersonID(s.ID)) && !(besides != "" && b.people[i].Has(besides))
	})
	return box
}

// SignOnBox is Sign for signing on: without those who are signed on already.
func (b base) SignOnBox(on []permits.PersonID) signBox {
	box := b.Sign("sign-on", string(permits.KindSignOn))
	box.People = slices.DeleteFunc(box.People, func(s signer) bool { return slices.Contains(on, permits.PersonID(s.ID)) })
	return box
}

// SignOffBox is Sign for signing off: those who are signed on.
func (b base) SignOffBox(on []permits.PersonID) signBox {
	box := b.SignAmong("sign-off", string(permits.KindSignOff), "", on...)
	box.Roles = "whoever is signed on"
	return box
}

// HandBackBox is Sign for handing back: the person in charge of the work, and the chief engineer.
func (b base) HandBackBox(inCharge permits.PersonID) signBox {
	box := b.SignAmong("hand-back", string(permits.KindHandBack), permits.ChiefEngineer, inCharge)
	box.Roles = "the person in charge of the work, or the chief engineer"
	return box
}

// changedBox is the field in which somebody says what was changed since a record that was not right.
type changedBox struct {
	ID, Typed string
	Wrong     bool
}

// Changed makes that field for a form.
func (b base) Changed(form string) changedBox {
	return changedBox{slug(form), b.Typed(form, "words"), b.Wrong(form, "words")}
}

// rolesInWords names roles; all of them is "anybody of the crew".
func rolesInWords(roles []permits.Role) string {
	if len(roles) >= 5 {
		return "anybody of the crew"
	}
	words := make([]string, len(roles))
	for i, r := range roles {
		words[i] = string(r)
	}
	return strings.Join(words, " or ")
}

func rankOf(p permits.Person) string {
	if p.Rank != "" {
		return p.Rank
	}
	if len(p.Roles) > 0 {
		return string(p.Roles[0])
	}
	return ""
}

// The palettes, chosen by the person and kept in a cookie: never by the system, which does not know the bridge.
var palettes = []string{"day", "dusk", "night"}

const paletteCookie = "stillwatch-palette"

func paletteOf(r *http.Request) string {
	if k, err := r.Cookie(paletteCookie); err == nil && slices.Contains(palettes, k.Value) {
		return k.Value
	}
	return palettes[0]
}

// paletteChoose keeps the palette on this device and shows the same page again.
func (s *Server) paletteChoose(c *gin.Context) error {
	f := formOf(c)
	chosen := f.text("palette")
	if !slices.Contains(palettes, chosen) {
		return &permits.Refusal{Kind: permits.Invalid, Gate: "form", What: "There is no such palette."}
	}
	http.SetCookie(c.Writer, &http.Cookie{Name: paletteCookie, Value: chosen, Path: "/", MaxAge: 365 * 86400,
		HttpOnly: true,
		SameSite: http.SameSiteLaxMode}) // no secret: plain and secure pages share it
	to := localPath(f.text("from"))
	if to == "" {
		to = "/"
	}
	c.Redirect(http.StatusSeeOther, to)
	return nil
}
