// Package templates holds the pages' HTML: a layout for each site (the ship's, the office's),
// partials, one file a screen. It imports nothing and decides
// nothing; what a page shows is fixed by the page struct of the same name in package web.
//
// Begin with layout.html, then with one screen.
package templates

import "embed"

// FS is every template, embedded.
//
//go:embed layout.html office.html partials/*.html screens/*.html office/*.html
var FS embed.FS
