package paper

import "strings"

// OilDraft is the draft of one entry of the Oil Record Book, for one tank. It is printed to be copied by hand: neither
// this program nor this sheet is the book.
type OilDraft struct {
	Tank  string   // "" where nobody wrote where the oil went
	Lines []string // as the draft gives them, blanks included
}

// oilDraftCaution stands over every draft.
const oilDraftCaution = "DRAFT, OFFERED AND NOT WRITTEN. The officer in charge of the operation checks it against " +
	"the tanks and writes the book."

// permitOilDrafts prints the drafts under the totals; nothing where there are none.
func (p *sheet) permitOilDrafts(drafts []OilDraft) {
	if len(drafts) == 0 {
		return
	}
	p.heading("Oil Record Book: drafts to be checked", 24)
	p.framed(oilDraftCaution)
	for _, d := range drafts {
		tank := d.Tank
		if strings.TrimSpace(tank) == "" {
			tank = "nobody wrote where it went"
		}
		p.para(bold, "Tank: "+tank)
		p.list(d.Lines, "No draft.")
		p.y++
	}
}
