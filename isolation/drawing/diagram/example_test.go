package diagram_test

import (
	"bytes"
	"fmt"
	"os"

	"stillwatch/isolation"
	"stillwatch/isolation/drawing/diagram"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proved"
)

// The diagram of one plan: strokes for a page or a paper, with every word of them findable.
func ExampleOf() {
	text, err := os.ReadFile("../../../testdata/plants/tiny.yaml")
	if err != nil {
		panic(err)
	}
	plant, err := plantfile.Read("tiny.yaml", text)
	if err != nil {
		panic(err)
	}
	p, err := proved.Make(plant, plantfile.ShippedRules(), "P1-seal", isolation.Circumstances{})
	if err != nil {
		panic(err)
	}
	var picture bytes.Buffer
	if err := diagram.Of(plant, p.Plan).SVG(&picture, diagram.Options{Standalone: true}); err != nil {
		panic(err)
	}
	fmt.Println(bytes.HasPrefix(picture.Bytes(), []byte("<svg")), bytes.Contains(picture.Bytes(), []byte("SHUT")))
	// Output: true true
}
