package line

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"strings"
)

// NewFlags makes the flag set of a command, whose help begins with the sentence about.
func NewFlags(name, about string, errOut io.Writer) *flag.FlagSet {
	fs := flag.NewFlagSet("stillwatch "+name, flag.ContinueOnError)
	fs.SetOutput(errOut)
	fs.Usage = func() {
		fmt.Fprintf(errOut, "%s\n\n", about)
		fs.PrintDefaults()
	}
	return fs
}

// Parse reads the flags, taking STILLWATCH_NAME from the environment for a flag that the line does not give. done is
// true when the command has nothing left to do: help was shown, or a mistake was told; status is then its exit status.
func Parse(fs *flag.FlagSet, args []string, errOut io.Writer) (status int, done bool) {
	var wrong error
	fs.VisitAll(func(f *flag.Flag) {
		if v, ok := os.LookupEnv(environmentName(f.Name)); ok {
			if err := f.Value.Set(v); err != nil && wrong == nil {
				wrong = fmt.Errorf("%s=%q: %w", environmentName(f.Name), v, err)
			}
		}
	})
	if wrong != nil {
		fmt.Fprintf(errOut, "stillwatch: %v\n", wrong)
		return 1, true
	}
	switch err := fs.Parse(args); {
	case errors.Is(err, flag.ErrHelp):
		return 0, true
	case err != nil:
		return 1, true
	}
	if fs.NArg() > 0 {
		fmt.Fprintf(errOut, "stillwatch: %q is not understood here\n", fs.Arg(0))
		return 1, true
	}
	return 0, false
}

func environmentName(flagName string) string {
	return "STILLWATCH_" + strings.ToUpper(strings.ReplaceAll(flagName, "-", "_"))
}
