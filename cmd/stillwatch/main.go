package main

import (
	"io"
	"os"
	"runtime/debug"

	"github.com/spf13/cobra"

	"stillwatch/cmd/stillwatch/calc"
	"stillwatch/cmd/stillwatch/demo"
	"stillwatch/cmd/stillwatch/doctor"
	"stillwatch/cmd/stillwatch/line"
	"stillwatch/cmd/stillwatch/ship"
	"stillwatch/cmd/stillwatch/shore"
)

// program returns every command. A command's RunE returns nil, an error to be told (exit status 1), or a line.Status.
func program() *cobra.Command {
	c := &cobra.Command{Use: "stillwatch",
		Short:   "Permits to work and energy isolation for a ship's machinery spaces",
		Version: line.Version(),
		Long: `Stillwatch: permits to work and energy isolation for a ship's machinery spaces.

It computes and records; it does not replace the company's safety management system, the flag state's rules or
licensed practice. Where they ask for more, they hold.

Each flag --name may also be given as STILLWATCH_NAME in the environment.`,
		Example: `  stillwatch demo
  stillwatch serve --data /var/lib/stillwatch
  stillwatch plan --plant plant.yaml --job S1-bowl`,
	}
	return line.Group(c, demo.Command(), serveCommand(), planCommand(), drainCommand(), calc.Command(), plantCommand(),
		logCommand(), keyCommand(), rescueCommand(), backupCommand(), restoreCommand(), ship.Command(), shore.Command(),
		tlsCommand(), doctor.Command(),
		unitCommand(), pagesCommand(), versionCommand())
}

// gcPercent lets the heap, which stays below a hundred megabytes, grow before it is collected: verifying a long log and
// serving many phones then lose less time to it (measured: 10 to 20 % of a verification).
const gcPercent = 400

// memoryLimit is from where on memory is collected as often as it takes to stay below, bytes.
const memoryLimit = 256 << 20

func main() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(gcPercent)
	}
	if os.Getenv("GOMEMLIMIT") == "" {
		debug.SetMemoryLimit(memoryLimit)
	}
	os.Exit(run(os.Args[1:], os.Stdout, os.Stderr))
}

func run(args []string, out, errOut io.Writer) int { return line.Run(program(), args, out, errOut) }
