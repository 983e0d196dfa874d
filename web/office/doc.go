// Package office is the site of the shore: where ships send their logs, and the pages of the office. Nobody ashore
// changes a permit: there is no form that could.
//
// It must not know SQL, nor what is in a segment; package shore does. What the pages show is made in this package
// from what package shore has read, with templates/office.html around it.
//
// Begin with New and routes.
package office
