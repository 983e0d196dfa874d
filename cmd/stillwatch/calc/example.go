package calc

import (
	"fmt"
	"strings"
)

// examples holds one worked line for each formula, with figures that a person could meet aboard: the help shows it, and
// takes from it what it writes behind each flag.
var examples = map[string]string{
	"drain-vertical":   "--diameter 1.2m --hole 50mm --cd 0.6 --from 3m --to 0.5m",
	"drain-horizontal": "--diameter 2m --length 8m --hole 100mm --cd 0.6 --from 1.8m --to 0.2m",
	"drain-pipe": "--area 2.5m2 --pipe-diameter 50mm --pipe-length 6m --roughness 0.05mm --loss 1.5 --viscosity " +
		"35cSt --from 2m --to 0.5m",
	"viscosity":      "--point 50C=380cSt --point 100C=35cSt --at 98C",
	"density":        "--rho15 991kg/m3 --table 54B --at 98C",
	"friction":       "--re 20000 --roughness 0.001",
	"film":           "--height 1.2m --viscosity 35cSt --after 10min",
	"seat-leak":      "--dn 50mm --rate D",
	"cooldown":       "--from 95C --ambient 38C --to 48C --mass 420kg --area 1.9m2 --coefficient 10W/m2K",
	"coastdown":      "--reading 0s=7200rpm --reading 5min=5200rpm --reading 10min=3600rpm",
	"discharge":      "--resistance 47kohm --capacitance 2200uF --from 620V --to 60V",
	"gas-energy":     "--pressure 30barg --volume 1000L",
	"accumulator":    "--precharge 90barg --high 200barg --low 120barg --volume 20L --n 1",
	"trapped-liquid": "--expansion 700e-6/K --compressibility 6e-4/MPa --diameter 50mm --wall 4mm --rise 10K",
}

// shown returns what the help writes behind a flag of a formula: the value of the worked example, else one that would
// do.
func (f formula) shown(in input) string {
	words := strings.Fields(examples[f.name])
	for i := 0; i+1 < len(words); i += 2 {
		if words[i] == "--"+in.name {
			return words[i+1]
		}
	}
	switch in.name {
	case "after":
		return "30min"
	case "tau":
		return "5h"
	case "density":
		return "940kg/m3"
	case "k":
		return "1.4"
	case "friction":
		return "0.022"
	case "wall-expansion":
		return "36e-6/K"
	}
	return in.kind.example
}

// example is the formula's worked line as it is typed.
func (f formula) example() string {
	return fmt.Sprintf("stillwatch calc %s %s", f.name, examples[f.name])
}
