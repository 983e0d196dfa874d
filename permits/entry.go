package permits

import (
	"encoding/json"
	"time"

	"stillwatch/isolation"
)

// PermitID is a permit's number: 1, 2, 3 … in the order of requests. 0 is no permit.
type PermitID int64

// Entry is one line of the log: one act that happened, or was refused. An entry is never changed; a mistake is
// corrected by a later one. N is its place in the log, from 0; the register sets it.
type Entry struct {
	N      int64
	At     time.Time // the server's clock, UTC
	ActID  ActID
	Kind   Kind
	Permit PermitID // 0: it concerns the whole ship
	By     PersonID // whoever acted: the signer of a signed act, else whoever was signed in
	Signed Signature
	Act    Act
	To     State               // state of the permit after it
	Found  []isolation.Finding // verdicts on what was read
}

// entryRecord is an entry as its bytes in the log. N is not in it: the place in the tree says it.
type entryRecord struct {
	At     time.Time           `json:"at"`
	ActID  ActID               `json:"act_id"`
	Kind   Kind                `json:"kind"`
	Permit PermitID            `json:"permit,omitempty"`
	By     PersonID            `json:"by,omitempty"`
	Signed *signatureRecord    `json:"signed,omitempty"` // not a Signature, whose own methods read it twice
	To     State               `json:"to,omitzero"`
	Found  []isolation.Finding `json:"found,omitempty"`
	Act    any                 `json:"act"` // an Act when written, a *json.RawMessage when read
}

// Encode returns the entry's bytes: JSON with a fixed order of keys. The log's hash is over exactly these bytes.
func (e Entry) Encode() ([]byte, error) {
	r := entryRecord{At: e.At.UTC(), ActID: e.ActID, Kind: e.Kind, Permit: e.Permit, By: e.By, To: e.To, Found: e.Found,
		Act: e.Act}
	if !e.Signed.IsZero() {
		r.Signed = &signatureRecord{e.Signed.by, e.Signed.role, e.Signed.at}
	}
	return json.Marshal(r)
}

// DecodeEntry reads what Encode wrote; DecodeEntry(Encode(e)) is e but for N.
func DecodeEntry(n int64, text []byte) (Entry, error) {
	var body json.RawMessage
	r := entryRecord{Act: &body}
	if err := json.Unmarshal(text, &r); err != nil {
		return Entry{}, err
	}
	act, err := DecodeAct(r.Kind, body)
	if err != nil {
		return Entry{}, err
	}
	e := Entry{N: n, At: r.At, ActID: r.ActID, Kind: r.Kind, Permit: r.Permit, By: r.By, Act: act, To: r.To,
		Found: r.Found}
	if r.Signed != nil {
		e.Signed = Signature{r.Signed.By, r.Signed.Role, r.Signed.At}
	}
	return e, nil
}
