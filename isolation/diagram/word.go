package diagram

import "stillwatch/isolation"

// PositionWord gives the word that the trade uses for a point's position: a breaker that is "open" in the plant file is
// OFF to the person who locks it, a closed valve is SHUT.
func PositionWord(k isolation.Kind, p isolation.Position) string {
	isolating := p == k.Isolating()
	pick := func(cut, pass string) string {
		if isolating {
			return cut
		}
		return pass
	}
	switch k {
	case isolation.Breaker, isolation.Disconnector, isolation.Switch:
		return pick("OFF", "ON")
	case isolation.Fuse:
		return pick("WITHDRAWN", "IN PLACE")
	case isolation.Blank:
		return pick("BLANK IN", "BLANK OUT")
	case isolation.Spool:
		return pick("SPOOL OUT", "SPOOL IN")
	case isolation.Plug:
		return pick("PLUG IN", "PLUG OUT")
	}
	return pick("SHUT", "OPEN")
}
