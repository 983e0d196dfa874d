package register

import (
	"sync"

	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

// issuedMost is how many codes are remembered: the tags of some hundred permits.
const issuedMost = 8192

// issuedCodes remembers what was issued under which digest, which never changes. Whether a code still does something is
// asked of the permits and labels each time. Codes themselves are not in it.
type issuedCodes struct {
	mu   sync.RWMutex
	rows map[permits.TagDigest]store.CodeRow
}

func (i *issuedCodes) find(digest permits.TagDigest) (store.CodeRow, bool) {
	i.mu.RLock()
	defer i.mu.RUnlock()
	row, known := i.rows[digest]
	return row, known
}

// put remembers a row that is on the disk, and forgets all when there are too many.
func (i *issuedCodes) put(row store.CodeRow) {
	i.mu.Lock()
	defer i.mu.Unlock()
	if len(i.rows) >= issuedMost || i.rows == nil {
		i.rows = map[permits.TagDigest]store.CodeRow{}
	}
	row.Code = ""
	i.rows[permits.TagDigest(row.Digest)] = row
}
