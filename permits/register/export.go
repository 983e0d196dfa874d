package register

import (
	"bufio"
	"bytes"
	"context"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"golang.org/x/mod/sumdb/note"

	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

// An exported log is lines of JSON. The first names the format and carries the signed head; each further one is an
// entry with its number, the hashes stored with it in base 64 (the leaf, then each subtree that it completes) and its
// bytes as they are. The leaf is SHA-256 over a zero byte and exactly the bytes that stand after "entry":, up to
// the line's last brace.

type exportTop struct {
	Format int    `json:"stillwatch_log"`
	Head   string `json:"head"`
}

type exportLine struct {
	N      int64           `json:"n"`
	Hashes [][]byte        `json:"hashes"`
	Entry  json.RawMessage `json:"entry"`
}

const exportFormat = 1

// longestLine bounds a line of an exported log: a plant file with all its escapes fits.
const longestLine = 64 << 20

// appendLine writes an entry as a line.
func appendLine(to []byte, n int64, hashes, body []byte) []byte {
	to = fmt.Appendf(to, `{"n":%d,"hashes":[`, n)
	for i := 0; i+32 <= len(hashes); i += 32 {
		if i > 0 {
			to = append(to, ',')
		}
		to = append(to, '"')
		to = base64.StdEncoding.AppendEncode(to, hashes[i:i+32])
		to = append(to, '"')
	}
	to = append(to, `],"entry":`...)
	to = append(to, body...)
	return append(to, "}\n"...)
}

// Export writes the log of a data folder as it stands at one moment, also while the program runs on it. It exports
// what is there, right or not; Check says which.
func Export(ctx context.Context, dir string, w io.Writer) error {
	db, err := store.OpenToRead(dir)
	if err != nil {
		return err
	}
	out := bufio.NewWriterSize(w, 1<<16)
	err = db.Isolated(ctx, func(v store.View) error { return export(v, out) })
	if err = errors.Join(err, db.Close()); err != nil {
		return fmt.Errorf("export the log in %s: %w", dir, err)
	}
	if err := out.Flush(); err != nil {
		return fmt.Errorf("export the log in %s: %w", dir, err)
	}
	return nil
}

func export(v store.View, out *bufio.Writer) error {
	if err := v.CheckFormat(); err != nil {
		return err
	}
	row, _, err := v.Head()
	if err != nil {
		return err
	}
	return exportRows(row.Note, out, func(take func(store.EntryRow, store.TreeRow) error) error {
		return v.EachRecord(func(e store.EntryRow, t store.TreeRow, _ store.IndexRow) error { return take(e, t) })
	})
}

// ExportRows writes a log that is kept elsewhere than in a data folder: its signed head, and its entries with their
// hashes as each passes them.
func ExportRows(head string, w io.Writer, each func(func(store.EntryRow, store.TreeRow) error) error) error {
	out := bufio.NewWriterSize(w, 1<<16)
	if err := exportRows(head, out, each); err != nil {
		return err
	}
	return out.Flush()
}

func exportRows(head string, out *bufio.Writer, each func(func(store.EntryRow, store.TreeRow) error) error) error {
	top, err := json.Marshal(exportTop{exportFormat, head})
	if err != nil {
		return err
	}
	if _, err := out.Write(append(top, '\n')); err != nil {
		return err
	}
	var line []byte
	return each(func(e store.EntryRow, t store.TreeRow) error {
		line = appendLine(line[:0], e.N, t.Hashes, e.Body)
		_, err := out.Write(line)
		return err
	})
}

// ErrNotLog says that a file is not an exported log or proof.
var ErrNotLog = errors.New("this is not an exported log")

// Check looks at an exported log on any machine: every byte of it, the tree, the signature by the ship's key, and every
// entry again through its gate. Key is the public half as the command "key" shows it. What is not as it was written is
// in the report; an error says that the file is no log at all, or cannot be read.
func Check(ctx context.Context, file io.Reader, key string) (Report, error) {
	return checkBy(ctx, file, key, permits.Judges())
}

func checkBy(ctx context.Context, file io.Reader, key string, judges []permits.Judge) (Report, error) {
	v, err := note.NewVerifier(key)
	if err != nil {
		return Report{}, fmt.Errorf("read the key: %w", err)
	}
	in := bufio.NewReaderSize(file, 1<<16)
	first, err := readLine(in)
	if err != nil {
		return Report{}, fmt.Errorf("read the first line: %w", err)
	}
	var top exportTop
	if err := json.Unmarshal(first, &top); err != nil || top.Format != exportFormat {
		return Report{}, ErrNotLog
	}
	a, unread := newAudit(Head{}, judges), Report{}
	if again, err := json.Marshal(top); err != nil || !bytes.Equal(append(again, '\n'), first) {
		a.report.fault(-1, "the first line of the file was changed")
	}
	if top.Head != "" {
		head, err := headOf([]byte(top.Head), v)
		if err != nil {
			unread.fault(-1, "%v", err)
			return unread, nil
		}
		a.head, a.report.Head = head, head
	}
	if err := a.run(ctx, func(take func(raw) error) error { return readLines(ctx, in, take) }); err != nil {
		return a.report, fmt.Errorf("read the log: %w", err)
	}
	a.end()
	return a.report, nil
}

// errLongLine says that a line is longer than any entry.
var errLongLine = errors.New("a line is longer than any entry")

// readLine reads one line with its end; io.EOF comes with what stands after the last one.
func readLine(in *bufio.Reader) ([]byte, error) {
	var line []byte
	for {
		part, err := in.ReadSlice('\n')
		line = append(line, part...)
		switch {
		case len(line) > longestLine:
			return nil, errLongLine
		case err == nil || !errors.Is(err, bufio.ErrBufferFull):
			return line, err
		}
	}
}

// readLines reads entries from the lines of a file. A line that is not, byte for byte, what appendLine writes is an
// entry that cannot be read.
func readLines(ctx context.Context, in *bufio.Reader, take func(raw) error) error {
	for n := int64(0); ; n++ {
		line, err := readLine(in)
		if errors.Is(err, io.EOF) && len(line) == 0 {
			return nil
		}
		if err != nil && !errors.Is(err, io.EOF) {
			return err
		}
		w, broken := parseLine(line)
		if broken != "" {
			w = raw{n: n, broken: broken}
		}
		if err := take(w); err != nil {
			return err
		}
		if err := ctx.Err(); err != nil {
			return err
		}
	}
}

// parseLine reads an entry's line; broken says why it is none.
func parseLine(line []byte) (w raw, broken string) {
	var l exportLine
	if err := json.Unmarshal(line, &l); err != nil {
		return w, "its line in the file is not JSON of the right form"
	}
	w = raw{n: l.N, body: l.Entry, hashes: bytes.Join(l.Hashes, nil)}
	if !bytes.Equal(line, appendLine(nil, w.n, w.hashes, w.body)) {
		return w, "its line in the file was changed"
	}
	return w, ""
}
