package screens

// NoticePage says one thing.
type NoticePage struct {
	Frame
	Heading, Words, Opens string
	Request               string // number of a request that failed inside
}
