package findings

import (
	_ "embed"
	"slices"
)

//go:embed findings.schema.json
var schemaFile []byte

// Schema returns the JSON Schema (draft 2020-12) of findings.json. No object takes
// keys that it does not list.
//
// It is a file that a test makes from the types of this package:
//
//	go test ./pkg/findings -run Golden -update
func Schema() []byte { return slices.Clone(schemaFile) }
