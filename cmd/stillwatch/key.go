package main

import (
	"fmt"
	"io"

	"stillwatch/permits/register"
)

// runKey shows the public half of the ship's key, by which anybody can check heads, logs and proofs.
func runKey(args []string, out, errOut io.Writer) int {
	fs := newFlags("key", "Show the public half of the ship's key: give it to whoever is to check the log one day.",
		errOut)
	data := fs.String("data", dataFolder, "folder that holds the register")
	if _, status, done := parseWords(fs, args, 0, errOut); done {
		return status
	}
	key, err := register.PublicKey(*data)
	if err != nil {
		return told(errOut, err)
	}
	fmt.Fprintln(out, key)
	return 0
}
