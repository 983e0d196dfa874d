package register

import (
	"context"
	"testing"

	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

// A code is remembered when it is issued; what is remembered is bounded, holds no code, and is never trusted for
// whether the code still does something.
func TestIssuedCodesAreRemembered(t *testing.T) {
	a := manned(t)
	id := a.request()
	p := a.must(id, permits.Authorise{Hours: 12}, officer.ID).Permit
	codes, err := a.TagCodes(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	code := codes[1]
	row, known := a.issued.find(code.Digest())
	if !known || row.Code != "" || row.Permit != int64(id) || row.Step != 1 ||
		row.Point != string(p.Locks()[0].Step.Point) {
		t.Errorf("after the authorisation the memory holds %+v, %v of tag 1, want its permit, step and point without the "+
			"code", row, known)
	}
	fromMemory, err := a.FindTag(context.Background(), code)
	if err != nil {
		t.Fatal(err)
	}
	a.issued.rows = nil
	if fromDisk, err := a.FindTag(context.Background(), code); err != nil || fromDisk != fromMemory {
		t.Errorf("FindTag() = %+v, %v from the disk, %+v from memory, want the same", fromDisk, err, fromMemory)
	}
	a.must(id, permits.Cancel{Words: "put off"}, officer.ID)
	if tag, err := a.FindTag(context.Background(), code); err != nil || !tag.Over {
		t.Errorf("FindTag() = %+v, %v after the permit was cancelled, want it over", tag, err)
	}
	for range issuedMost + 1 {
		c, err := permits.NewTagCode(a.random)
		if err != nil {
			t.Fatal(err)
		}
		a.issued.put(store.CodeRow{Digest: string(c.Digest())})
	}
	if len(a.issued.rows) > issuedMost {
		t.Errorf("%d codes are remembered, want at most %d", len(a.issued.rows), issuedMost)
	}
}
