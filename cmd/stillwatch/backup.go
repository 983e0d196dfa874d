package main

import (
	"fmt"
	"io"
	"path/filepath"
	"time"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/permits/register"
)

// runBackup writes a copy of a register, also while it is served.
func runBackup(args []string, out, errOut io.Writer) int {
	fs := line.NewFlags("backup", "Write a copy of a running register into FILE, and its keys into FILE.keys; the copy "+
		"is "+
		"verified before it counts.", errOut)
	data := fs.String("data", line.DataFolder, "folder that holds the register")
	words, status, done := line.ParseWords(fs, args, 1, errOut)
	if done {
		return status
	}
	if len(words) == 0 {
		fmt.Fprint(errOut, "stillwatch: backup needs the name of the file to write\n")
		return 1
	}
	ctx, stop := line.UntilInterrupt()
	defer stop()
	report, err := register.Backup(ctx, *data, words[0], time.Now())
	if err != nil {
		return line.Told(errOut, err)
	}
	fmt.Fprintf(out, "Wrote %s: %d entries, head %s. The copy is whole.\n", words[0], report.Entries, report.Head.Short)
	fmt.Fprintf(out, "Wrote %s.keys: with it anybody can sign as the ship. Keep it apart from the copy, and locked "+
		"away.\n", words[0])
	return 0
}

// runRestore puts a copy back.
func runRestore(args []string, out, errOut io.Writer) int {
	fs := line.NewFlags("restore", "Put a copy that backup wrote, with its FILE.keys, back into an empty data folder.",
		errOut)
	data := fs.String("data", line.DataFolder, "folder to put it into; made if it does not exist")
	words, status, done := line.ParseWords(fs, args, 1, errOut)
	if done {
		return status
	}
	if len(words) == 0 {
		fmt.Fprint(errOut, "stillwatch: restore needs the name of the copy\n")
		return 1
	}
	ctx, stop := line.UntilInterrupt()
	defer stop()
	report, err := register.Restore(ctx, words[0], *data)
	if err != nil {
		return line.Told(errOut, err)
	}
	fmt.Fprintf(out, "Restored %s into %s: %d entries, head %s.\n", words[0], filepath.Clean(*data), report.Entries,
		report.Head.Short)
	fmt.Fprintln(out, "What was recorded after that copy is not in it: look at every lock on board before anybody "+
		"relies on the board.")
	return 0
}
