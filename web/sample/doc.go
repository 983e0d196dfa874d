// Package sample shows every screen in the states that matter, from a made-up ship whose acts went through the real
// gates, for looking at pages before they are merged and for the tests of the templates.
//
// Begin with Write.
package sample
