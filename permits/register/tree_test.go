package register

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"os"
	"strings"
	"testing"

	"golang.org/x/mod/sumdb/tlog"
	"pgregory.net/rapid"

	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

// mth is the Merkle tree hash by its definition in RFC 6962, section 2.1, word for word, without tlog.
func mth(d [][]byte) [32]byte {
	switch len(d) {
	case 0:
		return sha256.Sum256(nil)
	case 1:
		return sha256.Sum256(append([]byte{0}, d[0]...))
	}
	k := 1
	for k*2 < len(d) {
		k *= 2
	}
	left, right := mth(d[:k]), mth(d[k:])
	return sha256.Sum256(append(append([]byte{1}, left[:]...), right[:]...))
}

func TestTreeAgreesWithPublishedRoots(t *testing.T) {
	text, err := os.ReadFile("testdata/rfc6962.json")
	if err != nil {
		t.Fatal(err)
	}
	var v struct{ Leaves, Roots []string }
	if err := json.Unmarshal(text, &v); err != nil {
		t.Fatal(err)
	}
	var p frontier
	var leaves [][]byte
	for n, want := range v.Roots {
		root, err := p.root()
		if err != nil || hex.EncodeToString(root[:]) != want {
			t.Errorf("root of %d leaves = %x, %v, want %s", n, root, err, want)
		}
		if own := mth(leaves); hex.EncodeToString(own[:]) != want {
			t.Errorf("RFC 6962's definition over %d leaves = %x, want %s", n, own, want)
		}
		if n < len(v.Leaves) {
			leaf, err := hex.DecodeString(v.Leaves[n])
			if err != nil {
				t.Fatal(err)
			}
			leaves = append(leaves, leaf)
			if _, err := p.add(tlog.RecordHash(leaf)); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// The frontier alone give what tlog stores and computes with all hashes at hand, and what the RFC defines.
func TestPeaksAreEnoughForTheTree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		leaves := rapid.SliceOfN(rapid.SliceOfN(rapid.Byte(), 0, 8), 0, 70).Draw(t, "leaves")
		var p frontier
		var all []tlog.Hash
		reader := tlog.HashReaderFunc(func(at []int64) ([]tlog.Hash, error) {
			out := make([]tlog.Hash, len(at))
			for i, index := range at {
				out[i] = all[index]
			}
			return out, nil
		})
		for n, leaf := range leaves {
			want, err := tlog.StoredHashes(int64(n), leaf, reader)
			if err != nil {
				t.Fatal(err)
			}
			got, err := p.add(tlog.RecordHash(leaf))
			if err != nil || string(pack(got)) != string(pack(want)) {
				t.Fatalf("add(leaf %d) = %v, %v, want %v", n, got, err, want)
			}
			back, err := unpack(int64(n), pack(got))
			if err != nil || string(pack(back)) != string(pack(got)) {
				t.Fatalf("unpack(pack) of %d = %v, %v, want the same", n, back, err)
			}
			all = append(all, want...)
		}
		root, err := p.root()
		if want := mth(leaves); err != nil || root != tlog.Hash(want) {
			t.Fatalf("root of %d leaves = %x, %v, want %x", len(leaves), root, err, want)
		}
	})
}

func TestRecordOfIsWhereTheHashWasWritten(t *testing.T) {
	index := int64(0)
	for n := range int64(300) {
		for place := range 64 {
			if n+1 < 0 || place > 0 && (n+1)%(1<<place) != 0 {
				break
			}
			gotN, gotPlace := recordOf(index)
			if gotN != n || gotPlace != place {
				t.Fatalf("recordOf(%d) = %d, %d, want %d, %d", index, gotN, gotPlace, n, place)
			}
			index++
		}
	}
	if index != tlog.StoredHashCount(300) {
		t.Errorf("300 records store %d hashes, want %d", index, tlog.StoredHashCount(300))
	}
}

