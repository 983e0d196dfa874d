package drain

import "math"

// A node of a rule on [0, 1]: where, and its weight.
type quadNode struct{ at, weight float64 }

// nested are Fejér's second rules with 3, 7 and 15 points on a variable s that is
// eased by z = s²(3 − 2s), which turns square-root behaviour at either end (a
// pipe's crown, a level reaching a weir) into something smooth. Each contains the
// nodes of the one before: the odd ones are new.
var nested = [3][]quadNode{fejer(4), fejer(8), fejer(16)}

// fejer returns the interior nodes θ = kπ/n, k = 1…n−1, with easing built in.
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
	return quad{f: f, tol: tol, form: everNew()}.between(a, b, 10)
}

// everNew is the form of a law of which nothing is known.
func everNew() func() uint64 {
	n := uint64(0)
	return func() uint64 { n++; return n }
}

// quad is an integral to be taken. form tells, after each value of f, by which
// form of its law it was found. A stretch on which all values are of one form is
// smooth, and where two rules agree well there the finer one's error is about the
// square of their difference. Where the form changes, only plain agreement counts.
type quad struct {
	f    func(float64) float64
	tol  float64
	form func() uint64
}

func (q quad) between(a, b float64, depth int) float64 {
	var y [15]float64 // values at the nodes of the finest rule used
	var sum [3]float64
	first, smooth := uint64(0), true
	for level, rule := range nested {
		stride := 16 >> (level + 2) // of this rule's nodes among the 15
		for i, n := range rule {
			k := (i+1)*stride - 1
			if level == 0 || i%2 == 0 {
				y[k] = q.f(a + (b-a)*n.at)
				if level == 0 && i == 0 {
					first = q.form()
				} else {
					smooth = smooth && q.form() == first
				}
			}
			sum[level] += n.weight * y[k]
		}
		sum[level] *= b - a
		if level == 0 && sum[0] < q.tol || level > 0 && q.agree(sum[level-1], sum[level], smooth) {
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
func (q quad) agree(coarse, fine float64, smooth bool) bool {
	off, good := math.Abs(fine-coarse), math.Max(q.tol, 1e-8*math.Abs(fine))
	return off < good || smooth && off*off < 0.3*good*math.Abs(fine)
}
