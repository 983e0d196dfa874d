package plantfile

import "strings"

// Nearest returns the known word that is closest to the one written, or "" if none is close: what an error offers to a
// person who mistyped. O(len(known)·len(word)²).
func Nearest(word string, known []string) string { return nearest(word, known) }

// nearest returns the known word that is closest to the one written, for an offer in an error, or "" if none is close:
// at most a third of the letters may differ. Ties go to the first. O(len(known)·len(word)²).
func nearest(word string, known []string) string {
	best, least := "", max(1, len([]rune(word))/3)+1
	for _, k := range known {
		if d := letterDistance(strings.ToLower(word), strings.ToLower(k), least); d < least {
			best, least = k, d
		}
	}
	return best
}

// offer returns `; did you mean "x"?` for the nearest known word, or "".
func offer(word string, known []string) string {
	if n := nearest(word, known); n != "" {
		return `; did you mean "` + n + `"?`
	}
	return ""
}

// letterDistance counts the letters to insert, leave out, change or swap with the next one to turn a into b (optimal
// string alignment; common algorithm, from memory). It returns limit as soon as the count cannot stay below it.
func letterDistance(a, b string, limit int) int {
	x, y := []rune(a), []rune(b)
	if d := len(x) - len(y); d >= limit || -d >= limit || len(x) > 80 || len(y) > 80 {
		return limit
	}
	before, last, row := make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(x); i++ {
		row[0] = i
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return min(limit, last[len(y)])
}
