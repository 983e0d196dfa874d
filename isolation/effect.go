package isolation

// Effect is what another plant file would do to the plan of one job.
type Effect struct {
	Job, Title    string
	Before, After int    // steps of the plan; 0: there is none
	Fault         string // why there is no plan by the later file, "" if there is one
	New, Gone     []NodeID
	Other         bool // the same points, but not in the same order or position
}

// IsSame reports whether the plan stays as it is.
func (e Effect) IsSame() bool {
	return e.Fault == "" && e.Before > 0 && !e.Other && len(e.New)+len(e.Gone) == 0
}
