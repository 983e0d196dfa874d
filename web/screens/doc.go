// Package screens makes what the pages show: one file a screen, with the page's struct and the pure functions that fill
// it from how things stand (permits.Setting, permits, entries). It asks permits what may happen and what is next, and
// decides nothing itself. The templates of the same names print it. It knows no request, no session and no register.
//
// Begin with Frame, which every page carries, then with PermitPage.
package screens
