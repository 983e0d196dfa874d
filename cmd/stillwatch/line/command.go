package line

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// DataFolder is where the register lies if nobody says otherwise; serve has the same.
const DataFolder = "stillwatch-data"

// Status is the error of a command that has told everything already: it carries the exit status alone.
type Status int

// Error says no more than the status.
func (s Status) Error() string { return fmt.Sprintf("exit status %d", int(s)) }

// The exit statuses beside 0: a mistake told on the error output, and an honest no (a plan that cannot be, a gate that
// stays shut).
const (
	Mistake Status = 1
	No      Status = 2
)

// Run runs the command that args name below root, and returns the exit status. An error is told in one line that
// begins with the command's own words.
func Run(root *cobra.Command, args []string, out, errOut io.Writer) int {
	root.SetArgs(args)
	root.SetOut(out)
	root.SetErr(errOut)
	root.SilenceErrors, root.SilenceUsage = true, true
	root.SetFlagErrorFunc(flagError)
	root.PersistentPreRunE = fromEnvironment
	ran, err := root.ExecuteC()
	if err == nil {
		return 0
	}
	if status, told := errors.AsType[Status](err); told {
		return int(status)
	}
	fmt.Fprintf(errOut, "%s: %v\n", ran.CommandPath(), err)
	return int(Mistake)
}

// fromEnvironment takes STILLWATCH_NAME for each flag --name that the line does not give.
func fromEnvironment(c *cobra.Command, _ []string) error {
	var wrong error
	c.Flags().VisitAll(func(f *pflag.Flag) {
		name := "STILLWATCH_" + strings.ToUpper(strings.ReplaceAll(f.Name, "-", "_"))
		if v, ok := os.LookupEnv(name); ok && !f.Changed && f.Name != "help" {
			if err := c.Flags().Set(f.Name, v); err != nil && wrong == nil {
				wrong = fmt.Errorf("%s: %w", name, flagError(c, err))
			}
		}
	})
	return wrong
}

// flagError says what is wrong with a flag in our words.
func flagError(_ *cobra.Command, err error) error {
	if e, ok := errors.AsType[*pflag.NotExistError](err); ok {
		if short := e.GetSpecifiedShortnames(); short != "" {
			return fmt.Errorf("there is no flag -%s; long names take two dashes, --help lists them", short)
		}
		return fmt.Errorf("there is no flag --%s here; --help lists them", e.GetSpecifiedName())
	}
	if e, ok := errors.AsType[*pflag.ValueRequiredError](err); ok {
		return fmt.Errorf("--%s needs a value", e.GetSpecifiedName())
	}
	if e, ok := errors.AsType[*pflag.InvalidValueError](err); ok {
		return fmt.Errorf("--%s: %w", e.GetFlag().Name, e.Unwrap())
	}
	return err
}

// None refuses words that are no flags.
func None(_ *cobra.Command, words []string) error { return atMost(0, words) }

// AtMostOne allows one word.
func AtMostOne(_ *cobra.Command, words []string) error { return atMost(1, words) }

// One asks for one word, and says what it names.
func One(what string) cobra.PositionalArgs {
	return func(_ *cobra.Command, words []string) error {
		if len(words) == 0 {
			return fmt.Errorf("name %s; --help tells more", what)
		}
		return atMost(1, words)
	}
}

func atMost(n int, words []string) error {
	if len(words) > n {
		return fmt.Errorf("%q is not understood here; --help tells more", words[n])
	}
	return nil
}

// Group makes a command of which one of its own commands must be named.
func Group(c *cobra.Command, of ...*cobra.Command) *cobra.Command {
	c.AddCommand(of...)
	c.Args, c.SuggestionsMinimumDistance = cobra.ArbitraryArgs, 2
	c.FParseErrWhitelist.UnknownFlags = true // they belong to the command that is not there: tell that
	c.RunE = func(c *cobra.Command, words []string) error {
		c.SetOut(c.ErrOrStderr())
		if len(words) > 0 {
			c.PrintErrf("%s: there is no command %q\n", c.CommandPath(), words[0])
			if near := c.SuggestionsFor(words[0]); len(near) > 0 {
				c.PrintErrf("Did you mean %s?\n", strings.Join(near, " or "))
			}
			c.PrintErrln()
		}
		return errors.Join(c.Usage(), Mistake)
	}
	return c
}

// Data adds the flag that says where the register lies.
func Data(c *cobra.Command) *string {
	data := c.Flags().String("data", DataFolder, "folder that holds the register")
	_ = c.MarkFlagDirname("data") // only for the shell's completion
	return data
}

// UntilInterrupt returns a context that ends when somebody stops the command.
func UntilInterrupt() (context.Context, context.CancelFunc) {
	return signal.NotifyContext(context.Background(), os.Interrupt)
}

// UntilStopped is UntilInterrupt for what serves: the signal by which systemd stops a service ends it too.
func UntilStopped() (context.Context, context.CancelFunc) {
	return signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
}

// WriteNew has write fill a file that must not be there yet, and sees it on the disk: nothing that is in use is ever
// overwritten. An error of any of the steps is returned.
func WriteNew(path string, write func(io.Writer) error) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	if err = write(f); err == nil {
		err = f.Sync()
	}
	return errors.Join(err, f.Close())
}

// WriteNewBytes is WriteNew for what is made already.
func WriteNewBytes(path string, data []byte) error {
	return WriteNew(path, func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	})
}

// AuthorityFolder is where the ship's own authority lives, inside the data folder.
func AuthorityFolder(data string) string { return filepath.Join(data, "tls") }
