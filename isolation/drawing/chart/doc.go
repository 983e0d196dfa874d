// Package chart draws small charts of what a plan foretells and what was read: the litres that come out of a section
// against time, the cooling of a hot part, the run-down of a rotor, the fall of a voltage or a pressure, each with its
// limit and the readings taken.
//
// It knows sections and stored energies as package isolation foretells them, and how to place strokes in a picture that
// is readable on a phone and in black and white. It must not know permits, people or pages: whoever asks turns the
// times of readings into seconds since the moment that counts. A chart is a picture of a waiting time; no chart proves
// anything, and its words say so.
//
// Begin with Drain and Stored, then Chart.SVG for the picture and Chart.Rows for the same facts as a table.
package chart
