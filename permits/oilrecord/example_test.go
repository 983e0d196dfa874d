package oilrecord_test

import (
	"fmt"
	"time"

	"stillwatch/permits/oilrecord"
)

// What one tank took is offered as an entry; the officer writes the book.
func ExampleDrafts() {
	noon := time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)
	total := oilrecord.Total{Tank: "Sludge tank", Fluid: "HFO", Contents: oilrecord.Oil, Litres: 9.4,
		First: noon, Last: noon}
	for _, d := range oilrecord.Drafts([]oilrecord.Total{total}, time.UTC) {
		fmt.Println(d.Tank, d.Code)
		fmt.Println(d.Lines[1], d.Lines[6])
	}
	// Output:
	// Sludge tank C
	// Date: 01-MAR-2026 11.4 Collected by manual operation: 0.0094 m³ (9.4 L), from  (HFO)
}
