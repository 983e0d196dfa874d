package drain

import "math"

// A node of a rule on [0, 1]: where, and its weight.
type quadNode struct{ at, weight float64 }

// nested are Fejér's second rules with 3, 7 and 15 points on a variable s that is
// eased by z = sin²(πs/2), which turns square-root behaviour at either end (a
// pipe's crown, a level reaching a weir) into something smooth. Each contains the
// nodes of the one before: the odd ones are new.
var nested = [3][]quadNode{fejer(4), fejer(8), fejer(16)}

// fejer gives the interior nodes θ = kπ/n, k = 1…n−1, with easing built in.
// Source: Fejér's second rule as in Waldvogel, BIT 46 (2006) 195.
func fejer(n int) []quadNode {
	rule := make([]quadNode, n-1)
	for k := 1; k < n; k++ {
		th := float64(k) * math.Pi / float64(n)
		sum := 0.0
		for j := 1; j <= n/2; j++ {
			sum += math.Sin(float64(2*j-1)*th) / float64(2*j-1)
		}
		w := 2 * math.Sin(th) / float64(n) * sum // on [0, 1]
		s := (1 - math.Cos(th)) / 2
		sin, cos := math.Sincos(math.Pi / 2 * s)
		rule[k-1] = quadNode{sin * sin, w * math.Pi * sin * cos}
	}
	return rule
}

// integrate returns ∫f from a to b, eased at both ends, to about the absolute
// error tol, and never finer than a relative 1e-9. It halves a stretch where the
// rules disagree, at most eight times over.
func integrate(f func(float64) float64, a, b, tol float64) float64 {
	return integrateTo(f, a, b, tol, 8)
}

func integrateTo(f func(float64) float64, a, b, tol float64, depth int) float64 {
	var y [15]float64 // values at the nodes of the finest rule used
	var sum [3]float64
	for level, rule := range nested {
		stride := 16 >> (level + 2) // of this rule's nodes among the 15
		for i, n := range rule {
			k := (i+1)*stride - 1
			if level == 0 || i%2 == 0 {
				y[k] = f(a + (b-a)*n.at)
			}
			sum[level] += n.weight * y[k]
		}
		sum[level] *= b - a
		if level == 0 {
			if sum[0] < tol {
				return sum[0]
			}
			continue
		}
		off := math.Abs(sum[level] - sum[level-1])
		good := math.Max(tol, 1e-9*math.Abs(sum[level]))
		// where both rules have converged, the finer one's error is far below
		// their difference: about its square
		if off < 10*good || off*off < 0.1*good*math.Abs(sum[level]) && off < 3000*good {
			return sum[level]
		}
	}
	if depth == 0 {
		return sum[2]
	}
	m := (a + b) / 2
	return integrateTo(f, a, m, tol, depth-1) + integrateTo(f, m, b, tol, depth-1)
}

// rough is the same with the coarsest rule alone, to know the order of size.
func rough(f func(float64) float64, a, b float64) float64 {
	sum := 0.0
	for _, n := range nested[0] {
		sum += n.weight * f(a+(b-a)*n.at)
	}
	return sum * (b - a)
}
