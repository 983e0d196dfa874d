package screens

import (
	"cmp"
	"math"
	"net/url"
	"slices"
	"strings"
	"time"

	"stillwatch/permits"
)

// Back is a form that was refused: it is shown again with what was typed, except the PIN.
type Back struct {
	Form    string
	Values  url.Values
	Refusal *permits.Refusal
}

// Frame is what every page carries: who is signed in, how it looks, what was just done or refused.
type Frame struct {
	Title   string
	Tab     string // which of the tabs is this one
	Path    string // the page's own address, for forms that come back to it
	Me      permits.Person
	Palette string
	Clock   time.Time
	Done    string // what was just done
	Head    HeadLine
	Version string
	Live    bool   // the page shows what changes, and listens
	Screen  string // the name of the board screen that it is; "": an ordinary page
	Sought  string // what was typed into the code field, when it was refused
	Back    Back
	Crew    []permits.Person // everybody on the books, in order
}

// HeadLine names the log's head, so that a page can be held against the record.
type HeadLine struct {
	Size  int64
	Short string
}

// SortPeople puts people in the order of their names.
func SortPeople(list []permits.Person) {
	slices.SortFunc(list, func(a, b permits.Person) int {
		return cmp.Or(strings.Compare(a.String(), b.String()), cmp.Compare(a.ID, b.ID))
	})
}

// ShortHash returns the first 8 characters of a hash: enough to tell two apart by eye.
func ShortHash(h string) string {
	if len(h) > 8 {
		return h[:8]
	}
	return h
}

// Base returns this part itself: the layout asks for it once, since a template looks long for what is embedded.
func (b Frame) Base() Frame { return b }

// Refusal returns the refusal that the page shows first, or nil.
func (b Frame) Refusal() *permits.Refusal { return InShipTime(b.Back.Refusal, b.Clock) }

// RefusedForm returns the name of the form that was refused, or "".
func (b Frame) RefusedForm() string { return b.Back.Form }

// Typed returns what was typed into a field of a form that was refused, or "".
func (b Frame) Typed(form, field string) string {
	if b.Back.Form != form {
		return ""
	}
	return b.Back.Values.Get(field)
}

// TypedOr is Typed for a field that begins filled in.
func (b Frame) TypedOr(form, field, otherwise string) string {
	if b.Back.Form != form {
		return otherwise
	}
	return b.Back.Values.Get(field)
}

// Picked reports whether a choice was made in a form that was refused.
func (b Frame) Picked(form, field, value string) bool {
	return b.Back.Form == form && slices.Contains(b.Back.Values[field], value)
}

// Wrong reports whether this field is the one because of which the form was refused.
func (b Frame) Wrong(form, field string) bool {
	return b.Back.Form == form && b.Back.Refusal != nil && b.Back.Refusal.Field == field
}

// Is reports whether the person at this device has the role.
func (b Frame) Is(role string) bool { return b.Me.Has(permits.Role(role)) }

// Name returns how a person is called.
func (b Frame) Name(id permits.PersonID) string {
	for _, p := range b.Crew {
		if p.ID == id {
			return p.String()
		}
	}
	return string(id)
}

// Sign makes the signing part of a form for a kind of act: everybody aboard who may sign it; whoever is signed in is
// chosen beforehand.
func (b Frame) Sign(form, kind string) signBox { return b.SignBut(form, kind, "") }

// SignBut is Sign without one person, of whom it is known that the gate would refuse them.
func (b Frame) SignBut(form, kind string, not permits.PersonID) signBox {
	k := permits.Kind(kind)
	roles := k.Roles()
	box := signBox{Form: form, Does: k.Does(), Roles: rolesInWords(roles)}
	chosen := b.TypedOr(form, "signer", string(b.Me.ID))
	for _, p := range b.Crew {
		if p.Has(roles...) && p.ID != not {
			box.People = append(box.People, Signer{string(p.ID), signerWords(p, roles), chosen == string(p.ID)})
		}
	}
	return box
}

// SignAmong is Sign for those of the people named who may sign it, and for those who have the role besides.
func (b Frame) SignAmong(form, kind string, besides permits.Role, who ...permits.PersonID) signBox {
	box := b.Sign(form, kind)
	box.People = slices.DeleteFunc(box.People, func(s Signer) bool {
		i := slices.IndexFunc(b.Crew, func(p permits.Person) bool { return string(p.ID) == s.ID })
		return !slices.Contains(who, permits.PersonID(s.ID)) && !(besides != "" && b.Crew[i].Has(besides))
	})
	return box
}

// SignOnBox is Sign for signing on: without those who are signed on already.
func (b Frame) SignOnBox(on []permits.PersonID) signBox {
	box := b.Sign("sign-on", string(permits.KindSignOn))
	box.People = slices.DeleteFunc(box.People, func(s Signer) bool { return slices.Contains(on, permits.PersonID(s.ID)) })
	return box
}

// SignOffBox is Sign for signing off: those who are signed on.
func (b Frame) SignOffBox(on []permits.PersonID) signBox {
	box := b.SignAmong("sign-off", string(permits.KindSignOff), "", on...)
	box.Roles = "whoever is signed on"
	return box
}

// HandBackBox is Sign for handing back: the person in charge of the work, and the chief engineer.
func (b Frame) HandBackBox(inCharge permits.PersonID) signBox {
	box := b.SignAmong("hand-back", string(permits.KindHandBack), permits.ChiefEngineer, inCharge)
	box.Roles = "the person in charge of the work, or the chief engineer"
	return box
}

// drainForm is the figures that a drain asks for, in a form of some page.
type drainForm struct {
	Frame
	Form, ID string
	permits.DrainState
}

// HoldMin is the hold that one box answers for, in minutes: a quarter of an hour, or what the job asks for.
func (d drainForm) HoldMin() int { return max(15, int(math.Ceil(d.Section.HoldS/60))) }

// DrainForm makes them.
func (b Frame) DrainForm(form string, d permits.DrainState) drainForm {
	return drainForm{b, form, Slug(d.Section.ID), d}
}

// foundWrong is what was found wrong with a lock that is recorded as hanging.
type foundWrong struct {
	What, By string
	At       time.Time
}

// FoundWrong says it with who found it.
func (b Frame) FoundWrong(words string, found permits.Mark) foundWrong {
	return foundWrong{permits.AsSentence(words), b.Name(found.By), found.At}
}

// Changed makes that field for a form.
func (b Frame) Changed(form string) changedBox {
	return changedBox{Slug(form), b.Typed(form, "words"), b.Wrong(form, "words")}
}

// The palettes, chosen by the person and kept in a cookie: never by the system, which does not know the bridge.
var Palettes = []string{"day", "dusk", "night"}
