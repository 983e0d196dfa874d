package plantfile_test

import (
	"fmt"

	"stillwatch/isolation/plantfile"
)

// What is wrong in a file is said with its place and its words.
func ExampleRead() {
	_, err := plantfile.Read("plant.yaml", []byte("plant: small\nnodes:\n  - {id: V1, kind: vlave}\n"))
	fmt.Println(err)
	// Output:
	// read plant: plant.yaml:3:20: node V1: unknown kind "vlave"; did you mean "valve"?
	//       2 | nodes:
	// >     3 |   - {id: V1, kind: vlave}
	//         |                    ^
}
