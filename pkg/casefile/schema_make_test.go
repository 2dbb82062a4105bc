package casefile

import (
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"testing"

	"github.com/cusptrace/cusptrace/internal/golden"
	"github.com/cusptrace/cusptrace/internal/schema"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/invopop/jsonschema"
	"github.com/stretchr/testify/require"
)

// makeSchema makes the schema from the types, always the same bytes.
func makeSchema() ([]byte, error) {
	comments, err := schema.ReadComments(".")
	if err != nil {
		return nil, err
	}
	r := jsonschema.Reflector{
		Anonymous:                  true,
		ExpandedStruct:             true,
		RequiredFromJSONSchemaTags: true,
		Mapper:                     scalar,
		LookupComment:              comments.Describe,
	}
	root := r.Reflect(&Case{})
	root.Title = "cusptrace case file"
	defs := root.Definitions
	oneKey(defs["Mount"])
	oneKey(defs["TrialStep"])
	defs["Average"].DependentRequired = map[string][]string{
		"incisal_point": {"right_molar", "left_molar"},
		"right_molar":   {"left_molar", "incisal_point"},
		"left_molar":    {"incisal_point", "right_molar"},
	}
	matrix := schema.Property(defs["Mount"], "matrix")
	for _, numbers := range []*jsonschema.Schema{defs["Point"].Items, matrix.Items} {
		numbers.Minimum, numbers.Maximum = number(-largest), number(largest)
	}

	foil := schema.Property(defs["Record"], "foil")
	foil.PropertyNames = &jsonschema.Schema{Type: "string", Pattern: "^(" + schema.AnyTooth + ")$"}
	foil.AdditionalProperties.Enum = anys(fieldRule[Record]("foil").enum)

	for _, key := range []string{"foils_um", "restore"} {
		schema.Property(root, key).UniqueItems = true
	}
	schema.Property(root, "settle").Default = SettleSeat

	teeth(defs)
	c := Default()
	for _, d := range []struct {
		def   *jsonschema.Schema
		value any
	}{
		{root, c}, {defs["Average"], c.Mount.Average}, {defs["Settings"], &c.Settings}, {defs["Side"], &c.Settings.Right},
		{defs["Excursion"], &c.Excursions[0]}, {defs["Thresholds"], &c.Thresholds}, {defs["Support"], &c.Support},
		{defs["Record"], &Record{FoilUm: defaultRecordFoil}},
	} {
		if err := defaults(d.def, reflect.ValueOf(d.value).Elem()); err != nil {
			return nil, err
		}
	}
	for _, f := range fields(reflect.TypeFor[Support]()) {
		if kind := reflect.ValueOf(c.Support).Field(f.index); kind.Kind() == reflect.Struct {
			schema.Property(defs["Support"], f.key).Default = kind.Interface()
		}
	}
	return schema.Encode(root)
}

// scalar is the schema of types that read themselves from text.
func scalar(t reflect.Type) *jsonschema.Schema {
	switch t {
	case reflect.TypeFor[dentition.ToothID]():
		return &jsonschema.Schema{Ref: "#/$defs/Tooth"}
	case reflect.TypeFor[Mark]():
		return &jsonschema.Schema{Ref: "#/$defs/Mark"}
	case reflect.TypeFor[kinematics.Movement]():
		return &jsonschema.Schema{Type: "string", Enum: []any{"right", "left", "protrusive"}}
	case reflect.TypeFor[dentition.Notation]():
		return &jsonschema.Schema{Type: "string", Enum: []any{"iso", "universal", "quadrant"}}
	case reflect.TypeFor[Date]():
		return &jsonschema.Schema{Type: "string", Format: "date", Pattern: "^[0-9]{4}-[0-9]{2}-[0-9]{2}$"}
	case reflect.TypeFor[mesh.Unit]():
		return &jsonschema.Schema{Type: "string", Enum: []any{"mm", "cm", "m", "inch", "in", "um", "µm", "μm"}}
	}
	return nil
}

