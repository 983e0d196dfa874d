// Package drain computes how the liquid leaves an isolated stretch of piping:
// how much is trapped, where it stays, how long the rest takes, whether air can
// get in to replace it, and what the litres that came out then say.
//
// It knows fluids, pipes, vessels and gravity. It must not know permits, people,
// plant files or the clock: a section arrives as plain values with names as
// strings, times are seconds, and package isolation does the converting.
//
// Begin with [Section], [Predict] and [Judge]. Everything is SI inside (m, m³,
// s, m²/s, kg/m³) except temperatures in °C and gauge pressures in bar, and
// every name carries its unit. Where an estimate has to lean one way it leans to
// the longer wait and the larger remainder, and the comment there says so.
//
// Nothing here makes a line safe. It says what to expect; a reading, a hold and
// an open vent prove it, under the company's own rules.
package drain
