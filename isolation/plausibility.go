package isolation

// Verdicts on a reading that is held against what was foretold, before it is judged against its limit.
const (
	Impossible = "impossible" // no instrument can have shown it: refuse it
	Ahead      = "ahead"      // far sooner than foretold: ask for words and a second person's reading
	Off        = "off"        // far from what is expected: the same
	Plausible  = "plausible"  // nothing speaks against it; it is no proof
)

// Plausibility says whether a reading can be right. Words hold the expectation in sentences; they are empty for a
// plausible reading.
type Plausibility struct {
	Verdict string `json:"verdict"`
	Words   string `json:"words,omitempty"`
}
