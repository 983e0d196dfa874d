// Package calc is the command "calc": it works one formula of the physics out at the command line, so that the program
// can be checked by hand against the source that it names.
//
// Begin with Run.
package calc
