package register

import (
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// PermitQuery says which permits a list holds; zero fields ask for nothing. Newest first.
type PermitQuery struct {
	States  []permits.State // none: any state
	Open    bool            // only those that are not over
	Machine string
	Text    string           // somewhere in number, machine, title or work; any case
	Before  permits.PermitID // numbers below this one, for the next page
	Limit   int              // 0: 50; at most 500
}

// PermitLine is one permit in a list.
type PermitLine struct {
	ID          permits.PermitID
	State       permits.State
	Job         string
	Machine     string
	MachineName string
	Title       string
	Work        string
	Exposure    isolation.Exposure
	RequestedBy permits.PersonID
	RequestedAt time.Time
	Changed     time.Time
	Until       time.Time // zero: not authorised
	Locks       int       // steps of the plan
	LocksOn     int
	SignedOn    int
	Entries     int
	LastEntry   int64
}

// TagKind says what a code stands for.
type TagKind string

// What a code can stand for.
const (
	LockTag    TagKind = "lock tag"
	PointLabel TagKind = "point label"
	VoidLabel  TagKind = "void label" // a point label in whose place another was issued
)

// Tag is what a code turned out to be.
type Tag struct {
	Kind   TagKind
	Digest permits.TagDigest
	Permit permits.PermitID // of a lock tag
	Step   int              // of a lock tag, from 1
	Point  isolation.NodeID
	Over   bool  // the lock tag's permit is over, or the label is void: the code does nothing any more
	Issued int64 // entry that issued it
}

// EntryQuery says which entries a list holds; zero fields ask for nothing.
type EntryQuery struct {
	Permit permits.PermitID
	Point  isolation.NodeID
	Person permits.PersonID // who acted, or whom it is about
	Kind   permits.Kind
	Before int64  // numbers below this one, newest first; 0: from the newest. Not together with After
	After  *int64 // numbers above this one, oldest first
	Limit  int    // 0: 100; at most 1000
}

// Head is how far the log reaches, and the hash over all of it.
type Head struct {
	Size   int64
	Hash   string    // of the tree (RFC 6962), 64 hex digits
	Short  string    // its first twelve digits, in groups of four, for paper
	Signed []byte    // signed note: the key's name, the size, the hash in base 64, and the signature
	At     time.Time // of the last entry
}

// NoticeKind is what a notice is about. Kinds are only ever added.
type NoticeKind string

// What notices are about.
const (
	NoticePIN    NoticeKind = "pin"
	NoticeClock  NoticeKind = "clock"
	NoticeDisk   NoticeKind = "disk"
	NoticeBackup NoticeKind = "backup"
)

// Notice is something that the officer of the watch must be told.
type Notice struct {
	Kind  NoticeKind
	Since time.Time
	Words string
	Do    string // what is to be done about it
}
