package office

import (
	"bytes"
	"context"
	"errors"
	"os"
	"strings"
	"testing"

	"stillwatch/permits"
	"stillwatch/permits/register"
	"stillwatch/permits/shore/sender"
	"stillwatch/permits/shore/wire"
)

// A ship's log is ashore entry by entry as it is aboard, and the log that the shore writes out for an inspector
// passes the check that needs nothing but that file and the ship's public key.
func TestWhatAShipSendsIsAshoreWhole(t *testing.T) {
	a := newAshore(t)
	s := newShip(t, "North Example")
	out := s.enrolled(a)
	s.works(true)
	s.works(false)
	s.do(0, permits.RecordPassing{Point: "V1", Words: "drips"}, "fitter")
	all(t, out)
	var aboard, ashore bytes.Buffer
	if err := register.Export(context.Background(), s.dir, &aboard); err != nil {
		t.Fatal(err)
	}
	if err := a.Export(context.Background(), shipID(a, s), &ashore); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(aboard.Bytes(), ashore.Bytes()) {
		t.Error("the log that the shore exports is not, byte for byte, what the ship exports")
	}
	report, err := register.Check(context.Background(), bytes.NewReader(ashore.Bytes()), s.PublicKey())
	if err != nil || !report.OK() || report.Entries != s.Head().Size || report.Permits != 2 {
		t.Errorf("Check(what the shore exports) = %+v, %v", report, err)
	}
}

func shipID(a *ashore, s *ship) int64 {
	var id int64
	a.ask(&id, "SELECT id FROM ships WHERE name = $1 ORDER BY id DESC LIMIT 1", s.name)
	return id
}

// refusedAs sends a parcel by hand and looks with which reason it is refused, and that nothing of it is ashore.
func refusedAs(t *testing.T, a *ashore, s *ship, kind string, p wire.Parcel) {
	t.Helper()
	var before, after int64
	a.ask(&before, "SELECT count(*) FROM entries")
	_, err := s.client(a.site.URL).Send(context.Background(), p)
	var no *sender.Refused
	if !errors.As(err, &no) || no.Refused != kind || len(no.Words) < 20 {
		t.Errorf("refused as %+v (%v), want %q", no, err, kind)
	}
	if a.ask(&after, "SELECT count(*) FROM entries"); after != before {
		t.Errorf("of a segment refused as %q %d entries are ashore", kind, after-before)
	}
}

func cut(t *testing.T, s *ship, from int64, most int) wire.Parcel {
	t.Helper()
	seg, err := s.Segment(context.Background(), from, register.Bounds{Entries: most, Bytes: 1 << 20})
	if err != nil {
		t.Fatal(err)
	}
	return wire.Parcel{Segment: seg}
}

