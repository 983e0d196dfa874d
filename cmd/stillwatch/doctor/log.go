package doctor

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime/debug"
	"strconv"
	"strings"
	"time"

	"stillwatch/permits"
	"stillwatch/permits/register"
)

// longestVerified is the longest log that the doctor verifies whole; a longer one takes its own command.
const longestVerified = 50_000

// lookAtLog looks whether the register can be read, how large it is, whether it is as it was written, and whether the
// clock stands behind its last entry. All of it reads alone.
func (d *doctor) lookAtLog(ctx context.Context) {
	const what = "register"
	if _, err := os.Stat(filepath.Join(d.data, registerFile)); errors.Is(err, fs.ErrNotExist) {
		d.say(gradeLook, what, "Start serve and open its first page: it makes the chief engineer.",
			"there is none in %s yet.", filepath.Clean(d.data))
		return
	}
	size, err := logSize(ctx, d.data)
	if err == nil && size > d.verifyUpTo {
		d.say(gradeLook, what, "Run stillwatch log verify --data DIR now and then: it takes a while.",
			"it can be read: %d entries, %s; it was not verified here.", size, d.onDisk())
		d.lastEntry(ctx, size)
		return
	}
	report, err := register.Verify(ctx, d.data)
	switch {
	case errors.Is(err, register.ErrNewer):
		d.say(gradeWrong, what, "Use the newer version; this one does not touch it.", "%v.", err)
	case err != nil:
		d.say(gradeWrong, what, "Keep the folder as it is, and restore the last copy into another one.",
			"it cannot be read: %v.", err)
	case !report.OK():
		d.say(gradeWrong, what, "Keep the folder as it is, run stillwatch log verify for every fault, and trust no state "+
			"on the board until it is explained.",
			"it is not as it was written, %d faults; the first: %s.", len(report.Faults)+report.More, report.Faults[0])
	case report.Entries == 0:
		d.say(gradeLook, what, "Open the first page of serve: it makes the chief engineer.", "it is empty.")
	default:
		d.say(gradeOK, what, "", "it is whole: %d entries, %d permits, %s.", report.Entries, report.Permits, d.onDisk())
		d.lastEntry(ctx, report.Entries)
	}
}

// logSize returns how many entries the signed head counts.
func logSize(ctx context.Context, data string) (int64, error) {
	proof, err := register.ProveSince(ctx, data, 1)
	if err != nil {
		return 0, err
	}
	lines := strings.SplitN(proof.Head, "\n", 3)
	if len(lines) < 3 {
		return 0, errors.New("the signed head is not in its form")
	}
	return strconv.ParseInt(lines[1], 10, 64)
}

// onDisk returns the size of the register's files.
func (d *doctor) onDisk() string {
	var sum uint64
	for _, suffix := range []string{"", "-wal"} {
		if info, err := os.Stat(filepath.Join(d.data, registerFile+suffix)); err == nil {
			sum += uint64(info.Size())
		}
	}
	return bytesInWords(sum)
}

// clockSlack is how far the clock may stand behind the log: clocks are set by seconds all the time.
const clockSlack = 2 * time.Second

// lastEntry compares the clock with the last entry.
func (d *doctor) lastEntry(ctx context.Context, size int64) {
	const what = "last entry"
	proof, err := register.ProveEntry(ctx, d.data, size-1)
	var e permits.Entry
	if err == nil {
		e, err = permits.DecodeEntry(size-1, proof.Entry)
	}
	switch {
	case err != nil:
		d.say(gradeWrong, what, "Run stillwatch log verify.", "the last entry cannot be read: %v.", err)
	case e.At.Sub(d.now) > clockSlack:
		d.say(gradeWrong, what, "Set the clock right; then look at the end of every open permit, which was reckoned by a "+
			"clock that went wrong.",
			"the clock stands %s behind it: it is of %s.", age(e.At.Sub(d.now)), stamp(e.At))
	default:
		d.say(gradeOK, what, "", "it is %s old, and the clock is not behind it.", age(d.now.Sub(e.At)))
	}
}

func stamp(t time.Time) string { return t.UTC().Format("2006-01-02 15:04 MST") }

// The years in which this program may sensibly run: from the one in which it was written, for as long as a ship's PC.
const (
	firstYear = 2026
	lastYear  = 2056
)

// lookAtClock looks whether the clock shows a year that can be, and is not behind the program's own making.
func (d *doctor) lookAtClock() {
	const what = "clock"
	const do = "Set date, time and zone of this computer."
	switch year := d.now.Year(); {
	case year < firstYear || year > lastYear:
		d.say(gradeWrong, what, do, "it shows the year %d.", year)
	case d.now.Before(d.made):
		d.say(gradeWrong, what, do, "it shows %s, but this program was made on %s.", stamp(d.now), stamp(d.made))
	default:
		d.say(gradeOK, what, "", "it shows %s; compare with the bridge.", d.now.Format("2006-01-02 15:04 -07:00"))
	}
}

// madeAt returns when the source was committed from which the program was built; zero if the build does not know.
func madeAt() time.Time {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return time.Time{}
	}
	for _, s := range info.Settings {
		if t, err := time.Parse(time.RFC3339, s.Value); s.Key == "vcs.time" && err == nil {
			return t
		}
	}
	return time.Time{}
}

// lookAtWitness holds the log against the head that is kept outside the data folder.
func (d *doctor) lookAtWitness(ctx context.Context) {
	const what = "witness"
	if d.witness == "" {
		d.say(gradeLook, what, "Give serve --witness with a folder on another disk.",
			"no head is kept outside the data folder: nobody would see that an older copy was put back.")
		return
	}
	switch c, err := register.Witnessed(ctx, d.data, d.witness); {
	case err != nil:
		d.say(gradeWrong, what, "Look whether serve is told the same folder, and whether it may write there.", "%v.", err)
	case c != nil:
		d.say(gradeWrong, what, "Look at every lock aboard. Put the newer copy back, or accept the loss on the board.", "%s",
			c.Words)
	default:
		d.say(gradeOK, what, "", "the log agrees with the head in %s.", filepath.Clean(d.witness))
	}
}
