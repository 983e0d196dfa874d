package main

import (
	"github.com/spf13/cobra"

	"stillwatch/cmd/stillwatch/line"
)

func versionCommand() *cobra.Command {
	return &cobra.Command{Use: "version", Short: "Print the version", Example: "  stillwatch version", Args: line.None,
		Run: func(c *cobra.Command, _ []string) { c.Println("stillwatch", line.Version()) }}
}
