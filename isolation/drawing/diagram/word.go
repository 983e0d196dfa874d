package diagram

import "stillwatch/isolation"

// PositionWord returns the word that the trade uses for a point's position, as on its tag: see isolation.Kind.Word.
func PositionWord(k isolation.Kind, p isolation.Position) string { return k.Word(p) }
