package exchange_test

import (
	"bytes"
	"fmt"

	"stillwatch/isolation/exchange"
)

// The template is a workbook that reads as a small plant.
func ExampleWriteTemplate() {
	var book bytes.Buffer
	if err := exchange.WriteTemplate(&book); err != nil {
		panic(err)
	}
	plant, err := exchange.ReadXLSX("template.xlsx", book.Bytes())
	if err != nil {
		panic(err)
	}
	fmt.Println(plant.Title, "with the job", plant.Jobs[0].ID)
	// Output: Example pump room with the job P1-seal
}