// teeth adds the schemas of a tooth, with or without quotes, and of a mark.
func teeth(defs jsonschema.Definitions) {
	var codes []any
	for t := range dentition.All {
		codes = append(codes, int(t))
	}
	defs["Tooth"] = &jsonschema.Schema{
		Description: "a tooth by its two-digit code of ISO 3950",
		AnyOf: []*jsonschema.Schema{
			{Type: "string", Pattern: "^(" + schema.AnyTooth + ")$"},
			{Type: "integer", Enum: codes},
		},
	}
	defs["Mark"] = &jsonschema.Schema{
		Description: "a mark on an upper and a lower tooth, such as 13/43, or on one tooth",
		AnyOf: []*jsonschema.Schema{
			{Type: "string", Pattern: "^(" + schema.UpperTooth + ")/(" + schema.LowerTooth + ")$"},
			{Ref: "#/$defs/Tooth"},
		},
	}
}

// JSONSchemaExtend makes the three kinds of guidance out of the one struct.
func (Guidance) JSONSchemaExtend(s *jsonschema.Schema) {
	out := jsonschema.Schema{Type: "object", Required: []string{"by"}}
	for _, by := range []Guide{ByTeeth, ByTable, ByNone} {
		value := reflect.ValueOf(defaultGuidance(by))
		kind := &jsonschema.Schema{Properties: jsonschema.NewProperties(), AdditionalProperties: jsonschema.FalseSchema}
		for _, f := range guidanceFields(by) {
			p := *schema.Property(s, f.key)
			if f.key == "by" {
				p.Enum, p.Const = nil, string(by)
			} else {
				p.Default = value.Field(f.index).Float()
			}
			kind.Properties.Set(f.key, &p)
		}
		out.OneOf = append(out.OneOf, kind)
	}
	*s = out
}

// JSONSchemaExtend makes the word, true and false stand for the mapping.
func (Settle) JSONSchemaExtend(s *jsonschema.Schema) {
	how := schema.Property(s, "how")
	how.Default, schema.Property(s, "doubt_um").Default = SettleSeat, defaultSettle(SettleSeat).DoubtUm
	*s = jsonschema.Schema{OneOf: []*jsonschema.Schema{
		{Enum: append(slices.Clone(how.Enum), true, false)},
		{Type: "object", Properties: s.Properties, AdditionalProperties: s.AdditionalProperties},
	}}
}

// JSONSchemaExtend says that a path is of one kind and where its points may lie.
func (CondylarPath) JSONSchemaExtend(s *jsonschema.Schema) {
	oneKey(s)
	limit := fieldRule[CondylarPath]("points_mm")
	coordinate := schema.Property(s, "points_mm").Items.Items
	coordinate.Minimum, coordinate.Maximum = number(limit.min), number(limit.max)
}

// oneKey says that an object has exactly one of its keys.
func oneKey(s *jsonschema.Schema) {
	one := uint64(1)
	s.MinProperties, s.MaxProperties = &one, &one
}

// defaults puts the values of a struct as defaults into its schema. Zero values
// of optional keys are none.
func defaults(s *jsonschema.Schema, v reflect.Value) error {
	for _, f := range fields(v.Type()) {
		x := v.Field(f.index)
		if f.rule.required || f.optional && x.IsZero() || x.Kind() == reflect.Struct {
			continue
		}
		b, err := json.Marshal(x.Interface())
		if err != nil {
			return fmt.Errorf("default of %s: %w", f.key, err)
		}
		schema.Property(s, f.key).Default = json.RawMessage(b)
	}
	return nil
}

func number(v float64) json.Number { return json.Number(strconv.FormatFloat(v, 'g', -1, 64)) }

func anys(words []string) []any {
	var out []any
	for _, w := range words {
		out = append(out, w)
	}
	return out
}

// TestGoldenSchema holds that the embedded file is what the types make.
func TestGoldenSchema(t *testing.T) {
	made, err := makeSchema()
	require.NoError(t, err)
	require.Contains(t, string(made), `"$schema": "https://json-schema.org/draft/2020-12/schema"`)
	golden.New(".").Check(t, "case.schema.json", string(made))
}
