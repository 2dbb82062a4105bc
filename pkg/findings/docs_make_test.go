package findings

import (
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/cusptrace/cusptrace/internal/golden"
	"github.com/cusptrace/cusptrace/internal/schema"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/invopop/jsonschema"
	"github.com/stretchr/testify/require"
)

// TestGoldenDocumentation holds that the tables of docs/findings.md, one for every struct type of
// the document, are what the comments and the schema of the fields make.
func TestGoldenDocumentation(t *testing.T) {
	docs := filepath.Join("..", "..", "docs")
	old, err := os.ReadFile(filepath.Join(docs, "findings.md"))
	require.NoError(t, err)
	comments, err := schema.ReadComments(".", filepath.Join("..", "casefile"))
	require.NoError(t, err)
	root, err := makeSchema(comments)
	require.NoError(t, err)
	objects := map[string]reflect.Type{}
	structs(reflect.TypeFor[Findings](), objects)
	var seen []string
	made, err := schema.Fill(string(old), func(of string) ([][]string, error) {
		o := objects[of]
		if o == nil || slices.Contains(seen, of) {
			return nil, fmt.Errorf("no such type, or it is there twice")
		}
		seen = append(seen, of)
		s := root.Definitions[of]
		if s == nil {
			s = root
		}
		rows := [][]string{{"field", "type", "meaning"}}
		for _, f := range schema.Fields(o) {
			rows = append(rows, []string{"`" + f.Key + "`", typeCell(schema.Property(s, f.Key)), comments.Of(f.In, f.Name).Meaning})
		}
		return rows, nil
	})
	require.NoError(t, err)
	for name := range objects {
		require.Contains(t, seen, name, "no table")
	}
	golden.New(docs).Check(t, "findings.md", made)
}

// structs collects the struct types that are objects of their own, by name. The settings and the
// thresholds are those of the case file and described there.
func structs(t reflect.Type, found map[string]reflect.Type) {
	switch t.Kind() {
	case reflect.Pointer, reflect.Slice, reflect.Array, reflect.Map:
		structs(t.Elem(), found)
	case reflect.Struct:
		switch t {
		case reflect.TypeFor[casefile.Settings](), reflect.TypeFor[casefile.Thresholds](),
			reflect.TypeFor[Pose](), reflect.TypeFor[Sentence]():
			return
		}
		found[t.Name()] = t
		for _, f := range schema.Fields(t) {
			field, _ := f.In.FieldByName(f.Name)
			structs(field.Type, found)
		}
	}
}

// typeCell says what a value is: its type, or the words that it may be.
func typeCell(s *jsonschema.Schema) string {
	name := s.Ref[strings.LastIndex(s.Ref, "/")+1:]
	switch {
	case len(s.OneOf) == 2 && s.OneOf[0].Enum != nil:
		return wordsCell(append(slices.Clone(s.OneOf[0].Enum), nil))
	case len(s.OneOf) == 2:
		return typeCell(s.OneOf[0]) + " or null"
	case name == "Vec":
		return "[x, y, z]"
	case name == "Tooth":
		return "tooth"
	case name == "Part":
		return "tooth or null"
	case name != "":
		return "object"
	case len(s.Enum) == 1:
		return s.Type
	case len(s.Enum) > 0:
		return wordsCell(s.Enum)
	case s.Type == "array" && s.MinItems != nil && *s.MinItems == 16:
		return "16 numbers"
	case s.Type == "array":
		return "list"
	}
	return s.Type
}

func wordsCell(enum []any) string {
	var out []string
	for _, w := range enum {
		switch w {
		case nil:
			out = append(out, "null")
		case "":
			out = append(out, "empty")
		default:
			out = append(out, fmt.Sprintf("`%v`", w))
		}
	}
	return strings.Join(out[:len(out)-1], ", ") + " or " + out[len(out)-1]
}
