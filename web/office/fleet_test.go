package office

import (
	"bytes"
	"context"
	"crypto/rand"
	"encoding/hex"
	"flag"
	"fmt"
	"io"
	"net/http"
	"strings"
	"sync/atomic"
	"testing"

	"golang.org/x/mod/sumdb/note"
	"golang.org/x/mod/sumdb/tlog"
	"golang.org/x/sync/errgroup"

	"stillwatch/permits/register"
	"stillwatch/permits/shore/wire"
)

var benchEntries = flag.Int64("bench.entries", 6000, "entries of the log that the simulated ships send")

// A simulated ship sends, in the real protocol and with a key of its own, the entries of a log that a real register
// made. All ships of a fleet have the same entries: what the shore does with each is the same, and ten years of a
// ship are made in minutes.

// made is a log that a register has made, with its tree.
type made struct {
	bodies [][]byte
	hashes []tlog.Hash // stored, by index
}

// ReadHashes returns stored hashes by index.
func (m *made) ReadHashes(indexes []int64) ([]tlog.Hash, error) {
	out := make([]tlog.Hash, len(indexes))
	for i, index := range indexes {
		out[i] = m.hashes[index]
	}
	return out, nil
}

// makeLog lets a ship work until its log has so many entries, and leaves two permits at work.
func makeLog(t testing.TB, entries int64) *made {
	t.Helper()
	s := newShip(t, "Model")
	for s.Head().Size < entries-100 {
		s.works(true)
	}
	s.works(false)
	m := &made{}
	for m.size() < s.Head().Size {
		seg, err := s.Segment(context.Background(), m.size(), register.Bounds{Entries: 5000, Bytes: 64 << 20})
		if err != nil {
			t.Fatal(err)
		}
		for _, body := range seg.Entries {
			m.add(t, body)
		}
	}
	return m
}

func (m *made) add(t testing.TB, body []byte) {
	t.Helper()
	stored, err := tlog.StoredHashesForRecordHash(m.size(), tlog.RecordHash(body), m)
	if err != nil {
		t.Fatal(err)
	}
	m.bodies, m.hashes = append(m.bodies, body), append(m.hashes, stored...)
}

func (m *made) size() int64 { return int64(len(m.bodies)) }

// simulated is a ship with a key of its own that has the entries of a made log.
type simulated struct {
	*made
	signer note.Signer
	public string
}

func simulate(t testing.TB, m *made, n int) *simulated {
	t.Helper()
	private, public, err := note.GenerateKey(rand.Reader, fmt.Sprintf("stillwatch-%08x", n))
	if err != nil {
		t.Fatal(err)
	}
	s := &simulated{made: m, public: public}
	if s.signer, err = note.NewSigner(private); err != nil {
		t.Fatal(err)
	}
	return s
}

func (s *simulated) PublicKey() string { return s.public }

func (s *simulated) Sign(text string) ([]byte, error) {
	return note.Sign(&note.Note{Text: text}, s.signer)
}

// segment returns the packed entries [from, to).
func (s *simulated) segment(from, to int64) ([]byte, error) {
	root, err := tlog.TreeHash(to, s)
	if err != nil {
		return nil, err
	}
	seg := register.Segment{From: from, To: to, Entries: s.bodies[from:to]}
	if seg.Head, err = s.Sign(fmt.Sprintf("%s\n%d\n%s\n", s.signer.Name(), to, root)); err != nil {
		return nil, err
	}
	if from > 0 {
		before, err := tlog.TreeHash(from, s)
		if err != nil {
			return nil, err
		}
		seg.Since = hex.EncodeToString(before[:])
		if seg.Proof, err = tlog.ProveTree(to, from, s); err != nil {
			return nil, err
		}
	}
	return wire.Pack(wire.Parcel{Segment: seg})
}

// send sends one packed segment.
func (s *simulated) send(address string, packed []byte) error {
	r, err := http.NewRequest(http.MethodPost, address+wire.PathSegment, bytes.NewReader(packed))
	if err != nil {
		return err
	}
	if err := wire.SignRequest(r, s, packed); err != nil {
		return err
	}
	got, err := http.DefaultClient.Do(r)
	if err != nil {
		return err
	}
	defer got.Body.Close()
	text, err := io.ReadAll(got.Body)
	if err == nil && got.StatusCode != http.StatusOK {
		err = fmt.Errorf("%s: %s", got.Status, text)
	}
	return err
}

