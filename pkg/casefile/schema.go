package casefile

import (
	_ "embed"
	"slices"
)

//go:embed case.schema.json
var schemaFile []byte

// Schema returns the JSON Schema (draft 2020-12) of the case file. It says all that
// such a schema can; what it rejects [Parse] rejects too, but not the other way
// round: that landmarks lie on one line, say, is beyond it.
//
// It is a file that a test makes from the types of this package:
//
//	go test ./pkg/casefile -run Golden -update
func Schema() []byte { return slices.Clone(schemaFile) }
