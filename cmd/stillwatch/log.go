package main

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/permits/register"
)

const logUsage = `usage: stillwatch log verify --data DIR          look at everything: tree, head, gates, tables
       stillwatch log export --data DIR [FILE]    write the log as lines of JSON (to the screen without FILE)
       stillwatch log check FILE --key K          look at an exported log or proof, on any machine
       stillwatch log prove N --data DIR          prove that entry N is in the log
       stillwatch log rebuild --data DIR         make the tables anew from the log; stop the server first
       stillwatch log prove --since SIZE --data DIR   prove that the log has only grown since it had SIZE entries

K is what "stillwatch key" shows, or a file that holds it. Exit status 1: something is wrong.
`

// runLog looks up what is to be done with the log.
func runLog(args []string, out, errOut io.Writer) int {
	does := map[string]func([]string, io.Writer, io.Writer) int{
		"verify": runLogVerify, "export": runLogExport, "check": runLogCheck, "prove": runLogProve,
		"rebuild": runLogRebuild,
	}
	if len(args) > 0 {
		if run, ok := does[args[0]]; ok {
			return run(args[1:], out, errOut)
		}
		if args[0] == "help" || args[0] == "--help" || args[0] == "-h" {
			fmt.Fprint(out, logUsage)
			return 0
		}
	}
	fmt.Fprint(errOut, logUsage)
	return 1
}

func runLogVerify(args []string, out, errOut io.Writer) int {
	fs := line.NewFlags("log verify", "Recompute the tree, ask every gate again, compare the tables. Exit status 1 if "+
		"anything is wrong.", errOut)
	data := fs.String("data", line.DataFolder, "folder that holds the register")
	witness := fs.String("witness", "", "folder in which the newest head is kept, to hold the log against it too")
	if _, status, done := line.ParseWords(fs, args, 0, errOut); done {
		return status
	}
	ctx, stop := line.UntilInterrupt()
	defer stop()
	report, err := register.Verify(ctx, *data)
	if err != nil {
		return line.Told(errOut, err)
	}
	if *witness != "" {
		c, err := register.Witnessed(ctx, *data, *witness)
		if err != nil {
			return line.Told(errOut, err)
		}
		if c != nil {
			fmt.Fprintln(errOut, c.Words)
			return max(1, tellReport(report, "the log in "+filepath.Clean(*data), out, errOut))
		}
	}
	return tellReport(report, "the log in "+filepath.Clean(*data), out, errOut)
}

// tellReport prints what an audit found: every fault by its entry, then what was looked at.
func tellReport(r register.Report, what string, out, errOut io.Writer) int {
	for _, f := range r.Faults {
		fmt.Fprintln(errOut, f)
	}
	if r.More > 0 {
		fmt.Fprintf(errOut, "and %d more\n", r.More)
	}
	if !r.OK() {
		fmt.Fprintf(out, "%s is NOT as it was written: %d faults.\n", what, len(r.Faults)+r.More)
		return 1
	}
	fmt.Fprintf(out, "%s is whole: %d entries, %d permits.\n", what, r.Entries, r.Permits)
	if r.Entries > 0 {
		fmt.Fprintf(out, "Head %d, %s\n%s\n", r.Head.Size, r.Head.Short, r.Head.Hash)
	}
	return 0
}

func runLogRebuild(args []string, out, errOut io.Writer) int {
	fs := line.NewFlags("log rebuild", "Make the tables anew that are made from the log: lists, indexes, the state of "+
		"permits. "+
		"Stop the server first. Codes of tags and PINs that were lost stay lost: print the tags of a new permit, and set a "+
		"new PIN.", errOut)
	data := fs.String("data", line.DataFolder, "folder that holds the register")
	if _, status, done := line.ParseWords(fs, args, 0, errOut); done {
		return status
	}
	ctx, stop := line.UntilInterrupt()
	defer stop()
	before, after, err := register.Rebuild(ctx, *data)
	if err != nil {
		return line.Told(errOut, err)
	}
	if before.OK() {
		fmt.Fprintln(out, "The tables say what the log says: there was nothing to mend.")
		return 0
	}
	for _, f := range before.Faults {
		fmt.Fprintf(out, "before: %s\n", f)
	}
	fmt.Fprintln(out, "The tables were made anew.")
	return tellReport(after, "the log in "+filepath.Clean(*data), out, errOut)
}