func TestSegmentsThatAreNotRightAreRefusedWithAReason(t *testing.T) {
	a := newAshore(t)
	s, other := newShip(t, "North Example"), newShip(t, "East Example")
	s.enrolled(a)
	other.enrolled(a)
	s.works(true)
	other.works(true)
	forge := func(p wire.Parcel, how func(*wire.Parcel)) wire.Parcel {
		p.Entries = append([][]byte(nil), p.Entries...)
		how(&p)
		return p
	}
	first := cut(t, s, 0, 20)
	t.Run("an entry changed", func(t *testing.T) {
		refusedAs(t, a, s, wire.RefusedForged, forge(first, func(p *wire.Parcel) {
			p.Entries[7] = bytes.Replace(p.Entries[7], []byte("2026"), []byte("2025"), 1)
		}))
	})
	t.Run("entries out of order", func(t *testing.T) {
		refusedAs(t, a, s, wire.RefusedForged, forge(first, func(p *wire.Parcel) {
			p.Entries[7], p.Entries[8] = p.Entries[8], p.Entries[7]
		}))
	})
	t.Run("the last entry left out", func(t *testing.T) {
		refusedAs(t, a, s, wire.RefusedForged, forge(first, func(p *wire.Parcel) { p.To--; p.Entries = p.Entries[:19] }))
	})
	t.Run("another ship's", func(t *testing.T) {
		refusedAs(t, a, s, wire.RefusedForged, cut(t, other, 0, 20))
	})
	t.Run("a later one first", func(t *testing.T) { refusedAs(t, a, s, wire.RefusedGap, cut(t, s, 20, 20)) })
	t.Run("of a key that nobody enrolled", func(t *testing.T) {
		stranger := newShip(t, "Stranger")
		refusedAs(t, a, stranger, wire.RefusedKey, cut(t, stranger, 0, 5))
	})
	t.Run("cut on the way", func(t *testing.T) {
		packed, err := wire.Pack(first)
		if err != nil {
			t.Fatal(err)
		}
		for _, n := range []int{0, 1, 10, len(packed) / 2, len(packed) - 9, len(packed) - 1} {
			if _, err := wire.Unpack(packed[:n]); !errors.Is(err, wire.ErrTorn) {
				t.Errorf("Unpack(%d of %d bytes) = %v, want torn", n, len(packed), err)
			}
		}
	})
	c := s.client(a.site.URL)
	if _, err := c.Send(context.Background(), first); err != nil {
		t.Fatal(err)
	}
	t.Run("the same again", func(t *testing.T) {
		again, err := c.Send(context.Background(), first)
		if err != nil || again.Size != 20 {
			t.Errorf("the same segment again = %+v, %v", again, err)
		}
	})
	t.Run("the same head, other entries", func(t *testing.T) {
		refusedAs(t, a, s, wire.RefusedForged, forge(first, func(p *wire.Parcel) { p.Entries[3] = p.Entries[4] }))
	})
	t.Run("partly ashore", func(t *testing.T) { refusedAs(t, a, s, wire.RefusedOverlap, cut(t, s, 10, 20)) })
	t.Run("a proof changed", func(t *testing.T) {
		refusedAs(t, a, s, wire.RefusedForged, forge(cut(t, s, 20, 5), func(p *wire.Parcel) { p.Proof[0][3] ^= 1 }))
	})
	t.Run("the head of a shorter log", func(t *testing.T) {
		refusedAs(t, a, s, wire.RefusedForged, forge(cut(t, s, 20, 5), func(p *wire.Parcel) { p.Head = first.Head }))
	})
	var alarms int
	if a.ask(&alarms, "SELECT count(*) FROM alarms"); alarms != 0 {
		t.Errorf("%d alarms about segments that anybody can make up, want none", alarms)
	}
}

// copyOf copies a data folder.
func copyOf(t *testing.T, dir string) string {
	t.Helper()
	to := t.TempDir()
	if err := os.CopyFS(to, os.DirFS(dir)); err != nil {
		t.Fatal(err)
	}
	return to
}

// A ship whose database was put back to an older copy, and one that went on from there, are alarmed ashore and aboard
// with the first thing that they send; aboard nothing leads on to work.
func TestAForkedShipIsAlarmedWithinOnePush(t *testing.T) {
	for _, c := range []struct {
		name, kind, words string
		goesOn            int // permits after the older copy was put back
	}{{"rolled back", wire.RefusedBack, "older", 0}, {"forked", wire.RefusedFork, "another way", 2}} {
		t.Run(c.name, func(t *testing.T) {
			a := newAshore(t)
			s := newShip(t, "North Example")
			s.enrolled(a)
			s.works(true)
			if err := s.Close(); err != nil {
				t.Fatal(err)
			}
			old := copyOf(t, s.dir)
			s.open()
			out := s.to(a.site.URL, wire.Usual)
			s.works(true)
			all(t, out)
			had := s.Head().Size
			if err := s.Close(); err != nil {
				t.Fatal(err)
			}
			s.dir = old
			s.open()
			for range c.goesOn {
				s.wait(time48)
				s.works(true)
			}
			out = s.to(a.site.URL, wire.Usual)
			_, err := out.Once(context.Background())
			var no *sender.Refused
			if !errors.As(err, &no) || no.Refused != c.kind {
				t.Fatalf("the push = %v, want refused as %q", err, c.kind)
			}
			alarms, err := a.Alarms(context.Background())
			if err != nil || len(alarms) != 1 || alarms[0].Kind != c.kind || !strings.Contains(alarms[0].Words, c.words) {
				t.Fatalf("alarms ashore = %+v, %v", alarms, err)
			}
			var size int64
			if a.ask(&size, "SELECT count(*) FROM entries"); size != had {
				t.Errorf("%d entries ashore, want the %d of before", size, had)
			}
			aboard := map[register.NoticeKind]string{}
			for _, n := range s.Notices(context.Background()) {
				aboard[n.Kind] = n.Words
			}
			if !strings.Contains(aboard[register.NoticeShore], c.words) || aboard[register.NoticeLost] == "" {
				t.Errorf("notices aboard = %v", aboard)
			}
			if _, err := s.try(0, permits.Request{Plan: s.plan, Work: "Go on"}, "fitter"); err != nil {
				t.Fatal(err)
			}
			if _, err := s.try(permits.PermitID(s.OpenPermits()[0].ID()), permits.Authorise{Hours: 8}, "oow"); err == nil {
				t.Error("a permit was authorised on a register that the shore contradicts")
			}
			if _, err := out.Once(context.Background()); err == nil {
				t.Error("the second push was taken")
			}
			if alarms, _ := a.Alarms(context.Background()); len(alarms) != 1 {
				t.Errorf("%d alarms about one contradiction", len(alarms))
			}
		})
	}
}

