package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/web/sample"
)

func pagesCommand() *cobra.Command {
	c := &cobra.Command{Use: "pages", Short: "Write every screen with made-up data, to look at", Args: line.None,
		Long:    "Write every screen with made-up data, by day and by night, as files to look at in a browser.",
		Example: "  stillwatch pages --out /tmp/pages"}
	dir := c.Flags().String("out", "stillwatch-pages", "folder to write into; made if it does not exist")
	c.RunE = func(c *cobra.Command, _ []string) error {
		if err := sample.Write(*dir); err != nil {
			return fmt.Errorf("write pages: %w", err)
		}
		_, err := fmt.Fprintf(c.OutOrStdout(), "every screen is in %s\n", *dir)
		return err
	}
	return c
}
