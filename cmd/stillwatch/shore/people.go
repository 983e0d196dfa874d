package shore

import (
	"context"

	"github.com/spf13/cobra"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/permits/shore"
)

func personCommand() *cobra.Command {
	c := &cobra.Command{Use: "person", Short: "Put somebody of the office on the books, or take them off", Args: line.None,
		Long: "Put somebody of the office on the books and print a password for them; who is there gets a new one. All " +
			"of them " +
			"read, and none changes anything. With --ship they see one ship alone, as an inspector does.",
		Example: `  stillwatch shore person --name "Port engineer"
  stillwatch shore person --name Inspector --ship "North Example"
  stillwatch shore person --name Inspector --gone`}
	var db string
	dbFlag(c.Flags(), &db)
	name := c.Flags().String("name", "", "name, as it is typed to sign in")
	ship := c.Flags().String("ship", "", "the one ship that they may see")
	gone := c.Flags().Bool("gone", false, "take them off the books: they see nothing any more")
	c.RunE = func(c *cobra.Command, _ []string) error {
		return on(db, func(ctx context.Context, s *shore.Shore) error {
			if *gone {
				return s.RemovePerson(ctx, *name)
			}
			password, err := s.AddPerson(ctx, shore.Person{Name: *name, Ship: *ship})
			if err == nil {
				c.Printf("%s\n", password)
			}
			return err
		})
	}
	return c
}