// A ship's key is replaced by an act that the old and the new one sign. It may break off anywhere, and is then run
// again; afterwards the old key is worth nothing, and the log goes on.
func TestAKeyIsReplacedByASignedAct(t *testing.T) {
	a := newAshore(t)
	s := newShip(t, "North Example")
	out := s.enrolled(a)
	s.works(true)
	all(t, out)
	old := s.client(a.site.URL)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	before, err := register.PublicKey(s.dir)
	if err != nil {
		t.Fatal(err)
	}
	var acts [][]byte
	lost := errors.New("the link broke off")
	take := func(ctx context.Context, by register.Signer, act []byte) error {
		acts = append(acts, act)
		c, err := sender.NewClient(a.site.URL, by)
		if err == nil {
			_, err = c.ReplaceKey(ctx, act)
		}
		if len(acts) == 1 {
			return lost // the shore has taken it, and its answer did not come
		}
		return err
	}
	if _, err := register.ReplaceKey(context.Background(), s.dir, take); !errors.Is(err, lost) {
		t.Fatalf("ReplaceKey() = %v, want that the link broke off", err)
	}
	key, err := register.ReplaceKey(context.Background(), s.dir, take)
	if err != nil || key == before || !bytes.Equal(acts[0], acts[1]) {
		t.Fatalf("ReplaceKey() = %s, %v; the same act twice: %v", key, err, bytes.Equal(acts[0], acts[1]))
	}
	s.open()
	out = s.to(a.site.URL, wire.Usual)
	s.works(true)
	all(t, out)
	isAshoreOnce(t, a, s)
	var no *sender.Refused
	if _, err := old.Position(context.Background()); !errors.As(err, &no) || no.Refused != wire.RefusedKey {
		t.Errorf("the old key asks: %v, want that the shore does not know it", err)
	}
	stranger := newShip(t, "Stranger")
	c := stranger.client(a.site.URL)
	if _, err := c.ReplaceKey(context.Background(), acts[0]); !errors.As(err, &no) || no.Refused != wire.RefusedRequest {
		t.Errorf("another sends the act: %v", err)
	}
}

// A code enrols one ship, once.
func TestACodeIsGoodOnce(t *testing.T) {
	a := newAshore(t)
	ctx := context.Background()
	code, err := a.NewCode(ctx, "North Example", false)
	if err != nil {
		t.Fatal(err)
	}
	s, other := newShip(t, "North Example"), newShip(t, "Other")
	if _, err := s.client(a.site.URL).Enrol(ctx, "AAAAA-BBBBB-CCCCC"); err == nil {
		t.Error("a code that nobody made enrolled a ship")
	}
	for range 2 {
		if got, err := s.client(a.site.URL).Enrol(ctx, strings.ToLower(code)); err != nil || got.Ship != "North Example" {
			t.Errorf("Enrol() = %+v, %v", got, err)
		}
	}
	var no *sender.Refused
	if _, err := other.client(a.site.URL).Enrol(ctx, code); !errors.As(err, &no) || no.Refused != wire.RefusedCode {
		t.Errorf("another ship with the same code = %v", err)
	}
	if _, err := a.NewCode(ctx, "North Example", false); err == nil {
		t.Error("a second code for a ship that is enrolled")
	}
	s.works(true)
	all(t, s.to(a.site.URL, wire.Usual))
	anew, err := a.NewCode(ctx, "North Example", true)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.client(a.site.URL).Enrol(ctx, anew); err != nil {
		t.Fatalf("enrol anew = %v", err)
	}
	all(t, s.to(a.site.URL, wire.Usual))
	isAshoreOnce(t, a, s)
	var logs int
	if a.ask(&logs, "SELECT count(*) FROM ships"); logs != 2 {
		t.Errorf("%d logs of the ship, want that of before too", logs)
	}
}
