package main

import (
	"fmt"
	"io"
	"os"
	"runtime/debug"

	"stillwatch/cmd/stillwatch/calc"
	"stillwatch/cmd/stillwatch/demo"
	"stillwatch/cmd/stillwatch/doctor"
)

// command is one word after "stillwatch". run gets the rest of the line and returns the exit status: 0 as asked, 1 a
// mistake told on errOut, 2 an honest no (a plan that cannot be, a gate that stays shut).
type command struct {
	name, does string
	run        func(args []string, out, errOut io.Writer) int
}

// commands is every command, in the order in which the help lists them.
func commands() []command {
	return []command{
		{"demo", "run the whole job on an invented ship, then serve it to look at", demo.Run},
		{"serve", "serve the register on the ship's network", runServe},
		{"plan", "compute the isolation of one job", runPlan},
		{"drain", "foretell how the isolated lines of one job drain", runDrain},
		{"calc", "work one formula out, to check the program by hand", calc.Run},
		{"plant", "check, show or import a plant file", runPlant},
		{"log", "verify, export, check or prove the log", runLog},
		{"key", "show the public half of the ship's key", runKey},
		{"rescue", "set a new PIN for a chief engineer, on the server's own console", runRescue},
		{"backup", "write a copy of a running register", runBackup},
		{"restore", "put a copy back into an empty data folder", runRestore},
		{"tls", "make or show the ship's own certificate authority", runTLS},
		{"doctor", "look at what a register stands on: folder, clock, papers, network, certificates", doctor.Run},
		{"unit", "print units for systemd, for a register and its nightly copy", runUnit},
		{"pages", "write every screen with made-up data, to look at", runPages},
		{"version", "print the version", runVersion},
	}
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

// run looks up the command; without one, or with one that does not exist, it prints the list.
func run(args []string, out, errOut io.Writer) int {
	if len(args) == 2 && args[0] == "help" {
		args = []string{args[1], "--help"}
	}
	if len(args) > 0 {
		for _, c := range commands() {
			if c.name == args[0] {
				return c.run(args[1:], out, errOut)
			}
		}
		if args[0] == "help" || args[0] == "--help" || args[0] == "-h" {
			usage(out)
			return 0
		}
		fmt.Fprintf(errOut, "stillwatch: there is no command %q\n\n", args[0])
	}
	usage(errOut)
	return 1
}

func usage(w io.Writer) {
	fmt.Fprint(w, "Stillwatch: permits to work and energy isolation for a ship's machinery spaces.\n\nusage: stillwatch "+
		"COMMAND [options]; help COMMAND tells more\n\n")
	for _, c := range commands() {
		fmt.Fprintf(w, "  %-8s %s\n", c.name, c.does)
	}
	fmt.Fprint(w, "\nIt computes and records; it does not replace the company's safety management system, the flag "+
		"state's rules or\nlicensed practice. Where they ask for more, they hold.\n")
}
