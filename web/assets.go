package web

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

	"github.com/gin-gonic/gin"
)

// devStatic is where the assets lie in the source tree, seen from its top.
const devStatic = "web/static"

// hashLen is how many characters of the hash stand in an asset's address.
const hashLen = 12

// assets are the stylesheets, scripts and pictures, each under an address that holds its hash and so never changes.
type assets struct {
	dev  bool
	file map[string]asset
}

type asset struct {
	hash string
	body []byte
}

// loadAssets reads what is embedded and hashes it once.
func loadAssets(dev bool) (*assets, error) {
	a := &assets{dev: dev, file: map[string]asset{}}
	err := fs.WalkDir(static.FS, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		body, err := fs.ReadFile(static.FS, name)
		if err != nil {
			return err
		}
		sum := sha256.Sum256(body)
		a.file[name] = asset{hex.EncodeToString(sum[:])[:hashLen], body}
		return nil
	})
	return a, err
}

// url returns the address of an asset. A name that does not exist is an error, which stops the start: a page without
// its look must not pass unseen.
func (a *assets) url(name string) (string, error) {
	f, ok := a.file[name]
	if !ok {
		return "", fmt.Errorf("there is no asset %s", name)
	}
	return "/static/" + f.hash + "/" + name, nil
}

// assetShow answers for one asset. A hash that is not the file's own is not found: an old page must not mix with a new
// look.
func (s *Server) assetShow(c *gin.Context) error {
	name := path.Clean(c.Param("name"))[1:]
	f, ok := s.assets.file[name]
	if !ok || (c.Param("hash") != f.hash && !s.assets.dev) {
		return notThere("There is no such file.", "")
	}
	c.Header("Content-Type", mime.TypeByExtension(path.Ext(name)))
	c.Header("Cache-Control", "public, max-age=31536000, immutable")
	body := f.body
	if s.assets.dev {
		c.Header("Cache-Control", "no-store")
		if now, err := os.ReadFile(path.Join(devStatic, name)); err == nil {
			body = now
		}
	}
	http.ServeContent(c.Writer, c.Request, "", time.Time{}, bytes.NewReader(body))
	return nil
}
