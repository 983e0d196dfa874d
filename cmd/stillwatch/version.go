package main

import (
	"fmt"
	"io"

	"stillwatch/cmd/stillwatch/line"
)

func runVersion(_ []string, out, _ io.Writer) int {
	fmt.Fprintln(out, "stillwatch", line.Version())
	return 0
}
