package site

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io/fs"
	"mime"
	"net/http"
	"os"
	"path"
	"time"

	"stillwatch/web/static"
)

// devStatic is where the assets lie in the source tree, seen from its top.
const devStatic = "web/static"

// hashLen is how many characters of the hash stand in an asset's address.
const hashLen = 12

// Assets are the stylesheets, scripts and pictures, each under an address that holds its hash and so never changes.
type Assets struct {
	dev  bool
	file map[string]asset
}

type asset struct {
	hash   string
	body   []byte
	packed []byte // the same compressed; nil where that saves nothing
}

// LoadAssets reads what is embedded and hashes it once; with dev each is read anew from the source tree when it is
// asked for.
func LoadAssets(dev bool) (*Assets, error) {
	a := &Assets{dev: dev, file: map[string]asset{}}
	err := fs.WalkDir(static.FS, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		body, err := fs.ReadFile(static.FS, name)
		if err != nil {
			return err
		}
		sum := sha256.Sum256(body)
		f := asset{hash: hex.EncodeToString(sum[:])[:hashLen], body: body}
		if packed := squeezed(body); len(packed) < len(body)*9/10 {
			f.packed = packed
		}
		a.file[name] = f
		return nil
	})
	return a, err
}

// URL returns the address of an asset. A name that does not exist is an error, which stops the start: a page without
// its look must not pass unseen.
func (a *Assets) URL(name string) (string, error) {
	f, ok := a.file[name]
	if !ok {
		return "", fmt.Errorf("there is no asset %s", name)
	}
	return "/static/" + f.hash + "/" + name, nil
}

// Read returns what an asset holds; nil where there is none.
func (a *Assets) Read(name string) []byte { return a.file[name].body }

// Answer answers for one asset, and reports whether there is such a one. A hash that is not the file's own is not
// found: an old page must not mix with a new look.
func (a *Assets) Answer(w http.ResponseWriter, r *http.Request, hash, name string) bool {
	name = path.Clean("/" + name)[1:]
	f, ok := a.file[name]
	if !ok || (hash != f.hash && !a.dev) {
		return false
	}
	w.Header().Set("Content-Type", mime.TypeByExtension(path.Ext(name)))
	w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	body := f.body
	if a.dev {
		w.Header().Set("Cache-Control", "no-store")
		if now, err := os.ReadFile(path.Join(devStatic, name)); err == nil {
			body = now
		}
	}
	if f.packed != nil && !a.dev {
		w.Header().Set("Vary", "Accept-Encoding")
		if takesGzip(r) {
			w.Header().Set("Content-Encoding", "gzip")
			body = f.packed
		}
	}
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(body))
	return true
}
