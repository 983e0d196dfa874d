// Package energy tells how much energy a machine still holds after it was stopped,
// how long to wait until it is below its limit, and whether a reading says so.
//
// It knows rotation, heat, charge, gas under pressure, trapped liquid, springs and
// hanging loads. It must not know permits, people, plant files or the clock: times
// are seconds since the machine was stopped or cut off, and the present is an
// argument.
//
// Begin with [Stored]: every kind predicts a [Wait] and judges a [Reading]. A
// prediction is only a waiting time; a reading opens the gate. Where models
// disagree the longest wait is given. Limits that are from memory say so.
package energy
