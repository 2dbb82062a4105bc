package findings

import (
	_ "embed"

	"github.com/cusptrace/cusptrace/internal/packed"
)

//go:embed findings.schema.json.gz
var schemaFile []byte

// Schema returns the JSON Schema (draft 2020-12) of findings.json. No object takes
// keys that it does not list.
//
// It is findings.schema.json, which a test makes from the types of this package, packed:
//
//	go test ./pkg/findings -run Golden -update
func Schema() []byte { return packed.Unpack(schemaFile) }
