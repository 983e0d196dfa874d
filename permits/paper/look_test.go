package paper

import (
	"bytes"
	"os"
	"testing"
)

func TestLook(t *testing.T) {
	for name, write := range map[string]func(*bytes.Buffer) error{
		"tags":     func(b *bytes.Buffer) error { return WriteLockTags(b, cannedTags(6)) },
		"labels":   func(b *bytes.Buffer) error { return WritePointLabels(b, cannedLabels(15)) },
		"plan":     func(b *bytes.Buffer) error { return WritePlan(b, cannedPlan()) },
		"permit":   func(b *bytes.Buffer) error { return WritePermit(b, cannedPermit()) },
		"handover": func(b *bytes.Buffer) error { return WriteHandover(b, cannedHandover()) },
		"noplan": func(b *bytes.Buffer) error {
			s := cannedPlan()
			s.Steps, s.Uncut = nil, [][]string{{"settling-tank", "S1-check", "S1-inlet-pipe"}}
			s.Sources[1].Met = false
			return WritePlan(b, s)
		},
	} {
		var b bytes.Buffer
		if err := write(&b); err != nil {
			t.Fatal(err)
		}
		os.WriteFile("/tmp/look/"+name+".pdf", b.Bytes(), 0o644)
	}
}
