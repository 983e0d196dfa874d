package main

import (
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/permits/register"
)

// backupCommand writes a copy of a register, also while it is served.
func backupCommand() *cobra.Command {
	c := &cobra.Command{Use: "backup FILE", Short: "Write a copy of a running register",
		Args: line.One("the file to write"),
		Long: "Write a copy of a running register into FILE, and its keys into FILE.keys; the copy is verified before it " +
			"counts.",
		Example: "  stillwatch backup --data /var/lib/stillwatch /media/disk/ship.db"}
	data := line.Data(c)
	c.RunE = func(c *cobra.Command, words []string) error {
		ctx, stop := line.UntilInterrupt()
		defer stop()
		report, err := register.Backup(ctx, *data, words[0], time.Now())
		if err != nil {
			return err
		}
		c.Printf("Wrote %s: %d entries, head %s. The copy is whole.\n", words[0], report.Entries, report.Head.Short)
		c.Printf("Wrote %s.keys: with it anybody can sign as the ship. Keep it apart from the copy, and locked away.\n",
			words[0])
		return nil
	}
	return c
}

// restoreCommand puts a copy back.
func restoreCommand() *cobra.Command {
	c := &cobra.Command{Use: "restore FILE", Short: "Put a copy back into an empty data folder",
		Long: "Put a copy that backup wrote, with its FILE.keys, back into an empty data folder.",
		Args: line.One("the copy"), Example: "  stillwatch restore --data /var/lib/stillwatch /media/disk/ship.db"}
	data := line.Data(c)
	c.RunE = func(c *cobra.Command, words []string) error {
		ctx, stop := line.UntilInterrupt()
		defer stop()
		report, err := register.Restore(ctx, words[0], *data)
		if err != nil {
			return err
		}
		c.Printf("Restored %s into %s: %d entries, head %s.\n", words[0], filepath.Clean(*data), report.Entries,
			report.Head.Short)
		c.Println("What was recorded after that copy is not in it: look at every lock on board before anybody relies on " +
			"the board.")
		return nil
	}
	return c
}
