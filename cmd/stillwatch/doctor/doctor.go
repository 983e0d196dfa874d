package doctor

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net"
	"time"

	"github.com/spf13/cobra"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/permits/paper"
)

// grade is how a check came out.
type grade uint8

const (
	gradeOK    grade = iota
	gradeLook        // works, but somebody should look
	gradeWrong       // will not work, or is not safe
)

func (g grade) String() string { return [...]string{"ok", "look", "wrong"}[g] }

// finding is the outcome of one check: what it looked at, what it saw, what is to be done.
type finding struct {
	grade       grade
	what, words string
	do          string // "" where nothing is to be done
}

// doctor looks at what a register needs, and changes nothing: it reads the log as "log verify" does, never takes the
// folder's lock, and leaves no file.
type doctor struct {
	data    string // data folder
	url     string // address on the tags; "" if not given
	backups string // where copies are kept; "" if not given
	witness string // where the newest head is kept; "" if not given
	now     time.Time
	made    time.Time // when the program was made; zero if not known
	found   []finding

	verifyUpTo int64 // longest log that is verified whole
	lookup     func(ctx context.Context, host string) ([]string, error)
	own        func() ([]net.Addr, error) // this machine's addresses
}

// Command returns the command "doctor".
func Command() *cobra.Command {
	d := doctor{now: time.Now(), made: madeAt(), verifyUpTo: longestVerified, lookup: net.DefaultResolver.LookupHost,
		own: net.InterfaceAddrs}
	c := &cobra.Command{Use: "doctor",
		Short: "Look at what a register stands on: folder, clock, papers, network, certificates",
		Long: `Look at everything that the register needs: data folder, keys, clock, log, certificates, address, papers, copies.
One line a check: ok, look (works, but see to it) or wrong. Exit status 1 if anything is wrong. It changes nothing and
may be run beside a server.`,
		Args: line.None, Example: "  stillwatch doctor --data /var/lib/stillwatch --url http://10.0.0.5:8080"}
	data := line.Data(c)
	fs := c.Flags()
	fs.StringVar(&d.url, "url", "", "address that tags carry, as it is given to serve")
	fs.StringVar(&d.witness, "witness", "", "folder in which serve keeps the newest head of the log")
	fs.StringVar(&d.backups, "backups", "", "folder in which copies are kept (the one above the data folder if empty)")
	c.RunE = func(c *cobra.Command, _ []string) error {
		d.data = *data
		ctx, stop := line.UntilInterrupt()
		defer stop()
		d.examine(ctx)
		return d.tell(c.OutOrStdout())
	}
	return c
}

// examine runs every check in turn.
func (d *doctor) examine(ctx context.Context) {
	if d.lookAtFolder() {
		d.lookAtSpace()
		d.lookAtKeys()
		d.lookAtLog(ctx)
		d.lookAtWitness(ctx)
		d.lookAtShore()
		d.lookAtCertificates()
	}
	d.lookAtClock()
	d.lookAtAddress(ctx)
	d.lookAtPaper()
	d.lookAtCopies()
}

func (d *doctor) say(g grade, what, do, words string, args ...any) {
	d.found = append(d.found, finding{g, what, fmt.Sprintf(words, args...), do})
}

// tell prints one line a check. It returns line.Mistake if anything is wrong.
func (d *doctor) tell(out io.Writer) error {
	count := map[grade]int{}
	for _, f := range d.found {
		count[f.grade]++
		fmt.Fprintf(out, "%-5s  %-12s %s", f.grade, f.what, f.words)
		if f.do != "" {
			fmt.Fprintf(out, " Do: %s", f.do)
		}
		fmt.Fprintln(out)
	}
	fmt.Fprintf(out, "%d ok, %d to look at, %d wrong.\n", count[gradeOK], count[gradeLook], count[gradeWrong])
	if count[gradeWrong] > 0 {
		return line.Mistake
	}
	return nil
}

// lookAtPaper prints a label in memory: fonts, codes and the PDF itself.
func (d *doctor) lookAtPaper() {
	const what = "paper"
	var b bytes.Buffer
	err := paper.WritePointLabels(&b,
		paper.PointLabelSheet{Stamp: paper.Stamp{Ship: "Trial", PrintedAt: d.now, PrintedBy: "doctor"},
			Labels: []paper.PointLabel{{Point: "TRIAL-V1", Name: "Trial valve", Kind: "valve", URL: "HTTP://TRIAL/P/0123456789",
				Code: "0123456789"}}})
	switch {
	case err != nil:
		d.say(gradeWrong, what, "Use the program as it was delivered; this one cannot print.",
			"a label cannot be printed: %v.", err)
	case !bytes.HasPrefix(b.Bytes(), []byte("%PDF-")):
		d.say(gradeWrong, what, "Use the program as it was delivered; this one cannot print.", "what is printed is no PDF.")
	default:
		d.say(gradeOK, what, "", "a label was printed in memory, %d KiB of PDF.", (b.Len()+1023)/1024)
	}
}
