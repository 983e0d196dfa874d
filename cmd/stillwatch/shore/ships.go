package shore

import (
	"context"
	"errors"
	"io"
	"log/slog"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/permits/shore"
)

func dbFlag(fs *pflag.FlagSet, db *string) {
	fs.StringVar(db, "db", "", "address of the PostgreSQL database: postgres://USER@HOST/NAME (best by the environment, "+
		"STILLWATCH_DB, if it has a password)")
}

// on runs a command over an open shore.
func on(db string, f func(context.Context, *shore.Shore) error) error {
	if db == "" {
		return errors.New("--db says which database")
	}
	ctx, stop := line.UntilInterrupt()
	defer stop()
	s, err := shore.Open(ctx, db, shore.Options{Logger: slog.New(slog.DiscardHandler)})
	if err != nil {
		return err
	}
	return errors.Join(f(ctx, s), s.Close())
}

func enrolCommand() *cobra.Command {
	c := &cobra.Command{Use: "enrol", Short: "Make a code by which a ship is enrolled", Args: line.None,
		Long:    "Make a code by which a ship is enrolled under a name. It is good for one ship and seven days.",
		Example: `  stillwatch shore enrol --db postgres://stillwatch@/shore --ship "North Example"`}
	var db string
	dbFlag(c.Flags(), &db)
	name := c.Flags().String("ship", "", "name of the ship")
	anew := c.Flags().Bool("anew", false, "the ship begins a new log; the one of before ends and stays as it is")
	c.RunE = func(c *cobra.Command, _ []string) error {
		return on(db, func(ctx context.Context, s *shore.Shore) error {
			code, err := s.NewCode(ctx, *name, *anew)
			if err == nil {
				c.Printf("%s\nAboard, run: stillwatch ship enrol --data DIR --shore https://HOST --code %s\n", code, code)
			}
			return err
		})
	}
	return c
}

func explainCommand() *cobra.Command {
	c := &cobra.Command{Use: "explain", Short: "Close the alarms of a ship", Args: line.None,
		Long:    "Close the alarms of a ship with what was found out. They stay in the database.",
		Example: `  stillwatch shore explain --ship "North Example" --words "an older copy was put back; the locks were looked at"`}
	var db string
	dbFlag(c.Flags(), &db)
	name := c.Flags().String("ship", "", "name of the ship")
	words := c.Flags().String("words", "", "what was found out, and by whom")
	c.RunE = func(c *cobra.Command, _ []string) error {
		return on(db, func(ctx context.Context, s *shore.Shore) error {
			n, err := s.Explain(ctx, *name, *words)
			if err == nil {
				c.Printf("Closed: %d\n", n)
			}
			return err
		})
	}
	return c
}

func exportCommand() *cobra.Command {
	c := &cobra.Command{Use: "export [FILE]", Short: "Write a ship's whole log, for an inspector", Args: line.AtMostOne,
		Long: "Write the whole log of a ship as the ship itself exports it, to the screen without FILE. Check it anywhere " +
			"with: stillwatch log check FILE --key K. It never overwrites a file.",
		Example: `  stillwatch shore export --ship "North Example" north.jsonl`}
	var db string
	dbFlag(c.Flags(), &db)
	name := c.Flags().String("ship", "", "name of the ship")
	c.RunE = func(c *cobra.Command, words []string) error {
		return on(db, func(ctx context.Context, s *shore.Shore) error {
			ship, err := s.Named(ctx, *name)
			if err != nil {
				return err
			}
			if len(words) == 0 {
				return s.Export(ctx, ship.ID, c.OutOrStdout())
			}
			err = line.WriteNew(words[0], func(w io.Writer) error { return s.Export(ctx, ship.ID, w) })
			if err == nil {
				c.Printf("Wrote %s. Its key: %s\n", words[0], ship.Key)
			}
			return err
		})
	}
	return c
}
