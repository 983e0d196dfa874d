package sheets

import (
	"net/url"

	"stillwatch/permits"
	"stillwatch/permits/paper"
	"stillwatch/web/screens"
)

// Scan returns the sheet on which somebody writes what they do at the points of a permit where there is no line.
// address makes the address of a page as a code carries it.
func Scan(p permits.Permit, address func(path string) string) paper.ScanSheet {
	s := paper.ScanSheet{Number: screens.PermitNumber(p.ID()), Title: p.Plan().MachineName + ": " + p.Plan().Title,
		URL: address(screens.WalkPath(p.ID()))}
	for _, st := range p.Plan().Steps {
		s.Rows = append(s.Rows, paper.ScanRow{Step: st.N, Point: string(st.Point), Name: st.Name, Place: Place(st.Place),
			Held: Position(st.Kind, st.Position), Lock: st.Lock, URL: address("/points/" + url.PathEscape(string(st.Point)))})
	}
	return s
}
