package calc_test

import (
	"os"

	"stillwatch/cmd/stillwatch/calc"
	"stillwatch/cmd/stillwatch/line"
)

// One formula, worked out with its units in the keys.
func ExampleCommand() {
	line.Run(calc.Command(),
		[]string{"drain-vertical", "--diameter", "1.2m", "--hole", "50mm", "--cd", "0.6", "--from", "3m", "--to",
			"0.5m"},
		os.Stdout, os.Stderr)
	// Output:
	// time_s                   444.275        time from the one to the other
	// velocity_m_s             4.603216       velocity in the opening at the start
	// flow_m3_s                0.009038394    flow at the start
	// volume_m3                2.827433       volume that runs out
}
