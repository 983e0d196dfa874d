package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/permits/register"
)

// keyCommand shows the public half of the ship's key, by which anybody can check heads, logs and proofs.
func keyCommand() *cobra.Command {
	c := &cobra.Command{Use: "key", Short: "Show the public half of the ship's key", Args: line.None,
		Long:    "Show the public half of the ship's key: give it to whoever is to check the log one day.",
		Example: "  stillwatch key --data /var/lib/stillwatch > ship.key"}
	data := line.Data(c)
	c.RunE = func(c *cobra.Command, _ []string) error {
		key, err := register.PublicKey(*data)
		if err == nil {
			_, err = fmt.Fprintln(c.OutOrStdout(), key)
		}
		return err
	}
	return c
}
