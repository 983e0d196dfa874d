package permits

import (
	"errors"
	"testing"
)

// TestNamesAreVisibleAndToldApart puts people on the books whose names hide something or look like another's. Letters
// that look alike are those of Unicode Technical Standard 39 (confusables.txt); what may not stand in a name is RFC
// 8264 (PrecisIgnorableProperties, ContextJ) and RFC 8266, 2.1.
func TestNamesAreVisibleAndToldApart(t *testing.T) {
	r := newRig(t)
	r.ship.People["ilse"] = Person{ID: "ilse", Name: "Ilse", Roles: []Role{Officer}}
	r.ship.People["old"] = Person{ID: "old", Name: "Marn", Roles: []Role{Officer}, Left: true}
	for name, want := range map[string]string{
		"Tove":             "",
		"José Li":          "",
		"Marn":             "", // the other has left
		"Il\u200bse":       "form",
		"Ilse\u202e":       "form",
		"\u2066Ilse":       "form",
		"Ilse\u00a0":       "form", // a blank that is none of the keyboard's
		"Jose\u0301":       "form", // AsName puts it together
		"Two  blanks":      "form",
		"\u115f\u115f":     "form",
		"Ilse":             "name",
		"ILSE":             "name",
		"llse":             "name",
		"I\u04c0se":        "name", // Cyrillic palochka
		"\u0406ls\u0435":   "name", // Ukrainian I, Cyrillic e
		"\u2160lse":        "form", // the Roman numeral: NFKC makes an I of it
		"Ilse\ufe0f":       "form",
		"Ilse the second":  "",
		"Ilse 2\u200d":     "form",
		"bad\xffencoding":  "form",
		"a name\nof two":   "form",
		"Person\u00ad Two": "form",
	} {
		act := AddPerson{Person: Person{ID: "new", Name: name, Roles: []Role{Technician}}}
		_, err := DecideShip(r.setting(chief, act), act)
		var no *Refusal
		switch {
		case err == nil && want != "":
			t.Errorf("%+q went onto the books, want a refusal by %s", name, want)
		case err != nil && (!errors.As(err, &no) || no.Gate != want):
			t.Errorf("%+q was refused by %v, want %q", name, err, want)
		}
	}
	for typed, want := range map[string]string{"  Tove  Li ": "Tove Li", "Jose\u0301": "José", "\uff21ram": "Aram",
		"": ""} {
		if got, err := AsName("name", typed); err != nil || got != want {
			t.Errorf("AsName(%+q) = %q, %v, want %q", typed, got, err, want)
		}
	}
	change := ChangePerson{Person: Person{ID: "tomas", Name: "IIse", Roles: []Role{Technician}}}
	if _, err := DecideShip(r.setting(chief, change), change); err == nil {
		t.Error("somebody was renamed to look like another")
	}
	act := RecordPassing{Point: "V1", Words: "seen to \u202eleak"}
	if _, err := DecideShip(r.setting(tomas, act), act); err == nil {
		t.Error("a text that turns its writing round was kept")
	}
}
