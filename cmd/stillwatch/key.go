package main

import (
	"fmt"
	"io"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/permits/register"
)

// runKey shows the public half of the ship's key, by which anybody can check heads, logs and proofs.
func runKey(args []string, out, errOut io.Writer) int {
	fs := line.NewFlags("key", "Show the public half of the ship's key: give it to whoever is to check the log one day.",
		errOut)
	data := fs.String("data", line.DataFolder, "folder that holds the register")
	if _, status, done := line.ParseWords(fs, args, 0, errOut); done {
		return status
	}
	key, err := register.PublicKey(*data)
	if err != nil {
		return line.Told(errOut, err)
	}
	fmt.Fprintln(out, key)
	return 0
}
