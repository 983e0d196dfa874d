package isolation

import (
	"fmt"
	"strings"
)

// Litres writes a volume as people say it: one decimal below 100 L, none above.
func Litres(l float64) string {
	switch {
	case l < 0.05 && l > -0.05:
		return "0 L"
	case l < 99.95 && l > -99.95:
		return fmt.Sprintf("%.1f L", l)
	}
	return fmt.Sprintf("%.0f L", l)
}

// Amount returns a number with the word that goes with it.
func Amount(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// InSentence puts a name before a sentence.
func InSentence(name, s string) string {
	if s == "" {
		return name
	}
	return name + ": " + strings.ToLower(s[:1]) + s[1:]
}

// AndList joins names as a sentence does.
func AndList(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1]
}

// WithArticle returns a word with the article that goes with it.
func WithArticle(s string) string {
	if s != "" && strings.ContainsRune("aeiou", rune(s[0])) {
		return "an " + s
	}
	return "a " + s
}

// Listed joins up to three names, and counts the rest.
func Listed(names []string) string {
	s := ""
	for i, n := range names {
		switch {
		case i == 3:
			return fmt.Sprintf("%s and %d more", s, len(names)-3)
		case i > 0:
			s += ", "
		}
		s += n
	}
	return s
}