func runLogExport(args []string, out, errOut io.Writer) int {
	fs := line.NewFlags("log export", "Write the log as lines of JSON, the signed head first. It never overwrites a file.",
		errOut)
	data := fs.String("data", line.DataFolder, "folder that holds the register")
	words, status, done := line.ParseWords(fs, args, 1, errOut)
	if done {
		return status
	}
	ctx, stop := line.UntilInterrupt()
	defer stop()
	if len(words) == 0 {
		if err := register.Export(ctx, *data, out); err != nil {
			return line.Told(errOut, err)
		}
		return 0
	}
	if err := exportTo(ctx, *data, words[0]); err != nil {
		return line.Told(errOut, err)
	}
	fmt.Fprintf(out, "Wrote %s. Check it anywhere with: stillwatch log check %s --key K\n", words[0], words[0])
	return 0
}

func exportTo(ctx context.Context, data, file string) error {
	f, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return fmt.Errorf("export the log: %w", err)
	}
	err = register.Export(ctx, data, f)
	if err == nil {
		err = f.Sync()
	}
	return errors.Join(err, f.Close())
}

func runLogCheck(args []string, out, errOut io.Writer) int {
	fs := line.NewFlags("log check", "Look at an exported log or proof, without the ship's database. Exit status 1 if "+
		"anything is wrong.", errOut)
	key := fs.String("key", "", `the ship's public key as "stillwatch key" shows it, or a file that holds it`)
	words, status, done := line.ParseWords(fs, args, 1, errOut)
	if done {
		return status
	}
	if len(words) == 0 || *key == "" {
		fmt.Fprint(errOut, "stillwatch: log check needs a file and --key\n")
		return 1
	}
	if text, err := os.ReadFile(*key); err == nil {
		*key = strings.TrimSpace(string(text))
	}
	f, err := os.Open(words[0])
	if err != nil {
		return line.Told(errOut, err)
	}
	defer f.Close() // read only
	in := bufio.NewReader(f)
	if top, _ := in.Peek(len(proofStart)); string(top) == proofStart {
		return checkProof(in, *key, out, errOut)
	}
	ctx, stop := line.UntilInterrupt()
	defer stop()
	report, err := register.Check(ctx, in, *key)
	if err != nil {
		return line.Told(errOut, fmt.Errorf("check %s: %w", words[0], err))
	}
	return tellReport(report, words[0], out, errOut)
}

// proofStart is how a proof begins, unlike an exported log.
const proofStart = `{"stillwatch_proof"`

// longestProof bounds a proof: an entry holds a plant file at most.
const longestProof = 64 << 20

func checkProof(in io.Reader, key string, out, errOut io.Writer) int {
	text, err := io.ReadAll(io.LimitReader(in, longestProof))
	if err != nil {
		return line.Told(errOut, err)
	}
	p, err := register.ParseProof(text)
	if err != nil {
		return line.Told(errOut, err)
	}
	words, err := p.Check(key)
	if err != nil {
		return line.Told(errOut, fmt.Errorf("the proof does not hold: %w", err))
	}
	fmt.Fprintf(out, "Proved: %s.\n", words)
	return 0
}

func runLogProve(args []string, out, errOut io.Writer) int {
	fs := line.NewFlags("log prove", "Write a proof that an entry is in the log, or that the log has only grown, as "+
		"one line "+
		"of JSON.", errOut)
	data := fs.String("data", line.DataFolder, "folder that holds the register")
	since := fs.Int64("since", -1, "prove that the log has only grown since it had so many entries")
	words, status, done := line.ParseWords(fs, args, 1, errOut)
	if done {
		return status
	}
	if (len(words) == 1) == (*since >= 0) {
		fmt.Fprint(errOut, "stillwatch: log prove needs either the number of an entry or --since SIZE\n")
		return 1
	}
	ctx, stop := line.UntilInterrupt()
	defer stop()
	p, err := makeProof(ctx, *data, words, *since)
	if err != nil {
		return line.Told(errOut, err)
	}
	text, err := json.Marshal(p)
	if err != nil {
		return line.Told(errOut, err)
	}
	fmt.Fprintf(out, "%s\n", text)
	return 0
}

func makeProof(ctx context.Context, data string, words []string, since int64) (register.Proof, error) {
	if since >= 0 {
		return register.ProveSince(ctx, data, since)
	}
	n, err := strconv.ParseInt(words[0], 10, 64)
	if err != nil || n < 0 {
		return register.Proof{}, fmt.Errorf("%q is not the number of an entry", words[0])
	}
	return register.ProveEntry(ctx, data, n)
}
