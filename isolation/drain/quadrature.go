package drain

import "math"

// A node of a rule on [0, 1]: where, and its weight.
type quadNode struct{ at, weight float64 }

// nested are Fejér's second rules with 3, 7 and 15 points on a variable s that is
// eased by z = s²(3 − 2s), which turns square-root behaviour at either end (a
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
		rule[k-1] = quadNode{s * s * (3 - 2*s), w * 6 * s * (1 - s)}
	}
	return rule
}

// integrate returns ∫f from a to b, eased at both ends, to about the absolute
// error tol, and never finer than a relative 1e-8. It halves a stretch where the
// rules disagree, at most ten times over.
func integrate(f func(float64) float64, a, b, tol float64) float64 {
	return quad{f, tol, false}.between(a, b, 10)
}

// quad is an integral to be taken. trusting takes it that where two rules agree
// well the finer one's error is about the square of their difference: true of
// smooth stretches, not of one with a kink in it, so it is for integrals of many
// short stretches, of which none weighs much.
type quad struct {
	f        func(float64) float64
	tol      float64
	trusting bool
}

func (q quad) between(a, b float64, depth int) float64 {
	var y [15]float64 // values at the nodes of the finest rule used
	var sum [3]float64
	for level, rule := range nested {
		stride := 16 >> (level + 2) // of this rule's nodes among the 15
		for i, n := range rule {
			k := (i+1)*stride - 1
			if level == 0 || i%2 == 0 {
				y[k] = q.f(a + (b-a)*n.at)
			}
			sum[level] += n.weight * y[k]
		}
		sum[level] *= b - a
		if level == 0 && sum[0] < q.tol || level > 0 && q.agree(sum[level-1], sum[level]) {
			return sum[level]
		}
	}
	if depth == 0 {
		return sum[2]
	}
	m := (a + b) / 2
	return q.between(a, m, depth-1) + q.between(m, b, depth-1)
}

// agree says whether the finer of two sums will do.
func (q quad) agree(coarse, fine float64) bool {
	off, good := math.Abs(fine-coarse), math.Max(q.tol, 1e-8*math.Abs(fine))
	return off < 10*good || q.trusting && off < 1000*good && off*off < 0.01*good*math.Abs(fine)
}
