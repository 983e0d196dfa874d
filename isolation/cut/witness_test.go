package cut

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

var large = flag.Bool("large", false, "ask outside witnesses about 1 000 000 vertices too")

// outside is a program that finds maximum flows, see testdata/witness.
type outside struct {
	name    string
	sizes   []int
	command func(t *testing.T) *exec.Cmd // nil if it is missing
}

func witnessFile(name string) string {
	return filepath.Join("..", "..", "testdata", "witness", name)
}

// python is a command for the script, run by an interpreter that has the module.
func python(module, script string) func(t *testing.T) *exec.Cmd {
	return func(t *testing.T) *exec.Cmd {
		t.Helper()
		for _, name := range []string{"/usr/bin/python3", "python3"} {
			if exec.Command(name, "-c", "import "+module).Run() == nil {
				return exec.Command(name, witnessFile(script))
			}
		}
		return nil
	}
}

// boost is a command for the C++ program, if it can be built.
func boost(t *testing.T) *exec.Cmd {
	t.Helper()
	probe := exec.Command("g++", "-E", "-x", "c++", "-")
	probe.Stdin = strings.NewReader("#include <boost/graph/boykov_kolmogorov_max_flow.hpp>\n")
	if probe.Run() != nil {
		return nil
	}
	return exec.Command("sh", witnessFile("maxflow_boost.sh"), t.TempDir())
}

var witnesses = []outside{
	{"igraph", []int{1000, 10_000, 100_000}, python("igraph", "maxflow_igraph.py")},
	{"networkx", []int{1000, 5000}, python("networkx", "maxflow_networkx.py")},
	{"boost", []int{1000, 10_000, 100_000}, boost},
}

// TestOutsideProgramsFindTheSameFlow compares values; the times are told, not
// judged. Ours is all of Solve, theirs the flow call alone.
func TestOutsideProgramsFindTheSameFlow(t *testing.T) {
	for _, w := range witnesses {
		t.Run(w.name, func(t *testing.T) {
			cmd := w.command(t)
			if cmd == nil {
				if os.Getenv("CI") == "true" {
					t.Fatalf("%s isn't installed, see testdata/witness/README.md", w.name)
				}
				t.Skipf("%s isn't installed, see testdata/witness/README.md", w.name)
			}
			sizes := w.sizes
			if *large && w.name == "boost" {
				sizes = append(sizes, 1_000_000)
			}
			for _, n := range sizes {
				if testing.Short() && n > 10_000 {
					break
				}
				askOutside(t, *cmd, n)
			}
		})
	}
}

func askOutside(t *testing.T, cmd exec.Cmd, n int) {
	t.Helper()
	p := shipProblem(t, n)
	var sol Solution
	ours := time.Duration(1 << 62)
	for range 3 {
		before := cpuTime()
		var err error
		if sol, err = Solve(p); err != nil {
			t.Fatal(err)
		}
		ours = min(ours, cpuTime()-before)
	}
	var in, complaint bytes.Buffer
	net := writeOut(p)
	fmt.Fprintln(&in, net.nodes, net.source, net.sink, len(net.arcs))
	for _, a := range net.arcs {
		fmt.Fprintln(&in, a.from, a.to, a.capacity)
	}
	again := exec.Command(cmd.Path, cmd.Args[1:]...)
	again.Stdin, again.Stderr = &in, &complaint
	out, err := again.Output()
	if err != nil {
		t.Fatalf("%v = %v: %s", cmd.Args, err, complaint.String())
	}
	var value int64
	var seconds float64
	if _, err := fmt.Sscan(string(out), &value, &seconds); err != nil {
		t.Fatalf("%v printed %q: %v", cmd.Args, out, err)
	}
	if value != sol.Cost {
		t.Errorf("%v on a ship of %d = %d, want the cost %d", cmd.Args, n, value, sol.Cost)
	}
	t.Logf("%d vertices: theirs %.3f ms, ours %.3f ms of processor time, ratio %.1f",
		n, 1000*seconds, ours.Seconds()*1000, seconds/ours.Seconds())
}
