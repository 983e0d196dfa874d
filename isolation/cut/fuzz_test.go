package cut

import (
	"errors"
	"testing"
)

// problemFrom reads any bytes as a problem, right or wrong: what they say about
// numbers of vertices and ends of edges isn't held to anything.
func problemFrom(data []byte) Problem {
	next := func() byte {
		if len(data) == 0 {
			return 0
		}
		b := data[0]
		data = data[1:]
		return b
	}
	flags := next()
	p := Problem{N: int(next()&15) + 1, Limit: int(next())}
	for range p.N {
		c := int64(next())
		if c == 255 {
			c = -1
		}
		p.Cost = append(p.Cost, c%8)
	}
	if flags&1 != 0 {
		for range p.N {
			p.Counts = append(p.Counts, Counts(next()))
		}
	}
	if flags&2 != 0 {
		for range p.N {
			p.Openings = append(p.Openings, next()&3 == 0)
		}
	}
	if flags&32 != 0 {
		p.Cost[0] = MaxCost + int64(next()) - 128
	}
	for range next() & 3 {
		p.Zone = append(p.Zone, int32(next()&15))
	}
	for range next() & 3 {
		p.Sources = append(p.Sources, Source{int32(next() & 15), Demand(next() & 7)})
	}
	for len(data) > 0 {
		a, b := next(), next()
		e := [2]int32{int32(a & 15), int32(b & 15)}
		if flags&4 != 0 && b&64 != 0 {
			p.Needs = append(p.Needs, Need{If: e[0], OneOf: e[1:]})
		} else if flags&64 != 0 && b&32 != 0 {
			p.OneWay = append(p.OneWay, e)
		} else if flags&128 != 0 && b&16 != 0 {
			p.Gaps = append(p.Gaps, e)
		} else if a&128 != 0 && flags&8 != 0 {
			p.Edges = append(p.Edges, [2]int32{int32(int8(a)), int32(b)})
		} else {
			p.Edges = append(p.Edges, e)
		}
	}
	if flags&16 != 0 {
		p.Cost = p.Cost[1:]
	}
	return p
}

// FuzzSolve wants an error or a set that its own checks accept, of whatever
// bytes; never a panic.
func FuzzSolve(f *testing.F) {
	f.Add([]byte("\x00\x04\x00\x00\x01\x01\x00\x00\x01\x04\x01\x00\x02\x00\x01\x01\x02\x02\x03\x03\x04"))
	f.Add([]byte("\x07\x0b\x09abcdefghijklmnopqrstuvwxyz\x01\x03\x02\x05\x01\x07\x02 0A1B2C3D4E5F6G7H"))
	f.Add([]byte("\x03\x0f\xff\x00\x01\x02\x03\x04\x05\x06\x07\x00\x01\x02\x03\x04\x05\x06\x00\x01\x01\x02\x02\x03\x03"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 200 {
			return
		}
		p := problemFrom(data)
		sol, err := Solve(p)
		checkSmall(t, p, sol, err)
		if err != nil {
			var u *Uncut
			if errors.As(err, &u) && len(u.Path) == 0 {
				t.Errorf("uncut without a path: %v", err)
			}
			if err.Error() == "" {
				t.Error("error without words")
			}
			return
		}
		if err := Verify(p, sol.Chosen); err != nil {
			t.Errorf("Verify = %v, want nil; %#v", err, p)
		}
		if err := sol.Flow.Check(p); err != nil {
			t.Errorf("Check = %v, want nil; %#v", err, p)
		}
		if !sol.Exact() || sol.Flow.Value != sol.Bound.ByFlow {
			t.Errorf("cost %d, bound %+v, flow %d, want the cost proven", sol.Cost, sol.Bound, sol.Flow.Value)
		}
		checkAgain(t, p, sol)
	})
}

// checkAgain asks a network twice, with another question between, and wants the
// same answer as from Solve.
func checkAgain(t *testing.T, p Problem, sol Solution) {
	t.Helper()
	n, err := NewNetwork(p)
	if err != nil {
		t.Fatalf("NewNetwork = %v after Solve accepted the problem", err)
	}
	other := []Source{{p.Zone[0], Double}}
	for v := range int32(p.N) {
		if v != p.Zone[0] {
			_, _ = n.Solve(other, []int32{v})
		}
	}
	again, err := n.Solve(p.Sources, p.Zone)
	if err != nil || again.Cost != sol.Cost || again.Unique != sol.Unique || maskOf(again.Chosen) != maskOf(sol.Chosen) {
		t.Errorf("Network.Solve after other questions = %v, %v, want %v", again.Chosen, err, sol.Chosen)
	}
}

// checkSmall compares with exhaustive search where that is quick.
func checkSmall(t *testing.T, p Problem, sol Solution, err error) {
	t.Helper()
	var u *Uncut
	if p.N > 9 || len(p.Edges)+len(p.OneWay)+len(p.Gaps) > 14 || err != nil && !errors.As(err, &u) {
		return
	}
	want := newBrute(p).best()
	if want.feasible != (err == nil) || err == nil && sol.Cost != want.cost {
		t.Errorf("Solve = cost %d, bound %+v, %v, want cost %d, feasible %v; %#v", sol.Cost, sol.Bound, err, want.cost,
			want.feasible, p)
	}
}
