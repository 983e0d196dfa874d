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

	"github.com/spf13/cobra"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/permits/register"
)

// logCommand verifies, exports, checks and proves the log.
func logCommand() *cobra.Command {
	return line.Group(&cobra.Command{Use: "log", Short: "Verify, export, check or prove the log",
		Long: "Verify, export, check or prove the log. Exit status 1: something is wrong.",
		Example: `  stillwatch log verify --data /var/lib/stillwatch
  stillwatch log export --data /var/lib/stillwatch log.jsonl
  stillwatch log check log.jsonl --key ship.key`}, logVerify(), logExport(), logCheck(), logProve(), logRebuild())
}

func logVerify() *cobra.Command {
	c := &cobra.Command{Use: "verify", Short: "Look at everything: tree, head, gates, tables", Args: line.None,
		Long:    "Recompute the tree, ask every gate again, compare the tables. Exit status 1 if anything is wrong.",
		Example: "  stillwatch log verify --data /var/lib/stillwatch --witness /media/disk/heads"}
	data := line.Data(c)
	witness := c.Flags().String("witness", "", "folder in which the newest head is kept, to hold the log against it too")
	c.RunE = func(c *cobra.Command, _ []string) error {
		ctx, stop := line.UntilInterrupt()
		defer stop()
		report, err := register.Verify(ctx, *data)
		if err != nil {
			return err
		}
		told := "the log in " + filepath.Clean(*data)
		if *witness != "" {
			against, err := register.Witnessed(ctx, *data, *witness)
			if err != nil {
				return err
			}
			if against != nil {
				c.PrintErrln(against.Words)
				return errors.Join(tellReport(c, report, told), line.Mistake)
			}
		}
		return tellReport(c, report, told)
	}
	return c
}

// tellReport prints what an audit found: every fault by its entry, then what was looked at. It returns line.Mistake for
// a log that is not as it was written.
func tellReport(c *cobra.Command, r register.Report, what string) error {
	for _, f := range r.Faults {
		c.PrintErrln(f)
	}
	if r.More > 0 {
		c.PrintErrf("and %d more\n", r.More)
	}
	if !r.OK() {
		c.Printf("%s is NOT as it was written: %d faults.\n", what, len(r.Faults)+r.More)
		return line.Mistake
	}
	c.Printf("%s is whole: %d entries, %d permits.\n", what, r.Entries, r.Permits)
	if r.Entries > 0 {
		c.Printf("Head %d, %s\n%s\n", r.Head.Size, r.Head.Short, r.Head.Hash)
	}
	return nil
}

func logRebuild() *cobra.Command {
	c := &cobra.Command{Use: "rebuild", Short: "Make the tables anew from the log; stop the server first", Args: line.None,
		Long: "Make the tables anew that are made from the log: lists, indexes, the state of permits. Stop the server " +
			"first. Codes of tags and PINs that were lost stay lost: print the tags of a new permit, and set a new PIN.",
		Example: "  stillwatch log rebuild --data /var/lib/stillwatch"}
	data := line.Data(c)
	c.RunE = func(c *cobra.Command, _ []string) error {
		ctx, stop := line.UntilInterrupt()
		defer stop()
		before, after, err := register.Rebuild(ctx, *data)
		if err != nil {
			return err
		}
		if before.OK() {
			c.Println("The tables say what the log says: there was nothing to mend.")
			return nil
		}
		for _, f := range before.Faults {
			c.Printf("before: %s\n", f)
		}
		c.Println("The tables were made anew.")
		return tellReport(c, after, "the log in "+filepath.Clean(*data))
	}
	return c
}

func logExport() *cobra.Command {
	c := &cobra.Command{Use: "export [FILE]", Short: "Write the log as lines of JSON (to the screen without FILE)",
		Long: "Write the log as lines of JSON, the signed head first. It never overwrites a file.", Args: line.AtMostOne,
		Example: "  stillwatch log export --data /var/lib/stillwatch log.jsonl"}
	data := line.Data(c)
	c.RunE = func(c *cobra.Command, words []string) error {
		ctx, stop := line.UntilInterrupt()
		defer stop()
		if len(words) == 0 {
			return register.Export(ctx, *data, c.OutOrStdout())
		}
		export := func(w io.Writer) error { return register.Export(ctx, *data, w) }
		if err := line.WriteNew(words[0], export); err != nil {
			return fmt.Errorf("export the log: %w", err)
		}
		c.Printf("Wrote %s. Check it anywhere with: stillwatch log check %s --key K\n", words[0], words[0])
		return nil
	}
	return c
}

func logCheck() *cobra.Command {
	c := &cobra.Command{Use: "check FILE", Short: "Look at an exported log or proof, on any machine",
		Long: "Look at an exported log or proof, without the ship's database. Exit status 1 if anything is wrong.",
		Args: line.One("the exported log or proof"), Example: "  stillwatch log check log.jsonl --key ship.key"}
	key := c.Flags().String("key", "", `the ship's public key as "stillwatch key" shows it, or a file that holds it`)
	c.RunE = func(c *cobra.Command, words []string) error {
		if *key == "" {
			return errors.New("the ship's key is needed: --key K")
		}
		if text, err := os.ReadFile(*key); err == nil {
			*key = strings.TrimSpace(string(text))
		}
		f, err := os.Open(words[0])
		if err != nil {
			return err
		}
		defer f.Close() // read only
		in := bufio.NewReader(f)
		if top, _ := in.Peek(len(proofStart)); string(top) == proofStart {
			return checkProof(c, in, *key)
		}
		ctx, stop := line.UntilInterrupt()
		defer stop()
		report, err := register.Check(ctx, in, *key)
		if err != nil {
			return fmt.Errorf("check %s: %w", words[0], err)
		}
		return tellReport(c, report, words[0])
	}
	return c
}

// proofStart is how a proof begins, unlike an exported log.
const proofStart = `{"stillwatch_proof"`

// longestProof bounds a proof: an entry holds a plant file at most.
const longestProof = 64 << 20

func checkProof(c *cobra.Command, in io.Reader, key string) error {
	text, err := io.ReadAll(io.LimitReader(in, longestProof))
	if err != nil {
		return err
	}
	p, err := register.ParseProof(text)
	if err != nil {
		return err
	}
	words, err := p.Check(key)
	if err != nil {
		return fmt.Errorf("the proof does not hold: %w", err)
	}
	c.Printf("Proved: %s.\n", words)
	return nil
}

func logProve() *cobra.Command {
	c := &cobra.Command{Use: "prove [N]", Short: "Prove that entry N is in the log, or that the log has only grown",
		Long: "Write a proof that an entry is in the log, or that the log has only grown, as one line of JSON.",
		Args: line.AtMostOne,
		Example: `  stillwatch log prove 1204 --data /var/lib/stillwatch
  stillwatch log prove --since 1000 --data /var/lib/stillwatch`}
	data := line.Data(c)
	since := c.Flags().Int64("since", -1, "prove that the log has only grown since it had so many entries")
	c.RunE = func(c *cobra.Command, words []string) error {
		if (len(words) == 1) == (*since >= 0) {
			return errors.New("log prove needs either the number of an entry or --since SIZE")
		}
		ctx, stop := line.UntilInterrupt()
		defer stop()
		p, err := makeProof(ctx, *data, words, *since)
		if err != nil {
			return err
		}
		text, err := json.Marshal(p)
		if err == nil {
			c.Printf("%s\n", text)
		}
		return err
	}
	return c
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