// simulateFleet enrols so many ships, without codes on paper: that is tried elsewhere.
func simulateFleet(t testing.TB, a *ashore, m *made, ships int) []*simulated {
	t.Helper()
	out := make([]*simulated, ships)
	for i := range out {
		out[i] = simulate(t, m, i)
		code, err := a.NewCode(context.Background(), fmt.Sprintf("Simulated %03d", i), false)
		if err != nil {
			t.Fatal(err)
		}
		act, err := out[i].Sign(wire.EnrolText(code, out[i].public))
		if err == nil {
			_, err = a.Enrol(context.Background(), out[i].public, wire.EnrolRequest{Code: code, Act: string(act)})
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	return out
}

// packed is one ship's segments, ready to be sent.
type packed struct {
	*simulated
	segments [][]byte
}

// packAll cuts and packs the entries [from, to) of every ship. The ships do that, not the shore.
func packAll(t testing.TB, fleet []*simulated, from, to int64) []packed {
	t.Helper()
	out := make([]packed, len(fleet))
	var g errgroup.Group
	g.SetLimit(4)
	for i, s := range fleet {
		out[i].simulated = s
		g.Go(func() error {
			for n := from; n < to; n += int64(wire.Usual.Entries) {
				p, err := s.segment(n, min(to, n+int64(wire.Usual.Entries)))
				if err != nil {
					return err
				}
				out[i].segments = append(out[i].segments, p)
			}
			return nil
		})
	}
	if err := g.Wait(); err != nil {
		t.Fatal(err)
	}
	return out
}

// sendAll sends them, so many ships at once, to the shores in turn.
func sendAll(t testing.TB, fleet []packed, shores ...*ashore) {
	t.Helper()
	var g errgroup.Group
	g.SetLimit(8)
	var turn atomic.Int64
	for _, s := range fleet {
		g.Go(func() error {
			for _, p := range s.segments {
				if err := s.send(shores[int(turn.Add(1))%len(shores)].site.URL, p); err != nil {
					return err
				}
			}
			return nil
		})
	}
	if err := g.Wait(); err != nil {
		t.Fatal(err)
	}
}

func TestTheSimulatedFleetIsTakenLikeARealOne(t *testing.T) {
	a := newAshore(t)
	other := serveShore(t, a.address)
	m := makeLog(t, 500)
	fleet := simulateFleet(t, a, m, 4)
	sendAll(t, packAll(t, fleet, 0, m.size()), a, other)
	for i, s := range fleet {
		var b strings.Builder
		var id int64
		a.ask(&id, "SELECT id FROM ships WHERE name = $1", fmt.Sprintf("Simulated %03d", i))
		if err := a.Export(context.Background(), id, &b); err != nil {
			t.Fatal(err)
		}
		report, err := register.Check(context.Background(), strings.NewReader(b.String()), s.public)
		if err != nil || !report.OK() || report.Entries != m.size() {
			t.Errorf("Check(ship %d) = %+v, %v", i, report, err)
		}
	}
}

// A ship's own key signs a log of which two entries were exchanged: hashes and head are right, and no gate would have
// made it. It is refused with the entry's number, alarmed, and nothing of the segment is ashore; what came before is.
func TestAnEntryThatNoGateMadeIsAlarmed(t *testing.T) {
	a := newAshore(t)
	right, wrong := makeLog(t, 200), &made{}
	bodies := append([][]byte(nil), right.bodies...)
	bodies[40], bodies[41] = bodies[41], bodies[40]
	for _, body := range bodies {
		wrong.add(t, body)
	}
	s := simulateFleet(t, a, wrong, 1)[0]
	packed, err := s.segment(0, 20)
	if err == nil {
		err = s.send(a.site.URL, packed)
	}
	if err != nil {
		t.Fatal(err)
	}
	if packed, err = s.segment(20, 100); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		err = s.send(a.site.URL, packed)
		if err == nil || !strings.Contains(err.Error(), "gate") || !strings.Contains(err.Error(), "entry 40") {
			t.Errorf("the segment = %v, want refused by a gate at entry 40", err)
		}
	}
	var entries int64
	if a.ask(&entries, "SELECT count(*) FROM entries"); entries != 20 {
		t.Errorf("%d entries ashore, want the 20 of before", entries)
	}
	alarms, err := a.Alarms(context.Background())
	if err != nil || len(alarms) != 1 || alarms[0].Kind != wire.RefusedGate {
		t.Errorf("alarms = %+v, %v", alarms, err)
	}
	if n, err := a.Explain(context.Background(), "Simulated 000", "tried on purpose"); n != 1 || err != nil {
		t.Errorf("Explain() = %d, %v", n, err)
	}
	if alarms, err = a.Alarms(context.Background()); err != nil || len(alarms) != 0 {
		t.Errorf("alarms that were explained = %+v, %v", alarms, err)
	}
}
