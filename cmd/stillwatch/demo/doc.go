// Package demo is the command "demo": an invented ship and crew whose whole job is driven through the server's own
// pages, form by form. Tests drive the same crew.
//
// Begin with Run, then with job.go.
package demo
