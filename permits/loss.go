package permits

import "regexp"

// KindAcceptLoss says that entries were lost for good.
const KindAcceptLoss Kind = "accept loss"

// AcceptLoss says that the log had more entries once, as a head shows that the ship's own key signed, and that they are
// lost: an older copy was put back. The locks aboard have been looked at, since what hung then stands in no log. Heads
// of this size and below are not held against the log any more.
type AcceptLoss struct {
	Size  int64  `json:"size"` // entries that the lost head counts
	Hash  string `json:"hash"` // of its tree, hex
	Words string `json:"words"`
}

// Kind says which act this is.
func (AcceptLoss) Kind() Kind { return KindAcceptLoss }

func (AcceptLoss) rule() rule { return signedBy("accept the loss of entries", ChiefEngineer, Master) }

func (a AcceptLoss) tell(Names, Entry) string {
	return "accepted that entries are lost of a log that had " + itoa(int(a.Size)) + " (head " + a.Hash[:min(12,
		len(a.Hash))] +
		"): " + a.Words
}

func (AcceptLoss) touches(Permit) Touched { return Touched{} }

var hashPattern = regexp.MustCompile(`^[0-9a-f]{64}$`)

func (a AcceptLoss) decideShip(s Setting) error {
	if a.Size <= s.Ship.LostUpTo || !hashPattern.MatchString(a.Hash) {
		return refuse("accept loss", "", "No newer copy of the log is known, so no entry is lost.")
	}
	return words("words", a.Words, 10, 500)
}

func (a AcceptLoss) applyShip(_ Entry, ship *Ship) { ship.LostUpTo = a.Size }
