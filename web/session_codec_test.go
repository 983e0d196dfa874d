package web

import (
	"testing"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/google/go-cmp/cmp"
)

var codecUntil = time.Date(2026, 3, 1, 20, 0, 0, 123456789, time.UTC)

// remembered is a session with everything that one can remember.
func remembered() map[string]any {
	return map[string]any{keyPerson: "zoë", keySince: int64(1772352000123456), keySeen: int64(-1), keyLabel: "",
		keyPoint: "S1-V1\x00t", keyLabelAt: int64(0)}
}

func TestSessionIsReadAsItWasWritten(t *testing.T) {
	for name, codec := range map[string]scs.Codec{"own": sessionCodec{}, "as scs wrote it before": scs.GobCodec{}} {
		for _, values := range []map[string]any{{}, remembered()} {
			b, err := codec.Encode(codecUntil, values)
			if err != nil {
				t.Fatal(err)
			}
			until, got, err := sessionCodec{}.Decode(b)
			if err != nil || !until.Equal(codecUntil) || len(values)+len(got) > 0 && !cmp.Equal(got, values) {
				t.Errorf("%s: Decode(Encode(%v, %v)) = %v, %v, %v", name, codecUntil, values, until, got, err)
			}
		}
	}
}

func TestSessionRefusesWhatItCouldNotReadBack(t *testing.T) {
	for _, v := range []any{7, 1.5, true, nil, []byte("x")} {
		if _, err := (sessionCodec{}).Encode(codecUntil, map[string]any{"x": v}); err == nil {
			t.Errorf("Encode(%T) = nil, want an error", v)
		}
	}
}

func TestSessionCutShortIsNoSession(t *testing.T) {
	b, err := sessionCodec{}.Encode(codecUntil, map[string]any{keyPerson: "mate"})
	if err != nil {
		t.Fatal(err)
	}
	whole := len(codecMark)
	if _, _, err := (sessionCodec{}).Decode(b); err != nil {
		t.Fatal(err)
	}
	for n := range b {
		if _, values, err := (sessionCodec{}).Decode(b[:n]); err == nil && len(values) > 0 {
			t.Errorf("Decode(%d of %d bytes) = %v, want an error", n, len(b), values)
		}
	}
	if _, _, err := (sessionCodec{}).Decode(b[:whole]); err == nil {
		t.Error("Decode(nothing but the mark) = nil, want an error")
	}
}

// Whatever bytes lie in the table: a session or an error, never a panic.
func FuzzSessionBytes(f *testing.F) {
	for _, codec := range []scs.Codec{sessionCodec{}, scs.GobCodec{}} {
		b, err := codec.Encode(codecUntil, remembered())
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		until, values, err := sessionCodec{}.Decode(b)
		if err != nil || len(b) < len(codecMark) || string(b[:len(codecMark)]) != codecMark {
			return
		}
		again, err := sessionCodec{}.Encode(until, values)
		if err != nil {
			t.Fatalf("Encode(what Decode gave) = %v", err)
		}
		if _, got, err := (sessionCodec{}).Decode(again); err != nil || !cmp.Equal(got, values) {
			t.Errorf("Decode(Encode(%v)) = %v, %v", values, got, err)
		}
	})
}

func BenchmarkReadSession(b *testing.B) {
	for name, codec := range map[string]scs.Codec{"own": sessionCodec{}, "gob": scs.GobCodec{}} {
		bytes, err := codec.Encode(codecUntil, remembered())
		if err != nil {
			b.Fatal(err)
		}
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, _, err := codec.Decode(bytes); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
