// Command stillwatch is a permit-to-work and energy-isolation register for a ship's machinery spaces.
//
// Each command is one file: serve.go runs the register and its pages, demo.go drives the whole job on an invented
// ship, plan.go computes one isolation at the command line. main.go only looks up the command.
package main
