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

// amount returns a number with the word that goes with it.
func amount(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// inSentence puts a name before a sentence.
func inSentence(name, s string) string {
	if s == "" {
		return name
	}
	return name + ": " + strings.ToLower(s[:1]) + s[1:]
}

// andList joins names as a sentence does.
func andList(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1]
}
