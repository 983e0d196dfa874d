// Package svg writes numbers and words so that a drawing made of them is always valid XML. It knows nothing of what is
// drawn; begin with Number and Text.
package svg

import (
	"fmt"
	"math"
	"strings"
	"unicode/utf8"
)

// Number writes a length or a coordinate with two digits at most, without trailing zeros. What is not a number becomes
// 0: nothing that is computed can be one, but a picture must stay valid.
func Number(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "0"
	}
	s := strings.TrimRight(strings.TrimRight(fmt.Sprintf("%.2f", v), "0"), ".")
	if s == "-0" || s == "" {
		return "0"
	}
	return s
}

var escape = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&#34;", "'", "&#39;")

// Text makes words safe for an XML attribute or text: white space becomes a blank, and what XML 1.0 does not allow
// (section 2.2) becomes U+FFFD.
func Text(s string) string {
	clean := strings.Map(func(r rune) rune {
		switch {
		case r == '\t' || r == '\n' || r == '\r':
			return ' '
		case r < 0x20, r == 0xFFFE, r == 0xFFFF:
			return utf8.RuneError
		}
		return r
	}, strings.ToValidUTF8(s, "\uFFFD"))
	return escape.Replace(clean)
}
