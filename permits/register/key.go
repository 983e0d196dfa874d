package register

import (
	"bytes"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"golang.org/x/mod/sumdb/note"
	"golang.org/x/mod/sumdb/tlog"
)

// Names of the files in the data folder, beside the database.
const (
	keyFile    = "ship.key"
	pepperFile = "pepper.key"
	lockFile   = "stillwatch.lock"
)

// shipKey signs heads of the log.
type shipKey struct {
	signer   note.Signer
	verifier note.Verifier
	public   string // note verifier key
}

// makeKey draws the key of a data folder.
func makeKey(dir string, random io.Reader) error {
	return makeKeyFile(filepath.Join(dir, keyFile), random)
}

// makeKeyFile draws a key and writes it where only the owner can read it.
func makeKeyFile(path string, random io.Reader) error {
	var mark [4]byte
	if _, err := io.ReadFull(random, mark[:]); err != nil {
		return fmt.Errorf("draw the ship's key: %w", err)
	}
	private, public, err := note.GenerateKey(random, "stillwatch-"+hex.EncodeToString(mark[:]))
	if err != nil {
		return fmt.Errorf("draw the ship's key: %w", err)
	}
	return writeSecret(path, []byte(private+"\n"+public+"\n"))
}

// readKey reads the key of a data folder, and tries it.
func readKey(dir string) (shipKey, error) { return readKeyFile(filepath.Join(dir, keyFile)) }

func readKeyFile(path string) (shipKey, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return shipKey{}, fmt.Errorf("read the ship's key: %w", err)
	}
	private, public, _ := strings.Cut(strings.TrimSpace(string(text)), "\n")
	k := shipKey{public: strings.TrimSpace(public)}
	if k.signer, err = note.NewSigner(strings.TrimSpace(private)); err != nil {
		// err would quote it
		return shipKey{}, fmt.Errorf("read the ship's key in %s: its first line is no private key", keyFile)
	}
	if k.verifier, err = note.NewVerifier(k.public); err != nil {
		return shipKey{}, fmt.Errorf("read the ship's key in %s: its second line: %w", keyFile, err)
	}
	signed, err := k.sign(0, tlog.Hash{})
	if err != nil {
		return shipKey{}, fmt.Errorf("try the ship's key: %w", err)
	}
	if _, _, err := openHead(signed, k.verifier); err != nil {
		return shipKey{}, fmt.Errorf("try the ship's key: its two halves do not fit: %w", err)
	}
	return k, nil
}

// PublicKey returns the public half of the key of a data folder, as a note verifier key: name+hash+key.
func PublicKey(dir string) (string, error) {
	k, err := readKey(dir)
	return k.public, err
}

// sign makes the signed head of a tree: a note of three lines, the key's name, the size and the hash in base 64.
func (k shipKey) sign(size int64, root tlog.Hash) ([]byte, error) {
	text := fmt.Sprintf("%s\n%d\n%s\n", k.signer.Name(), size, root)
	return note.Sign(&note.Note{Text: text}, k.signer)
}

// errHead says that a signed head is not in its form.
var errHead = errors.New("the signed head is not a key's name, a size and a hash")

// openHead checks a signed head and returns the size and hash that it signs. It is the inverse of sign.
func openHead(signed []byte, v note.Verifier) (int64, tlog.Hash, error) {
	n, err := note.Open(signed, note.VerifierList(v))
	if err != nil {
		return 0, tlog.Hash{}, fmt.Errorf("check the head's signature: %w", err)
	}
	name, rest, _ := strings.Cut(n.Text, "\n")
	size, rest, _ := strings.Cut(rest, "\n")
	hash, rest, ok := strings.Cut(rest, "\n")
	if !ok || rest != "" || name != v.Name() {
		return 0, tlog.Hash{}, errHead
	}
	var count int64
	if _, err := fmt.Sscanf(size, "%d", &count); err != nil || fmt.Sprint(count) != size || count < 0 {
		return 0, tlog.Hash{}, errHead
	}
	raw, err := base64.StdEncoding.Strict().DecodeString(hash)
	if err != nil || len(raw) != tlog.HashSize {
		return 0, tlog.Hash{}, errHead
	}
	return count, tlog.Hash(raw), nil
}

// readPepper reads the secret that is mixed into every PIN before it is hashed, so that the database alone does not
// give the PINs away.
func readPepper(dir string) ([]byte, error) {
	text, err := os.ReadFile(filepath.Join(dir, pepperFile))
	if err != nil {
		return nil, fmt.Errorf("read the pepper of the PINs: %w", err)
	}
	pepper, err := hex.DecodeString(string(bytes.TrimSpace(text)))
	if err != nil || len(pepper) < 32 {
		return nil, fmt.Errorf("read the pepper of the PINs: %s is not 64 hex digits", pepperFile)
	}
	return pepper, nil
}

func makePepper(dir string, random io.Reader) error {
	var raw [32]byte
	if _, err := io.ReadFull(random, raw[:]); err != nil {
		return fmt.Errorf("draw the pepper of the PINs: %w", err)
	}
	return writeSecret(filepath.Join(dir, pepperFile), []byte(hex.EncodeToString(raw[:])+"\n"))
}

// writeSecret writes a new file that only its owner may read, and puts it on the disk. It never overwrites.
func writeSecret(path string, text []byte) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	_, err = f.Write(text)
	if err == nil {
		err = f.Sync()
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	return nil
}

// exists reports whether a file is there; anything but a clear no is a yes or an error.
func exists(path string) (bool, error) {
	_, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	return err == nil, err
}
