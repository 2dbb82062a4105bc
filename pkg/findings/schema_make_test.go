package findings

import (
	"encoding/json"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/cusptrace/cusptrace/internal/golden"
	"github.com/cusptrace/cusptrace/internal/schema"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/invopop/jsonschema"
	"github.com/stretchr/testify/require"
)

// words are the string types that have no other values than their constants.
var words = []reflect.Type{
	reflect.TypeFor[Direction](), reflect.TypeFor[FoilResult](), reflect.TypeFor[HoldClass](), reflect.TypeFor[Kind](), reflect.TypeFor[LabelsFrom](),
	reflect.TypeFor[Match](), reflect.TypeFor[PatternClass](), reflect.TypeFor[Points](), reflect.TypeFor[RobustState](),
	reflect.TypeFor[Setting](), reflect.TypeFor[InputRole](), reflect.TypeFor[Shape](), reflect.TypeFor[Verdict](),
}

// makeSchema makes the schema from the types, always the same.
func makeSchema(comments *schema.Comments) (*jsonschema.Schema, error) {
	r := jsonschema.Reflector{Anonymous: true, ExpandedStruct: true, LookupComment: comments.Describe}
	r.Mapper = func(t reflect.Type) *jsonschema.Schema {
		if slices.Contains(words, t) {
			return &jsonschema.Schema{Type: "string", Enum: comments.Words(t)}
		}
		return codes(t)
	}
	root := r.Reflect(&Findings{})
	root.Title = "cusptrace findings"
	defs := root.Definitions
	var caseFile jsonschema.Schema
	if err := json.Unmarshal(casefile.Schema(), &caseFile); err != nil {
		return nil, err
	}
	for _, name := range [...]string{"CondylarPath", "Guidance"} {
		defs[name] = caseFile.Definitions[name] // which says more than the types
	}
	nullable(root, defs, reflect.TypeFor[Findings]())
	defs["Tooth"] = &jsonschema.Schema{
		Type: "string", Pattern: "^(" + schema.AnyTooth + ")$",
		Description: "a tooth by its two-digit code of ISO 3950",
	}
	defs["Part"] = &jsonschema.Schema{
		OneOf:       []*jsonschema.Schema{{Ref: "#/$defs/Tooth"}, {Type: "null"}},
		Description: "a tooth, or null: off the labelled teeth, or an arch without labels",
	}
	foil := schema.Property(defs["CentricTooth"], "foil")
	foil.PropertyNames = &jsonschema.Schema{Pattern: `^[0-9.]+(e-[0-9]+)?$`}
	parts := schema.Property(defs["Frame"], "clearance_mm")
	parts.PropertyNames = &jsonschema.Schema{Pattern: "^(" + schema.AnyTooth + "|upper|lower)$"}
	travels := schema.Property(defs["Disclusion"], "clearance_mm")
	travels.PropertyNames = &jsonschema.Schema{Pattern: "^([123]|edge|end)$"}
	// A case file may leave keys of its guidance to their defaults; here they
	// are filled in.
	for _, kind := range defs["Guidance"].OneOf {
		for p := kind.Properties.Oldest(); p != nil; p = p.Next() {
			kind.Required = append(kind.Required, p.Key)
		}
	}
	return root, nil
}

// codes is the schema of types that are written as tooth codes or text.
func codes(t reflect.Type) *jsonschema.Schema {
	switch t {
	case reflect.TypeFor[dentition.ToothID]():
		return &jsonschema.Schema{Ref: "#/$defs/Tooth"}
	case reflect.TypeFor[Part]():
		return &jsonschema.Schema{Ref: "#/$defs/Part"}
	case reflect.TypeFor[dentition.Notation]():
		return &jsonschema.Schema{Type: "string", Enum: []any{"iso", "universal", "quadrant"}}
	case reflect.TypeFor[casefile.Date]():
		return &jsonschema.Schema{Type: "string", Format: "date"}
	case reflect.TypeFor[Pose]():
		length := uint64(16)
		item := &jsonschema.Schema{Type: "number"}
		return &jsonschema.Schema{Type: "array", Items: item, MinItems: &length, MaxItems: &length}
	case reflect.TypeFor[Foil]():
		return &jsonschema.Schema{Type: "number"}
	case reflect.TypeFor[DoubtSource]():
		s := &jsonschema.Schema{Type: "string"}
		for _, of := range []DoubtSource{DoubtInclinationRight, DoubtInclinationLeft, DoubtShiftRight, DoubtShiftLeft,
			DoubtIntercondylar, DoubtAxis, DoubtPlane, DoubtRegistration, DoubtUpperScan, DoubtLowerScan, DoubtSeating} {
			s.Enum = append(s.Enum, string(of))
		}
		return s
	case reflect.TypeFor[Sentence]():
		return &jsonschema.Schema{Type: "string"}
	}
	return nil
}

// nullable says in the schema of a struct type, and in those of the types it
// holds, that a pointer which is always written may be null.
func nullable(s *jsonschema.Schema, defs jsonschema.Definitions, t reflect.Type) {
	for i := range t.NumField() {
		f := t.Field(i)
		key, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		of := f.Type
		for of.Kind() == reflect.Pointer || of.Kind() == reflect.Slice {
			of = of.Elem()
		}
		if def := defs[of.Name()]; def != nil && of.Kind() == reflect.Struct {
			nullable(def, defs, of)
		}
		if f.Type.Kind() != reflect.Pointer || strings.HasPrefix(options, "omit") || key == "" {
			continue
		}
		p := schema.Property(s, key)
		if p.OneOf == nil {
			value := *p
			value.Description = ""
			*p = jsonschema.Schema{OneOf: []*jsonschema.Schema{&value, {Type: "null"}}, Description: p.Description}
		}
	}
}

// TestGoldenSchema holds that the file, and the packed one that is embedded, is what the types make.
func TestGoldenSchema(t *testing.T) {
	comments, err := schema.ReadComments(".", filepath.Join("..", "casefile"))
	require.NoError(t, err)
	root, err := makeSchema(comments)
	require.NoError(t, err)
	made, err := schema.Encode(root)
	require.NoError(t, err)
	require.Contains(t, string(made), `"$schema": "https://json-schema.org/draft/2020-12/schema"`)
	dir := golden.New(".")
	dir.Check(t, "findings.schema.json", string(made))
	dir.CheckPacked(t, "findings.schema.json.gz", string(made))
}
