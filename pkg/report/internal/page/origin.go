package page

// Origin is the program and the files of which a page was made.
type Origin struct {
	Version string
	Inputs  []Input
}

// Input is a file that was read, with its checksum.
type Input struct {
	Role         string // a key
	Name, SHA256 string
}
