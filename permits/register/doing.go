package register

import (
	"stillwatch/permits"
)

// Doing is one act on its way into the log: what, on which permit, by whom.
type Doing struct {
	ID     permits.ActID    // made where the act was made; 8 to 64 letters, digits, '-' and '_'; see NewActID
	Permit permits.PermitID // 0 for a request and for acts that concern the whole ship
	Act    permits.Act
	By     permits.PersonID // who is signed in
	Signer permits.PersonID // who signs a signed act, also on another's phone; "" is By
	PIN    string           // of the signer; empty for acts that are not signed
	Device string           // what PIN slow-down counts by: an address or a session's own mark
}

// signer gives who signs.
func (d Doing) signer() permits.PersonID {
	if d.Signer != "" {
		return d.Signer
	}
	return d.By
}

// Receipt says that an act is in the log and on the disk.
type Receipt struct {
	Entry    permits.Entry
	Permit   permits.Permit // after the entry; zero for acts that concern the whole ship
	Repeated bool           // the act had happened before: this is the receipt of then, with the permit as it stands now
}
