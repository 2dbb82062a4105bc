package casefile_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/pkg/casefile"
)

func schema(t testing.TB) *jsonschema.Schema {
	t.Helper()
	text := casefile.Schema()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	c.DefaultDraft(jsonschema.Draft2020)
	require.NoError(t, c.AddResource("case.json", doc))
	s, err := c.Compile("case.json")
	require.NoError(t, err)
	return s
}

// validate checks a JSON text.
func validate(t testing.TB, s *jsonschema.Schema, text []byte) error {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	require.NoError(t, err, "%s", text)
	return s.Validate(doc)
}

// examples are the YAML examples of docs/case-file.md.
func examples(t testing.TB) []string {
	t.Helper()
	doc, err := os.ReadFile(filepath.Join("..", "..", "docs", "case-file.md"))
	require.NoError(t, err)
	var out []string
	rest := string(doc)
	for {
		_, after, found := strings.Cut(rest, "```yaml\n")
		if !found {
			break
		}
		var example string
		example, rest, found = strings.Cut(after, "```\n")
		require.True(t, found)
		out = append(out, example)
	}
	require.Len(t, out, 2, "a short example and a full one")
	return out
}

func toJSON(t testing.TB, text string) []byte {
	t.Helper()
	out, err := yaml.YAMLToJSON([]byte(text))
	require.NoError(t, err)
	return out
}

func TestExamplesFitTheSchema(t *testing.T) {
	s := schema(t)
	for _, e := range examples(t) {
		require.NoError(t, validate(t, s, toJSON(t, e)))
	}
	c := casefile.Default()
	c.Upper.Scan, c.Lower.Scan = "u", "l"
	text, err := json.Marshal(c)
	require.NoError(t, err)
	require.NoError(t, validate(t, s, text))
}

// kinds are cases that together have every key.
func kinds(t testing.TB) []string {
	const scans = "upper: {scan: u.stl}\nlower: {scan: l.stl}\n"
	return append(examples(t),
		scans+"settle: true\nsettings: {guidance: {by: free, opening_deg: 3}}\nmount: {matrix: [0,-1,0,5, 1,0,0,6, "+
			"0,0,1,-7.5, 0,0,0,1]}\nlandmarks: {incisal_point: [1, 2, 3]}\nrestore: [24]\n",
		scans+"settle: {how: seat, doubt_um: 200, press_point: [1, -60, -30], press_direction: [0, 0.1, 1]}\n",
		scans+"settle: {how: lift}\n",
		scans+"support: {axial_free_n: 4, lateral_free_n: 0.5, molar: {axial_free_um: 10, axial_50n_um: 40, "+
			"lateral_free_um: 20, lateral_5n_um: 60}, incisor: {lateral_5n_um: 200}}\n",
		scans+"settle: false\nsettings: {guidance: {by: table, inclination_deg: 10, wings_deg: 5, pin_mm: 1}}\nmount: "+
			"{recorded: {right_condyle: [-52, 0, 0], left_condyle: [52, 1, 0], reference_point: [0, -80, -20]}}\nrecord: {marks: {left: [16]}}\n",
	)
}

// What the schema rejects the reader rejects: every value of some cases is taken
// away, renamed, and replaced by values of all types and sizes. What the reader
// rejects for its type, its key or a missing key, the schema rejects.
func TestSchemaAndReaderAgree(t *testing.T) {
	s := schema(t)
	rejected, accepted := 0, 0
	for _, text := range kinds(t) {
		var doc any
		require.NoError(t, json.Unmarshal(toJSON(t, text), &doc))
		mutate(doc, func() {
			text, err := json.Marshal(doc)
			require.NoError(t, err)
			bySchema := validate(t, s, text)
			_, _, byReader := casefile.Parse("c.json", text)
			if bySchema != nil {
				rejected++
				require.Error(t, byReader, "the schema says %v of\n%s", bySchema, text)
				return
			}
			accepted++
			for _, kind := range []error{casefile.ErrUnknownKey, casefile.ErrType, casefile.ErrMissing} {
				// That three points go together the reader calls a missing one.
				require.False(t, errors.Is(byReader, kind), "the schema takes, but %v:\n%s", byReader, text)
			}
		})
	}
	t.Logf("%d rejected by the schema, %d accepted", rejected, accepted)
	require.Greater(t, rejected, 1000)
	require.Greater(t, accepted, 100)
}

// mutate changes one place of a document at a time, calls check and puts it
// back.
func mutate(v any, check func()) {
	values := []any{nil, true, "", "x", "24", "13/43", "teeth", 0.0, -1.0, 1.5, 24.0, 100.0, 1e7, -1e7, []any{},
		[]any{1.0, 2.0, 3.0}, map[string]any{}, map[string]any{"x": 1.0}}
	try := func(old any, set func(any)) {
		for _, x := range values {
			if !reflect.DeepEqual(x, old) {
				set(x)
				check()
			}
		}
		set(old)
		mutate(old, check)
	}
	switch v := v.(type) {
	case map[string]any:
		for _, k := range slices.Sorted(maps.Keys(v)) {
			old := v[k]
			delete(v, k)
			check()
			v["x"+k] = old
			check()
			delete(v, "x"+k)
			try(old, func(x any) { v[k] = x })
		}
	case []any:
		for i, old := range v {
			try(old, func(x any) { v[i] = x })
		}
	}
}
