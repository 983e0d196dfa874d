package permits

import (
	"bytes"
	"encoding/json"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"stillwatch/isolation"
)

// sameReading compares the short way with the long one: what the first takes, the second reads alike.
func sameReading(t interface{ Errorf(string, ...any) }, text []byte) (plain bool) {
	short, ok := readPlain(7, text)
	if !ok {
		return false
	}
	long, err := readAny(7, text)
	if err != nil || !reflect.DeepEqual(short, long) {
		t.Errorf("readPlain(%s) = %+v, want what readAny gives: %+v, %v", text, short, long, err)
	}
	return true
}

// Every entry that people make is read the short way, and as the long way reads it.
func TestEntriesOfAnyHistoryAreReadThePlainWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := newRig(t)
		r.must(0, tomas, Request{Plan: r.plan(), Work: "Shaft seal"})
		for range rapid.IntRange(10, 80).Draw(t, "acts") {
			a := drawAct(t, r)
			_ = r.try(1, drawPerson(t, r.permits[1], a), a) // a refusal leaves no entry
		}
		for _, e := range r.entries {
			text, err := e.Encode()
			if err != nil {
				t.Fatal(err)
			}
			if !sameReading(t, text) {
				t.Errorf("readPlain(%s) leaves it to encoding/json", text)
			}
		}
	})
}

// plainSeeds are entries with everything that the short way must read or leave alone.
func plainSeeds(t testing.TB) [][]byte {
	at := time.Date(2026, 3, 1, 8, 0, 0, 123000, time.UTC)
	zoe := Person{ID: "zoe", Name: "Zoë Ødegård", Rank: "2nd", Roles: []Role{Technician, "stoker"}}
	found := []isolation.Finding{{OK: true, Result: `drained "dry" \ ]} here`}}
	var out [][]byte
	for _, e := range []Entry{
		{At: at, ActID: "A1", Kind: KindSignIn, By: "zoe", Act: SignIn{Person: "zoe", Device: "phone"}},
		{At: at, ActID: "A2", Kind: KindProve, Permit: 12, By: "zoe", Signed: Signature{zoe, Technician, at}, To: Proving,
			Act: Prove{}},
		{At: at, ActID: "A3", Kind: KindRecordDrain, Permit: 1, By: "zoe", To: Proving, Found: found,
			Act: RecordDrain{Section: "s", Reading: isolation.DrainReading{OutL: 1.5}}},
		{At: at, ActID: "A<4>", Kind: KindRefusedAct, Act: RefusedAct{Of: "x", What: "é\n\"quoted\""}},
		{At: at, ActID: "A5", Kind: KindProve, Permit: 1, By: "zoe",
			Signed: Signature{Person{ID: "zoe", Roles: []Role{}, Left: true}, "", at}, Act: Prove{}},
	} {
		text, err := e.Encode()
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, text)
	}
	return out
}

// What is not as Encode writes it, and what reads otherwise than it looks, is left to encoding/json.
func TestReadPlainLeavesAloneWhatItDoesNotKnow(t *testing.T) {
	text := string(plainSeeds(t)[1])
	for _, tc := range []struct{ name, old, now string }{
		{"blank", `,"act_id":`, `, "act_id":`},
		{"key in another case", `"kind":`, `"Kind":`},
		{"escape", `"prove"`, `"pro\u0076e"`},
		{"leading nought", `"permit":12`, `"permit":012`},
		{"fraction", `"permit":12`, `"permit":12.5`},
		{"too great", `"permit":12`, `"permit":9223372036854775808`},
		{"unknown kind", `"prove"`, `"approve"`},
		{"unknown state", `"proving"`, `"flying"`},
		{"second act", `"act":{}`, `"act":{},"act":{"n":2}`},
		{"a kind behind the act", `"act":{}`, `"act":{},"kind":"accept"`},
		{"no act", `,"act":{}`, ``},
		{"something behind", `"act":{}}`, `"act":{}} `},
		{"not UTF-8", `Zoë`, "Zo\xeb"},
		{"a time that is none", `2026-03-01T`, `2026-13-01T`},
		{"cut short", `"act":{}}`, `"act":{`},
	} {
		changed := bytes.Replace([]byte(text), []byte(tc.old), []byte(tc.now), 1)
		if string(changed) == text {
			t.Fatalf("%s: %s is not in %s", tc.name, tc.old, text)
		}
		if e, ok := readPlain(0, changed); ok {
			t.Errorf("%s: readPlain(%s) = %+v, want it left alone", tc.name, changed, e)
		}
	}
}

// Whatever bytes come: what the short way reads, the long way reads alike.
func FuzzPlainEntryIsReadAsAnyOther(f *testing.F) {
	for _, text := range plainSeeds(f) {
		f.Add(text)
		var pretty bytes.Buffer
		if err := json.Indent(&pretty, text, "", " "); err != nil {
			f.Fatal(err)
		}
		f.Add(pretty.Bytes())
	}
	f.Fuzz(func(t *testing.T, text []byte) { sameReading(t, text) })
}

// A fold in place ends where Apply, which changes nothing, ends; and Apply leaves every earlier permit as it was.
func TestAdvanceEndsWhereApplyEnds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := newRig(t)
		r.must(0, tomas, Request{Plan: r.plan(), Work: "Shaft seal"})
		for range rapid.IntRange(10, 80).Draw(t, "acts") {
			a := drawAct(t, r)
			_ = r.try(1, drawPerson(t, r.permits[1], a), a)
		}
		var owned, p Permit
		for _, e := range r.entries {
			Advance(&owned, e)
			p = Apply(p, e)
			if !reflect.DeepEqual(owned, p) {
				t.Fatalf("after %s Advance() makes %+v, want %+v", e.Kind, owned, p)
			}
			other := e
			other.Permit++
			if Advance(&owned, other); !reflect.DeepEqual(owned, p) {
				t.Fatalf("Advance() took an entry of another permit")
			}
		}
	})
}
