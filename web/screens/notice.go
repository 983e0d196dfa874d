package screens

// NoticePage says one thing.
type NoticePage struct {
	Frame
	Heading, Words, Opens string
	Request               string // number of a request that failed inside
}

// KeptPage is shown by a phone that has no line and no copy of what was asked for.
type KeptPage struct{ Frame }
