package plantfile

import (
	"crypto/sha256"
	"fmt"
	"maps"
	"slices"
	"strings"

	"stillwatch/isolation"
)

func sha(s string) string { return fmt.Sprintf("%x", sha256.Sum256([]byte(s))) }

// listing writes every field of a plant, one thing a line, for golden files.
func listing(p *isolation.Plant) string {
	var b strings.Builder
	fmt.Fprintf(&b, "title %q\n", p.Title)
	for _, name := range slices.Sorted(maps.Keys(p.Fluids)) {
		fmt.Fprintf(&b, "fluid %s %+v\n", name, p.Fluids[name])
	}
	for _, n := range p.Nodes {
		fmt.Fprintf(&b, "node %+v\n", n)
	}
	for _, k := range p.Links {
		fmt.Fprintf(&b, "link %+v\n", k)
	}
	for _, m := range p.Machines {
		fmt.Fprintf(&b, "machine %+v\n", m)
	}
	for _, j := range p.Jobs {
		fmt.Fprintf(&b, "job %+v\n", j)
	}
	return b.String()
}
