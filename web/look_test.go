package web

import "testing"
import "os"

func TestLook(t *testing.T) {
	if d := os.Getenv("LOOK"); d != "" {
		if err := Pages(d); err != nil {
			t.Fatal(err)
		}
	}
}
