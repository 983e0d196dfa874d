package main

import (
	"fmt"
	"io"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/web/sample"
)

func runPages(args []string, out, errOut io.Writer) int {
	fs := line.NewFlags("pages", "Write every screen with made-up data, by day and by night, as files to look at in a "+
		"browser.",
		errOut)
	dir := fs.String("out", "stillwatch-pages", "folder to write into; made if it does not exist")
	if status, done := line.Parse(fs, args, errOut); done {
		return status
	}
	if err := sample.Write(*dir); err != nil {
		fmt.Fprintf(errOut, "stillwatch: write pages: %v\n", err)
		return 1
	}
	fmt.Fprintf(out, "every screen is in %s\n", *dir)
	return 0
}
