package line

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
)

// DataFolder is where the register lies if nobody says otherwise; serve has the same.
const DataFolder = "stillwatch-data"

// ParseWords reads flags and up to most words, in any order. done and status are as parse gives them.
func ParseWords(fs *flag.FlagSet, args []string, most int, errOut io.Writer) (words []string, status int, done bool) {
	if status, done := Parse(fs, nil, errOut); done { // the environment
		return nil, status, true
	}
	for rest := args; ; {
		switch err := fs.Parse(rest); {
		case errors.Is(err, flag.ErrHelp):
			return nil, 0, true
		case err != nil:
			return nil, 1, true
		}
		if fs.NArg() == 0 {
			return words, 0, false
		}
		if len(words) == most {
			fmt.Fprintf(errOut, "stillwatch: %q is not understood here\n", fs.Arg(0))
			return nil, 1, true
		}
		words, rest = append(words, fs.Arg(0)), fs.Args()[1:]
	}
}

// Told prints an error and returns the exit status for it.
func Told(errOut io.Writer, err error) int {
	fmt.Fprintf(errOut, "stillwatch: %v\n", err)
	return 1
}

// UntilInterrupt returns a context that ends when somebody stops the command.
func UntilInterrupt() (context.Context, context.CancelFunc) {
	return signal.NotifyContext(context.Background(), os.Interrupt)
}

// AuthorityFolder is where the ship's own authority lives, inside the data folder.
func AuthorityFolder(data string) string { return filepath.Join(data, "tls") }
