package screens

import (
	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
	"stillwatch/permits"
)

// PlantPage shows the plant file in force and takes a new one, or new rules; a file that is wrong is shown with its
// faults, each with line, column and the words of the file around it.
type PlantPage struct {
	Frame
	Plant    *isolation.Plant
	Rules    *isolation.Rules
	Entry    int64 // entry that put the plant file in force
	Shipped  bool  // the rules are those that come with the program
	Points   int
	Notes    []string
	Faults   []*plantfile.FileError
	More     int // faults beyond those shown
	FaultsOf string
	May      bool // may put files in force
	// What is proposed and not in force yet; nil: nothing.
	ProposedPlant, ProposedRules *permits.Proposal
}
