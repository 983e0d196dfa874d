package paper

import (
	"bytes"
	"os"
	"testing"
)

func TestLook(t *testing.T) {
	for name, write := range map[string]func(*bytes.Buffer) error{
		"tags":   func(b *bytes.Buffer) error { return WriteLockTags(b, cannedTags(6)) },
		"labels": func(b *bytes.Buffer) error { return WritePointLabels(b, cannedLabels(15)) },
	} {
		var b bytes.Buffer
		if err := write(&b); err != nil {
			t.Fatal(err)
		}
		os.WriteFile("/tmp/look/"+name+".pdf", b.Bytes(), 0o644)
	}
}
