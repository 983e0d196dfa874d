package paper_test

import (
	"bytes"
	"fmt"
	"time"

	"stillwatch/permits/paper"
)

// A label for a point. What would say too little is refused, not printed.
func ExampleWritePointLabels() {
	sheet := paper.PointLabelSheet{Stamp: paper.Stamp{Ship: "Training ship", PrintedBy: "Ilse",
		PrintedAt: time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)},
		Labels: []paper.PointLabel{{Point: "V1", Name: "Pump suction", Kind: "valve", URL: "HTTP://SHIP/T/0123456789",
			Code: "0123456789"}}}
	var pdf bytes.Buffer
	fmt.Println(paper.WritePointLabels(&pdf, sheet), bytes.HasPrefix(pdf.Bytes(), []byte("%PDF-")))
	sheet.Labels[0].Point = ""
	fmt.Println(paper.WritePointLabels(&pdf, sheet))
	// Output:
	// <nil> true
	// paper is incomplete: label "Pump suction" has no point
}
