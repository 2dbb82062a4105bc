package page

import "github.com/cusptrace/cusptrace/pkg/findings"

// Origin is what a reader needs to repeat an examination: the program, and the files that
// it read with their checksums. It holds no path but those that the case file says.
type Origin struct {
	Version string
	Inputs  []Input
}

// Input is a file that was read, with its checksum.
type Input struct {
	Role         string // a key
	Name, SHA256 string
}

// newOrigin is nil where there is no version, or no case file with which to repeat it.
func newOrigin(version string, inputs []findings.Input) *Origin {
	if version == "" || len(inputs) == 0 || inputs[0].Role != findings.CaseFile {
		return nil
	}
	o := &Origin{Version: version}
	for _, in := range inputs {
		o.Inputs = append(o.Inputs, Input{Role: "role." + string(in.Role), Name: in.File, SHA256: in.SHA256})
	}
	return o
}
