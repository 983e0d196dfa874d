// Package atmosphere judges what a gas meter reads in a space before people go in or bring fire to it: oxygen,
// flammable and toxic gas against a named set of rules. It knows bare figures; who read them, where and when is for
// others.
package atmosphere
