package ship

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/permits/register"
	"stillwatch/permits/shore/sender"
)

// ask has something asked of the shore in the name of the ship of a data folder, until somebody stops it.
func ask(data, shore string, what func(context.Context, *sender.Client) error) error {
	ctx, stop := line.UntilInterrupt()
	defer stop()
	k, err := register.SignerOf(data)
	if err != nil {
		return err
	}
	client, err := sender.NewClient(shore, k)
	if err != nil {
		return err
	}
	return what(ctx, client)
}

func sistersCommand() *cobra.Command {
	c := &cobra.Command{Use: "sisters", Short: "Name the other ships, or compare plant files and rules with one of them",
		Args: line.None,
		Long: "Name the other ships that send to the shore; with a name, say what that ship has in force that is not the " +
			"same.",
		Example: `  stillwatch ship sisters --data /var/lib/stillwatch --shore https://shore.example
  stillwatch ship sisters --data /var/lib/stillwatch --shore https://shore.example --with "North Example"`}
	data, shore := line.Data(c), shoreFlag(c)
	with := c.Flags().String("with", "", "name of the ship to compare with")
	c.RunE = func(c *cobra.Command, _ []string) error {
		return ask(*data, *shore, func(ctx context.Context, client *sender.Client) error {
			lines, err := client.Sisters(ctx, *with)
			for _, l := range lines {
				c.Println(l)
			}
			return err
		})
	}
	return c
}

func draftCommand() *cobra.Command {
	c := &cobra.Command{Use: "draft FILE", Short: "Write a draft of the plant file with a job of a sister ship",
		Args: line.One("the file to write"),
		Long: "Write a draft: the ship's own plant file with one more job, which another ship has. It is not in force. " +
			"Walk the " +
			"lines, compare each point, then propose it on the page Plant and rules. It never overwrites a file.",
		Example: `  stillwatch ship draft draft.yaml --shore https://shore.example --from "North Example" --job S1-bowl`}
	data, shore := line.Data(c), shoreFlag(c)
	from := c.Flags().String("from", "", "name of the ship that has the job")
	job := c.Flags().String("job", "", "the job, by its id")
	c.RunE = func(c *cobra.Command, words []string) error {
		return ask(*data, *shore, func(ctx context.Context, client *sender.Client) error {
			text, err := client.Draft(ctx, *from, *job)
			if err != nil {
				return err
			}
			if err := line.WriteNewBytes(words[0], text); err != nil {
				return fmt.Errorf("write the draft: %w", err)
			}
			c.Printf("Wrote %s. It is not in force: walk the lines, then propose it on the page Plant and rules.\n", words[0])
			return nil
		})
	}
	return c
}
