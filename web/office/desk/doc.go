// Package desk is what the office's pages show: for each screen a struct, and the words and figures that its template
// asks it for. It knows no requests and no database.
//
// Begin with Site and Frame.
package desk
