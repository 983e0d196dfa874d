package svg_test

import (
	"fmt"

	"stillwatch/isolation/drawing/svg"
)

// Words and numbers as they may stand in a drawing.
func ExampleText() {
	fmt.Println(svg.Text(`V1 "suction" <open>`), svg.Number(0.1+0.2))
	// Output: V1 &#34;suction&#34; &lt;open&gt; 0.3
}
