package store

// The rows of the tables; the tables themselves stand in migrations.

// EntryRow is one entry of the log: its number and its bytes.
type EntryRow struct {
	N    int64 `gorm:"primaryKey;autoIncrement:false"`
	Body []byte
}

// TableName returns the table's name, for gorm.
func (EntryRow) TableName() string { return "entries" }

// TreeRow holds the hashes that are stored with an entry: its leaf, then each subtree that it completes, 32 bytes each.
type TreeRow struct {
	N      int64 `gorm:"primaryKey;autoIncrement:false"`
	Hashes []byte
}

// TableName returns the table's name, for gorm.
func (TreeRow) TableName() string { return "tree" }

// HeadRow is the signed head of the log; the table has one row at most.
type HeadRow struct {
	One  int `gorm:"primaryKey;autoIncrement:false"` // 1
	Size int64
	Note string // signed
}

// TableName returns the table's name, for gorm.
func (HeadRow) TableName() string { return "head" }

// IndexRow is what an entry is found by.
type IndexRow struct {
	N      int64 `gorm:"primaryKey;autoIncrement:false"`
	At     int64
	ActID  string
	Kind   string
	Permit int64  // 0: the whole ship
	Person string // who acted
	About  string // whom it is about; "": nobody
}

// TableName returns the table's name, for gorm.
func (IndexRow) TableName() string { return "entry_index" }

// PointRow says that an entry concerns a point.
type PointRow struct {
	Point string `gorm:"primaryKey"`
	N     int64  `gorm:"primaryKey;autoIncrement:false"`
}

// TableName returns the table's name, for gorm.
func (PointRow) TableName() string { return "point_index" }

// PermitRow is what lists show of a permit.
type PermitRow struct {
	ID          int64 `gorm:"primaryKey;autoIncrement:false"`
	State       string
	Over        int64 // 1 or 0
	Job         string
	Machine     string
	MachineName string
	Title       string
	Work        string
	Exposure    string
	RequestedBy string
	RequestedAt int64
	Changed     int64
	Until       int64 // 0: not authorised
	Locks       int
	LocksOn     int
	SignedOn    int
	Entries     int
	LastEntry   int64
	Kinds       string // of the work, with commas between and around
}

// TableName returns the table's name, for gorm.
func (PermitRow) TableName() string { return "permits" }

// UseRow says from when to when somebody used the plan of a job, in days since 1970 UTC.
type UseRow struct {
	Job    string `gorm:"primaryKey"`
	Person string `gorm:"primaryKey"`
	First  int64
	Last   int64
}

// TableName returns the table's name, for gorm.
func (UseRow) TableName() string { return "uses" }

// CodeRow is the code of a tag or label. The log has its digest only.
type CodeRow struct {
	Digest string `gorm:"primaryKey"`
	Code   string
	Kind   string
	Permit int64
	Step   int
	Point  string
	Issued int64 // entry
}

// TableName returns the table's name, for gorm.
func (CodeRow) TableName() string { return "codes" }

// PINRow is the hash of a person's PIN.
type PINRow struct {
	Person string `gorm:"primaryKey"`
	Hash   string
	Entry  int64  // of the log, by which it was set
	Seal   string // over all of the row, by the ship's secret
}

// TableName returns the table's name, for gorm.
func (PINRow) TableName() string { return "pins" }

type sessionRow struct {
	Token string `gorm:"primaryKey"` // SHA-256 of the token
	Data  []byte
	Until int64
}

func (sessionRow) TableName() string { return "sessions" }

type markRow struct {
	Name  string `gorm:"primaryKey"`
	Value string
}

func (markRow) TableName() string { return "marks" }
