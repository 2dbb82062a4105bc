package casefile

import (
	_ "embed"
	"encoding/json"
	"reflect"
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

// described is the part of a schema that tells what keys mean.
type described struct {
	Properties map[string]struct{ Description string }
	OneOf      []described          `json:"oneOf"`
	Defs       map[string]described `json:"$defs"`
}

// description is what the schema says of a key of a struct type.
func description(t reflect.Type, key string) string {
	var root described
	if err := json.Unmarshal(schemaFile, &root); err != nil {
		panic("casefile: the schema: " + err.Error())
	}
	object, ok := root.Defs[t.Name()]
	if !ok {
		object = root
	}
	for _, o := range append(object.OneOf, object) {
		if p, ok := o.Properties[key]; ok {
			return p.Description
		}
	}
	panic("casefile: the schema has no key " + key + " of " + t.Name())
}
