// Command stillwatch is a permit-to-work and energy-isolation register for a ship's machinery spaces.
//
// Each command is one file, or a package where it is more: serve.go runs the register and its pages, plan.go computes
// one isolation, demo drives the whole job on an invented ship. main.go only looks up the command.
package main
