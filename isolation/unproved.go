package isolation

// Unproved is one thing that a plan does not prove because the plant file does not say enough, or the ship does not
// have what it takes. Somebody must find out and answer for it; a plan that leaves one out is refused by the proof.
type Unproved struct {
	Kind  string `json:"kind"`
	Node  NodeID `json:"node,omitempty"`
	Words string `json:"words"`
}

// The kinds of what a plan may leave unproved.
const (
	UnprovedSource = "no source"  // nothing in the plant file can come to the work
	UnprovedDrive  = "drive"      // a consumer of the machine keeps its electrical supply
	UnprovedLess   = "deviation"  // a source is cut by less than the rules ask for
	UnprovedEarth  = "no earth"   // conductors that must be earthed and have no place for it
	UnprovedLive   = "live work"  // conductors at the work stay live, with the reason
	UnprovedFigure = "figure"     // a figure by which the rules judge a source is not told, and might ask for more
	UnprovedHeat   = "heat"       // something hot comes to what is opened, and nothing tells what heat it stores
	UnprovedWayOut = "no way out" // a part of the work that nothing drains or vents
	UnprovedEnd    = "open end"   // a point on the side of the work, of which the plant file knows one end only
)
