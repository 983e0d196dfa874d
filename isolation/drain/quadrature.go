package drain

import "math"

// Gauss-Legendre abscissae and weights on [0, 1], by number of points.
var gaussRule = map[int][][2]float64{}

func init() {
	for _, n := range []int{3, 5, 8} {
		gaussRule[n] = legendre(n)
	}
}

// legendre finds the roots of the Legendre polynomial by Newton's method.
func legendre(n int) [][2]float64 {
	rule := make([][2]float64, n)
	for i := range rule {
		x := math.Cos(math.Pi * (float64(i) + 0.75) / (float64(n) + 0.5))
		var slope float64
		for range 50 {
			p0, p1 := 1.0, x
			for k := 2; k <= n; k++ {
				p0, p1 = p1, (float64(2*k-1)*x*p1-float64(k-1)*p0)/float64(k)
			}
			slope = float64(n) * (x*p1 - p0) / (x*x - 1)
			x -= p1 / slope
		}
		rule[i] = [2]float64{(1 - x) / 2, 1 / ((1 - x*x) * slope * slope)}
	}
	return rule
}

// gaussPieces integrates f from a to b in equal pieces of eight points each.
func gaussPieces(f func(float64) float64, a, b float64, pieces int) float64 {
	sum, h := 0.0, (b-a)/float64(pieces)
	for i := range pieces {
		for _, r := range gaussRule[8] {
			sum += r[1] * f(a+h*(float64(i)+r[0]))
		}
	}
	return sum * h
}

// gaussEased integrates f over [a, b] with z = a + (b−a)·sin²(πs/2), which turns
// square-root behaviour at either end (a pipe's crown, a level reaching a weir)
// into something smooth.
func gaussEased(f func(float64) float64, a, b float64, points int) float64 {
	sum := 0.0
	for _, r := range gaussRule[points] {
		sin, cos := math.Sincos(math.Pi / 2 * r[0])
		sum += r[1] * math.Pi * sin * cos * f(a+(b-a)*sin*sin)
	}
	return sum * (b - a)
}
