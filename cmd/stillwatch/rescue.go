package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"strings"

	"github.com/spf13/cobra"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/permits"
	"stillwatch/permits/register"
)

// rescueCommand sets a new PIN for a chief engineer who cannot get in, and prints it. The server must be stopped, since
// only one program may write; whoever can do that and open the data folder may do this.
func rescueCommand() *cobra.Command {
	c := &cobra.Command{Use: "rescue", Short: "Set a new PIN for a chief engineer, on the server's own console",
		Long: "Set a new PIN for a chief engineer who has lost theirs, and keep an entry of it. Stop the server first.",
		Args: line.None, Example: "  stillwatch rescue --data /var/lib/stillwatch --person ce"}
	data := line.Data(c)
	person := c.Flags().String("person", "", "short name of the chief engineer; may be left out if there is one only")
	c.RunE = func(c *cobra.Command, _ []string) error {
		ctx, stop := line.UntilInterrupt()
		defer stop()
		return rescue(ctx, *data, permits.PersonID(*person), c.OutOrStdout())
	}
	return c
}

func rescue(ctx context.Context, data string, id permits.PersonID, out io.Writer) error {
	if _, err := register.PublicKey(data); err != nil { // Open would make a new register in a folder that has none
		return fmt.Errorf("there is no register in %s: %w", data, err)
	}
	reg, err := register.Open(ctx, data, register.Options{Logger: slog.New(slog.DiscardHandler)})
	if err != nil {
		return err
	}
	if id == "" {
		id, err = onlyChief(reg.Ship())
	}
	var pin string
	if err == nil {
		pin, err = reg.Rescue(ctx, id)
	}
	if err = errors.Join(err, reg.Close()); err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "The new PIN of %s is %s\nStart the server, sign in with it and change it at once on the "+
		"page Your PIN.\n", id, pin)
	return err
}

// onlyChief returns the chief engineer aboard if there is one only.
func onlyChief(ship permits.Ship) (permits.PersonID, error) {
	var chiefs []string
	for id, p := range ship.People {
		if p.Has(permits.ChiefEngineer) && !p.Left {
			chiefs = append(chiefs, string(id))
		}
	}
	if len(chiefs) != 1 {
		return "", fmt.Errorf("say which chief engineer with --person: %s", strings.Join(chiefs, ", "))
	}
	return permits.PersonID(chiefs[0]), nil
}