// Every entry can be proved, every earlier head too, and no proof proves anything else.
func TestProofsHoldAndChangedOnesDoNot(t *testing.T) {
	a := busy(t)
	ctx, key, size := context.Background(), a.PublicKey(), a.Head().Size
	for n := range size {
		p, err := ProveEntry(ctx, a.dir, n)
		if err != nil {
			t.Fatalf("ProveEntry(%d) = %v", n, err)
		}
		text, err := json.Marshal(p)
		if err != nil {
			t.Fatal(err)
		}
		back, err := ParseProof(text)
		if err != nil {
			t.Fatal(err)
		}
		words, err := back.Check(key)
		if err != nil || !strings.Contains(words, "entry "+itoa(n)+" ") {
			t.Errorf("Check(proof of %d) = %q, %v, want it proved", n, words, err)
		}
		other := (n + 1) % size
		back.N = &other
		if words, err := back.Check(key); err == nil {
			t.Errorf("Check(proof of %d as of %d) = %q, want an error", n, other, words)
		}
		back.N = &n
		back.Entry = []byte(strings.Replace(string(p.Entry), `"at":"2026`, `"at":"2027`, 1))
		if words, err := back.Check(key); err == nil {
			t.Errorf("Check(proof of %d with another entry) = %q, want an error", n, words)
		}
	}
	for since := int64(1); since <= size; since++ {
		p, err := ProveSince(ctx, a.dir, since)
		if err != nil {
			t.Fatalf("ProveSince(%d) = %v", since, err)
		}
		if _, err := p.Check(key); err != nil {
			t.Errorf("Check(proof since %d) = %v, want it proved", since, err)
		}
		p.Before = strings.Repeat("0", 64)
		if words, err := p.Check(key); err == nil {
			t.Errorf("Check(proof since %d with another hash) = %q, want an error", since, words)
		}
	}
	for _, n := range []int64{-1, size} {
		if _, err := ProveEntry(ctx, a.dir, n); err == nil {
			t.Errorf("ProveEntry(%d of %d) = nil, want an error", n, size)
		}
	}
	if _, err := ProveSince(ctx, a.dir, size+1); err == nil {
		t.Errorf("ProveSince(%d of %d) = nil, want an error", size+1, size)
	}
}

// The hash that is printed of a head is the one of the entries' bytes, by the RFC's definition.
func TestHeadIsTheHashOfTheEntries(t *testing.T) {
	a := busy(t)
	var rows []store.EntryRow
	if err := a.raw().Order("n").Find(&rows).Error; err != nil {
		t.Fatal(err)
	}
	bodies := make([][]byte, len(rows))
	for i, row := range rows {
		bodies[i] = row.Body
	}
	root := mth(bodies)
	h := a.Head()
	if h.Hash != hex.EncodeToString(root[:]) || strings.ReplaceAll(h.Short, " ", "") != h.Hash[:12] ||
		h.Size != int64(len(rows)) {
		t.Errorf("Head() = %d %s %s, want %d %x", h.Size, h.Short, h.Hash, len(rows), root)
	}
	size, got, err := openHead(h.Signed, a.key.verifier)
	if err != nil || size != h.Size || got != tlog.Hash(root) {
		t.Errorf("the signed head says %d %x, %v, want %d %x", size, got, err, h.Size, root)
	}
}

// What stands in the log is what decoding and encoding again gives: nothing is lost between them.
func TestEncodingIsItsOwnInverse(t *testing.T) {
	a := busy(t)
	var rows []store.EntryRow
	if err := a.raw().Find(&rows).Error; err != nil {
		t.Fatal(err)
	}
	kinds := map[permits.Kind]bool{}
	for _, row := range rows {
		e, err := permits.DecodeEntry(row.N, row.Body)
		if err != nil {
			t.Fatal(err)
		}
		kinds[e.Kind] = true
		if again, err := e.Encode(); err != nil || string(again) != string(row.Body) {
			t.Errorf("entry %d encodes again as\n%s, %v, want\n%s", row.N, again, err, row.Body)
		}
	}
	if len(kinds) < 20 {
		t.Errorf("only %d kinds of entries were tried", len(kinds))
	}
}
