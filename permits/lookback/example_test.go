package lookback_test

import (
	"fmt"
	"strings"

	"stillwatch/permits/lookback"
)

// A table for a spreadsheet: a cell that would be a formula there is only words.
func ExampleWriteCSV() {
	var b strings.Builder
	err := lookback.WriteCSV(&b, []string{"point", "found", "litres"},
		[][]lookback.Cell{{lookback.Text("V1"), lookback.Text("=drips"), lookback.Decimal(7.43, 1)}})
	if err != nil {
		panic(err)
	}
	fmt.Print(strings.NewReplacer("\ufeff", "", "\r", "").Replace(b.String())) // both are for the spreadsheet
	// Output:
	// point,found,litres
	// V1,'=drips,7.4
}
