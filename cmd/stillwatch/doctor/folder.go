package doctor

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"stillwatch/cmd/stillwatch/line"
)

// Files of the data folder that the doctor looks at; package register owns them.
const (
	registerFile = "stillwatch.db"
	shipKeyFile  = "ship.key"
	pepperFile   = "pepper.key"
)

// lookAtFolder looks whether the data folder is there and can be written; false if nothing else in it can be looked at.
func (d *doctor) lookAtFolder() bool {
	const what = "data folder"
	const do = "Give the right folder with --data; a new one is made by serve."
	switch info, err := os.Stat(d.data); {
	case errors.Is(err, fs.ErrNotExist):
		d.say(gradeWrong, what, do, "%s is not there.", d.data)
		return false
	case err != nil:
		d.say(gradeWrong, what, do, "%s cannot be looked at: %v.", d.data, err)
		return false
	case !info.IsDir():
		d.say(gradeWrong, what, do, "%s is a file.", d.data)
		return false
	}
	probe, err := os.CreateTemp(d.data, ".doctor-*")
	if err != nil {
		d.say(gradeWrong, what, "Give the account that runs serve the right to write there, or look whether the disk is "+
			"write-protected.", "nothing can be written into %s: %v.", d.data, err)
		return true
	}
	_, err = probe.Write([]byte("x"))
	if err = errors.Join(err, probe.Sync(), probe.Close(), os.Remove(probe.Name())); err != nil {
		d.say(gradeWrong, what, "Look at the disk.", "writing into %s fails: %v.", d.data, err)
		return true
	}
	d.say(gradeOK, what, "", "%s can be written.", filepath.Clean(d.data))
	return true
}

// How much room a register needs: a year of a busy ship takes some hundred megabytes with its copies (an estimate).
const (
	roomWrong = 100 << 20
	roomLook  = 1 << 30
)

func (d *doctor) lookAtSpace() {
	const what = "disk"
	const do = "Make room on that disk, or move the data folder to a larger one: with a full disk nothing can be recorded."
	free, err := freeSpace(d.data)
	switch {
	case err != nil:
		d.say(gradeLook, what, "Look by hand how much room the disk has.", "its free space cannot be told: %v.", err)
	case free < roomWrong:
		d.say(gradeWrong, what, do, "%s free.", bytesInWords(free))
	case free < roomLook:
		d.say(gradeLook, what, do, "%s free.", bytesInWords(free))
	default:
		d.say(gradeOK, what, "", "%s free.", bytesInWords(free))
	}
}

func bytesInWords(n uint64) string {
	switch {
	case n >= 1<<30:
		return fmt.Sprintf("%.1f GiB", float64(n)/(1<<30))
	case n >= 1<<20:
		return fmt.Sprintf("%.0f MiB", float64(n)/(1<<20))
	}
	return fmt.Sprintf("%d KiB", (n+1023)/1024)
}

// lookAtKeys looks whether the secrets are there, and for their owner only.
func (d *doctor) lookAtKeys() {
	const what = "keys"
	if _, err := os.Stat(filepath.Join(d.data, registerFile)); errors.Is(err, fs.ErrNotExist) {
		return // lookAtLog says that there is no register yet
	}
	var open []string
	for _, name := range []string{shipKeyFile, pepperFile, registerFile,
		filepath.Join(filepath.Base(line.AuthorityFolder(d.data)), "authority.key")} {
		info, err := os.Stat(filepath.Join(d.data, name))
		missing := errors.Is(err, fs.ErrNotExist)
		switch {
		case missing && strings.HasSuffix(name, "authority.key"):
		case missing:
			d.say(gradeWrong, what, "Put it back from the keys of the last copy; without it the register does not open.",
				"%s is missing.", name)
			return
		case err != nil:
			d.say(gradeWrong, what, "Give the account that runs serve the right to read it.", "%s cannot be looked at: %v.",
				name, err)
			return
		case runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0:
			open = append(open, fmt.Sprintf("%s (%04o)", name, info.Mode().Perm()))
		}
	}
	switch {
	case len(open) > 0:
		d.say(gradeWrong, what, "chmod 600 each; if others use this computer, find out whether they took a copy.",
			"others on this computer may read %s.", strings.Join(open, ", "))
	case runtime.GOOS == "windows":
		d.say(gradeLook, what, "See to it in the folder's properties that only the account which runs serve may read it.",
			"they are there; who may read them cannot be told here.")
	default:
		d.say(gradeOK, what, "", "they are there, and only their owner may read them.")
	}
}

// copyAge is how old the newest copy may be; the register tells the officer of the watch after the same time.
const copyAge = 7 * 24 * time.Hour

// lookAtCopies looks for the newest copy of a register in the folder where copies are kept.
func (d *doctor) lookAtCopies() {
	const what = "copies"
	const do = "Write one with: stillwatch backup FILE --data DIR, to another disk; say where copies are kept with " +
		"--backups."
	where := d.backups
	if where == "" {
		where = filepath.Dir(filepath.Clean(absolute(d.data)))
	}
	newest, at, err := newestCopy(where, absolute(d.data))
	switch {
	case err != nil:
		d.say(gradeLook, what, do, "%s cannot be looked at: %v.", where, err)
	case newest == "":
		d.say(gradeLook, what, do, "there is none in %s.", where)
	case d.now.Sub(at) > copyAge:
		d.say(gradeLook, what, do, "the newest, %s, is %s old.", newest, age(d.now.Sub(at)))
	default:
		d.say(gradeOK, what, "", "the newest, %s, is %s old; its keys belong elsewhere, locked away.", newest,
			age(d.now.Sub(at)))
	}
}

func absolute(path string) string {
	if abs, err := filepath.Abs(path); err == nil {
		return abs
	}
	return path
}

// newestCopy returns the newest file of a folder that is a register, other than the one in use and the copies that are
// made before its schema changes.
func newestCopy(folder, data string) (name string, at time.Time, err error) {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return "", at, err
	}
	for _, e := range entries {
		path := filepath.Join(absolute(folder), e.Name())
		if !e.Type().IsRegular() || filepath.Dir(path) == data &&
			(e.Name() == registerFile || strings.HasPrefix(e.Name(), "before-schema-")) {
			continue
		}
		info, err := e.Info()
		if err != nil || !info.ModTime().After(at) || !isRegister(path) {
			continue
		}
		name, at = e.Name(), info.ModTime()
	}
	return name, at, nil
}

// isRegister reports whether a file is a SQLite database that carries this program's mark: its first 16 bytes name the
// format, bytes 68 to 71 the application (SQLite's file format, section 1.3).
func isRegister(path string) bool {
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close() // read only
	var head [72]byte
	if _, err := io.ReadFull(f, head[:]); err != nil {
		return false
	}
	return string(head[:16]) == "SQLite format 3\x00" && binary.BigEndian.Uint32(head[68:]) == registerMark
}

// registerMark is the application id of a register's file: "SWch" in ASCII.
const registerMark = 0x53576368

// age writes how old something is.
func age(d time.Duration) string {
	switch {
	case d < 2*time.Hour:
		return fmt.Sprintf("%.0f min", max(0, d.Minutes()))
	case d < 48*time.Hour:
		return fmt.Sprintf("%.0f h", d.Hours())
	}
	return fmt.Sprintf("%.0f days", d.Hours()/24)
}
