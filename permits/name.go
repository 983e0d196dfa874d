package permits

import (
	"strings"
	"unicode"

	"github.com/mtibben/confusables"
	"golang.org/x/text/secure/precis"
)

// AsName returns a person's name or rank as the books keep it: letters put together in one way (NFKC), one blank
// between words, none about them (RFC 8266, the profile Nickname). A name with something that nobody can see, such as
// a letter without width or a turn of the writing direction, is a *Refusal.
func AsName(field, text string) (string, error) {
	if strings.TrimSpace(text) == "" {
		return "", nil
	}
	name, err := precis.Nickname.String(strings.ToValidUTF8(text, "\u200b"))
	if err != nil {
		return "", invalid(field, "%s holds a character that cannot be seen, or none that a name has. Type it anew.",
			asked(field))
	}
	return name, nil
}

// checkName refuses a name that is not as AsName returns it.
func checkName(field, text string, least int) error {
	name, err := AsName(field, text)
	switch {
	case err != nil:
		return err
	case name != text:
		return invalid(field, "%s is not written as the books keep it: %q.", asked(field), name)
	}
	return words(field, text, least, 60)
}

// looksLike reports whether two names are equal to the eye, in any case (Unicode Technical Standard 39, skeletons).
func looksLike(a, b string) bool {
	return confusables.Skeleton(a) == confusables.Skeleton(b) ||
		confusables.Skeleton(strings.ToLower(a)) == confusables.Skeleton(strings.ToLower(b))
}

// tellApart refuses a name that looks like the name of somebody else who is aboard.
func tellApart(s Setting, who Person) error {
	for _, p := range s.Ship.People {
		if p.ID != who.ID && !p.Left && !who.Left && looksLike(p.Name, who.Name) {
			return &Refusal{Kind: Conflict, Gate: "name", Field: "name",
				What: "The name " + who.Name + " looks like " + p.Name + ", " + rolesInWords(p.Roles) + " (" + string(p.ID) +
					"), who is aboard.", Opens: "Add the family name or an initial, so that nobody signs for the other."}
		}
	}
	return nil
}

// isUnseen reports whether a character has no place in a text that people must be able to trust: control characters,
// and those by which writing is hidden or turned round (Unicode's Bidi_Control, and letters without width).
func isUnseen(r rune) bool {
	switch {
	case r == '\n', r == '\r', r == '\t':
		return false
	case r == '\u200b', r >= '\u2060' && r <= '\u2064', r == '\ufeff', r == '\u00ad':
		return true
	}
	return unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r)
}
