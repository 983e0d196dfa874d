package web

import (
	"strconv"
	"testing"
	"time"

	"stillwatch/permits"
	"stillwatch/permits/register"
)

// TestASessionWithoutItsSigningInEnds writes sessions into the register's store as somebody with the database could,
// and starts the pages anew: those of which the log knows no signing in are gone, and what people had stays.
func TestASessionWithoutItsSigningInEnds(t *testing.T) {
	a := ship(t)
	a.as("tech")
	in, err := a.reg.Entries(t.Context(), register.EntryQuery{Kind: permits.KindSignIn, Limit: 1})
	if err != nil || len(in) != 1 {
		t.Fatal(in, err)
	}
	put := func(token, person string, entry int64) {
		data, err := sessionCodec{}.Encode(a.clock().Add(time.Hour), map[string]any{keyPerson: person,
			keyEntry: strconv.FormatInt(entry, 10), keySeen: strconv.FormatInt(a.clock().Unix(), 10)})
		if err != nil {
			t.Fatal(err)
		}
		if err := a.reg.Sessions().Commit(token, data, a.clock().Add(time.Hour)); err != nil {
			t.Fatal(err)
		}
	}
	put("tech's own", "tech", in[0].N)
	put("of another's signing in", "chief", in[0].N)
	put("of an entry to come", "chief", 1<<40)
	put("of an entry that is something else", "oow", 0)
	if _, err := New(a.reg, Config{Now: a.clock}); err != nil {
		t.Fatal(err)
	}
	for token, want := range map[string]bool{"tech's own": true, "of another's signing in": false,
		"of an entry to come": false, "of an entry that is something else": false} {
		if _, found, err := a.reg.Sessions().Find(token); err != nil || found != want {
			t.Errorf("session %s: kept %t, %v, want %t", token, found, err, want)
		}
	}
}
