package drain

import "math"

// Film returns the thickness in metres of the layer left on an upright wall,
// heightM below its top, afterS seconds after the surface fell past:
// δ = √(νz/(g·t)). Refuses anything not positive.
// Source: Jeffreys (1930); Bird, Stewart & Lightfoot, problem 2D.2.
func Film(heightM, nu, afterS float64) (float64, error) {
	err := firstOf(band{1e-3, 100, "m"}.within("height", heightM), band{1e-8, 100, "m²/s"}.within("viscosity", nu),
		band{1, 1e8, "s"}.within("after", afterS))
	if err != nil {
		return 0, err
	}
	return film(heightM, nu, afterS), nil
}

func film(heightM, nu, afterS float64) float64 { return math.Sqrt(nu * heightM / (Gravity * afterS)) }

// MeanFilm is the mean thickness over a wall of the given height: two thirds of
// the thickness at its foot. Same limits as [Film].
func MeanFilm(heightM, nu, afterS float64) (float64, error) {
	f, err := Film(heightM, nu, afterS)
	return 2.0 / 3 * f, err
}

// walls is what is wetted when the section is full: the sum of area·√height over
// its pieces, all that the film needs. A pipe's film runs down its slope, so a
// lying pipe counts with its bore as height; a vessel counts as upright.
func (n *net) walls() float64 {
	sum := 0.0
	for _, p := range n.pieces {
		low, high := p.solid.span()
		if high <= low {
			continue
		}
		wet := 2*math.Sqrt(math.Pi*p.fullM3*(high-low)) + p.fullM3/(high-low)
		if p.link >= 0 {
			l := n.sec.Links[p.link]
			wet = math.Pi * l.BoreM * l.LengthM
		}
		sum += wet * math.Sqrt(high-low)
	}
	return sum
}

// filmM3 is the liquid on walls (as [net.walls] gives them) afterS seconds after
// the level fell past.
func filmM3(walls, nu, afterS float64) float64 {
	return 2.0 / 3 * film(1, nu, math.Max(1, afterS)) * walls
}
