// Package static holds the pages' style sheets, scripts and pictures. It decides nothing: the server gives each an
// address with its hash.
package static

import "embed"

// FS is every asset, embedded.
//
//go:embed *.css *.js *.svg scanner
var FS embed.FS
