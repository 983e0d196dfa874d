// Package ship is the command "ship": what a ship asks of the shore. Nothing comes from there unasked.
package ship

import (
	"context"
	"errors"
	"log/slog"

	"github.com/spf13/cobra"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/permits/register"
	"stillwatch/permits/shore/sender"
)

// Command is the command "ship".
func Command() *cobra.Command {
	return line.Group(&cobra.Command{Use: "ship", Short: "Ask the shore: enrol the ship's key, replace it, look at " +
		"sister ships",
		Long:    "What a ship asks of the shore. Nothing comes from there unasked.",
		Example: "  stillwatch ship enrol --data /var/lib/stillwatch --shore https://shore.example --code ABCDE-FGHIJ-KLMNO"},
		enrolCommand(), newKeyCommand(), sistersCommand(), draftCommand())
}

func shoreFlag(c *cobra.Command) *string {
	return c.Flags().String("shore", "", "address of the shore, https://HOST")
}

func enrolCommand() *cobra.Command {
	c := &cobra.Command{Use: "enrol", Short: "Have the ship's key taken ashore, by a code of the office", Args: line.None,
		Long: "Have the ship's key taken ashore, by a code that the office has made. It may be run beside the server. Then " +
			"serve with --shore.",
		Example: "  stillwatch ship enrol --data /var/lib/stillwatch --shore https://shore.example --code ABCDE-FGHIJ-KLMNO"}
	data, shore := line.Data(c), shoreFlag(c)
	code := c.Flags().String("code", "", "the code of the office")
	c.RunE = func(c *cobra.Command, _ []string) error {
		return ask(*data, *shore, func(ctx context.Context, client *sender.Client) error {
			got, err := client.Enrol(ctx, *code)
			if err == nil {
				c.Printf("Enrolled as %s. Serve with --shore %s: the log goes ashore whenever there is a link.\n", got.Ship,
					*shore)
			}
			return err
		})
	}
	return c
}

func newKeyCommand() *cobra.Command {
	c := &cobra.Command{Use: "new-key", Short: "Replace the ship's key; stop the server first", Args: line.None,
		Long: "Replace the key that signs the log's heads, as after a computer was stolen. The shore takes the new key " +
			"by an " +
			"act that both keys sign; before it has, nothing changes aboard. Stop the server first. If it breaks off, run it " +
			"again.",
		Example: "  stillwatch ship new-key --data /var/lib/stillwatch --shore https://shore.example"}
	data, shore := line.Data(c), shoreFlag(c)
	c.RunE = func(c *cobra.Command, _ []string) error {
		ctx, stop := line.UntilInterrupt()
		defer stop()
		key, err := newKey(ctx, *data, *shore)
		if err == nil {
			c.Printf("The ship's key is now %s\nGive it to whoever checks the log. The old one is in ship.key.old: destroy it "+
				"when the shore has answered once more. A witness of before knows the old key: name a new folder.\n", key)
		}
		return err
	}
	return c
}

func newKey(ctx context.Context, data, shore string) (string, error) {
	key, err := register.ReplaceKey(ctx, data, func(ctx context.Context, old register.Signer, act []byte) error {
		client, err := sender.NewClient(shore, old)
		if err != nil {
			return err
		}
		_, err = client.ReplaceKey(ctx, act)
		return err
	})
	if err != nil {
		return "", err
	}
	reg, err := register.Open(ctx, data, register.Options{Logger: slog.New(slog.DiscardHandler)}) // it opens
	if err == nil {
		err = errors.Join(err, reg.Close())
	}
	return key, err
}
