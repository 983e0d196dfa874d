package register

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"testing"

	"golang.org/x/mod/sumdb/note"
	"golang.org/x/mod/sumdb/tlog"

	"stillwatch/permits"
)

// fuzzFolder tells the worker processes of a fuzz test where the first process has put the log, so that all of them
// try the same one.
const fuzzFolder = "STILLWATCH_FUZZ_FOLDER"

// fuzzed returns an exported log and its key, the same in every process of a fuzz test.
func fuzzed(f *testing.F) (whole []byte, key string) {
	f.Helper()
	dir := os.Getenv(fuzzFolder)
	if dir == "" {
		dir = f.TempDir()
		a := busy(f)
		for name, text := range map[string][]byte{"log": exported(f, a.dir), "key": []byte(a.PublicKey())} {
			if err := os.WriteFile(filepath.Join(dir, name), text, 0o600); err != nil {
				f.Fatal(err)
			}
		}
		f.Setenv(fuzzFolder, dir)
	}
	whole, err1 := os.ReadFile(filepath.Join(dir, "log"))
	text, err2 := os.ReadFile(filepath.Join(dir, "key"))
	if err := errors.Join(err1, err2); err != nil {
		f.Fatal(err)
	}
	return whole, string(text)
}

// linesOf returns the entries of an exported log.
func linesOf(f *testing.F, whole []byte) []raw {
	f.Helper()
	var out []raw
	for _, line := range bytes.SplitAfter(whole, []byte("\n"))[1:] {
		if len(line) == 0 {
			continue
		}
		w, broken := parseLine(line)
		if broken != "" {
			f.Fatal(broken)
		}
		if w.prepare(); w.err != nil {
			f.Fatal(w.err)
		}
		out = append(out, w)
	}
	return out
}

// Whatever file is given to log check: it answers, and calls a file whole only if it is, byte for byte, an export.
func FuzzCheckOfAnExportedLog(f *testing.F) {
	whole, key := fuzzed(f)
	f.Add(whole)
	lines := bytes.SplitAfter(whole, []byte("\n"))
	f.Add(bytes.Join(lines[:1], nil))
	f.Add(bytes.Join(append(lines[:1:1], lines[5:]...), nil))
	f.Add([]byte(`{"stillwatch_log":1,"head":""}` + "\n"))
	f.Add([]byte(`{"stillwatch_log":1,"head":""}` + "\n" + `{"n":0,"hashes":[],"entry":{}}` + "\n"))
	f.Add([]byte("{}\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		r, err := Check(context.Background(), bytes.NewReader(text), key)
		if err == nil && r.OK() && r.Entries > 0 && !bytes.Equal(text, whole) {
			t.Errorf("Check() finds another file than the exported one whole, with %d entries", r.Entries)
		}
	})
}

// Whatever is given as a proof: it answers, and what it calls proved is in the log.
func FuzzCheckOfAProof(f *testing.F) {
	whole, key := fuzzed(f)
	entries := linesOf(f, whole)
	var top exportTop
	if err := json.Unmarshal(bytes.SplitAfter(whole, []byte("\n"))[0], &top); err != nil {
		f.Fatal(err)
	}
	tree := hashesOf(f, entries)
	for _, n := range []int64{0, 7, int64(len(entries)) - 1} {
		path, err := tlog.ProveRecord(int64(len(entries)), n, tree)
		if err != nil {
			f.Fatal(err)
		}
		text, err := json.Marshal(Proof{Format: exportFormat, N: &n, Entry: entries[n].body, Path: path, Head: top.Head})
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	f.Add([]byte(`{"stillwatch_proof":1,"since":3,"path":[]}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		p, err := ParseProof(text)
		if err != nil {
			return
		}
		if _, err := p.Check(key); err != nil || p.N == nil {
			return
		}
		if !bytes.Equal(entries[*p.N].body, p.Entry) {
			t.Errorf("Check() proves entry %d with bytes that are not in the log: %s", *p.N, p.Entry)
		}
	})
}

// hashesOf reads the stored hashes of an exported log.
func hashesOf(f *testing.F, entries []raw) tlog.HashReader {
	return tlog.HashReaderFunc(func(indexes []int64) ([]tlog.Hash, error) {
		out := make([]tlog.Hash, len(indexes))
		for i, index := range indexes {
			n, place := recordOf(index)
			stored, err := unpack(n, entries[n].hashes)
			if err != nil {
				return nil, err
			}
			out[i] = stored[place]
		}
		return out, nil
	})
}

// Whatever is given as a signed head: it answers, and takes only what the key has signed.
func FuzzSignedHead(f *testing.F) {
	a := busy(f)
	f.Add(a.Head().Signed)
	f.Add([]byte("x\n1\n\n\n— x AAAA\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		size, _, err := openHead(text, a.key.verifier)
		if err == nil && size != a.Head().Size {
			t.Errorf("openHead() takes a head of %d that was never signed", size)
		}
		if _, err := note.Open(text, note.VerifierList(a.key.verifier)); err != nil && size != 0 {
			t.Errorf("openHead() gives size %d although the signature does not check", size)
		}
	})
}

// Whatever bytes stand in an entry: decoding and replaying answer, and never panic; and what the replay takes is an
// entry that the gates would have made.
func FuzzEntryInTheReplay(f *testing.F) {
	whole, _ := fuzzed(f)
	p := NewReplay()
	worlds := []*state{p.state.fork()}
	for _, w := range linesOf(f, whole) {
		if _, err := p.Next(w.entry); err != nil {
			f.Fatal(err)
		}
		worlds = append(worlds, p.state.fork())
		f.Add(w.n, w.body)
	}
	f.Fuzz(func(t *testing.T, n int64, body []byte) {
		w := raw{n: n, body: body}
		w.prepare()
		if w.err != nil || n < 0 || n >= int64(len(worlds)) {
			return
		}
		r := NewReplay()
		r.state = worlds[n].fork()
		if _, err := r.Next(w.entry); err == nil && r.state.size != n+1 {
			t.Errorf("the replay took entry %d and stands at %d", n, r.state.size)
		}
	})
}

// Whatever is typed as a code: it answers, and what it takes is found or politely not.
func FuzzFindTag(f *testing.F) {
	a := busy(f)
	codes, err := a.TagCodes(context.Background(), 2)
	if err != nil {
		f.Fatal(err)
	}
	for _, c := range codes {
		f.Add(c.Text())
		f.Add(c.Spoken())
	}
	f.Add("0000-0000-0000-0000-0")
	f.Fuzz(func(t *testing.T, typed string) {
		c, err := permits.ParseTagCode(typed)
		if err != nil {
			return
		}
		tag, err := a.FindTag(context.Background(), c)
		if err != nil {
			if no, ok := asRefusal(err); !ok || no.Kind != permits.NotFound {
				t.Errorf("FindTag() = %v, want not found", err)
			}
			return
		}
		if tag.Digest != c.Digest() {
			t.Errorf("FindTag() finds another tag: %+v", tag)
		}
	})
}
