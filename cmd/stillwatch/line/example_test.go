package line_test

import (
	"errors"
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"stillwatch/cmd/stillwatch/line"
)

// A command returns an error to be told, or a status alone.
func ExampleRun() {
	root := line.Group(&cobra.Command{Use: "ship", Short: "An example"},
		&cobra.Command{Use: "sail", Args: line.None, RunE: func(*cobra.Command, []string) error {
			return errors.New("the anchor is down")
		}},
		&cobra.Command{Use: "ask", RunE: func(*cobra.Command, []string) error { return line.No }})
	fmt.Println(line.Run(root, []string{"sail"}, os.Stdout, os.Stdout))
	fmt.Println(line.Run(root, []string{"ask"}, os.Stdout, os.Stdout))
	// Output:
	// ship sail: the anchor is down
	// 1
	// 2
}
