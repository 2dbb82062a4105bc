// Package schema holds what the tests that make the JSON Schemas of our files have
// in common.
package schema

import (
	"bytes"
	"encoding/json"
	"fmt"

	"github.com/invopop/jsonschema"
)

// Tooth codes of ISO 3950 as regular expressions, without anchors and not
// grouped.
const (
	UpperTooth = "[12][1-8]|[56][1-5]"
	LowerTooth = "[34][1-8]|[78][1-5]"
	AnyTooth   = UpperTooth + "|" + LowerTooth
)

// Property is the schema of a key of an object. That there is none is a mistake
// in the program.
func Property(s *jsonschema.Schema, key string) *jsonschema.Schema {
	p, ok := s.Properties.Get(key)
	if !ok {
		panic("schema: no key " + key)
	}
	return p
}

// Encode writes a schema as indented JSON.
func Encode(root *jsonschema.Schema) ([]byte, error) {
	var out bytes.Buffer
	e := json.NewEncoder(&out)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(root); err != nil {
		return nil, fmt.Errorf("%s: schema: %w", root.Title, err)
	}
	return out.Bytes(), nil
}
