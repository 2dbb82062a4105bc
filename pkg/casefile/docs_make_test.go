package casefile

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/cusptrace/cusptrace/internal/golden"
	"github.com/cusptrace/cusptrace/internal/schema"
	"github.com/stretchr/testify/require"
)

// TestGoldenDocumentation holds that the tables of docs/case-file.md, one for every struct type
// of a case, are what the comments, rules and defaults of the fields make.
func TestGoldenDocumentation(t *testing.T) {
	docs := filepath.Join("..", "..", "docs")
	old, err := os.ReadFile(filepath.Join(docs, "case-file.md"))
	require.NoError(t, err)
	comments, err := schema.ReadComments(".")
	require.NoError(t, err)
	values := withDefaults()
	var seen []string
	made, err := schema.Fill(string(old), func(of string) ([][]string, error) {
		v := values[of]
		if v == nil || slices.Contains(seen, of) {
			return nil, fmt.Errorf("no such type, or it is there twice")
		}
		seen = append(seen, of)
		rows := [][]string{{"key", "meaning", "default", "possible", "usual", "source"}}
		for _, f := range fields(v[0].Type()) {
			c := comments.Of(v[0].Type(), v[0].Type().Field(f.index).Name)
			source := c.Source
			if d, ok := supportDefaults[f.key]; ok {
				source = d.source + map[string]string{
					OurChoice: "; default and possible: our choice", FromLiterature: "; possible: our choice",
				}[d.status]
			}
			rows = append(rows, []string{
				"`" + f.key + "`", c.Meaning, defaultCell(f, c, v), possibleCell(f, v[0].Field(f.index).Type()), usualCell(f), source,
			})
		}
		return rows, nil
	})
	require.NoError(t, err)
	require.Len(t, seen, len(values), "a table for every type")
	golden.New(docs).Check(t, "case-file.md", made)
}

// withDefaults lists the struct types of a case, each with values that hold its defaults.
func withDefaults() map[string][]reflect.Value {
	c := Default()
	guidance := defaultGuidance(ByTable)
	guidance.OpeningDeg = defaultGuidance(ByNone).OpeningDeg
	out := map[string][]reflect.Value{}
	for _, x := range []any{
		*c, Arch{}, Mount{}, *c.Mount.Average, Recorded{}, Landmarks{}, c.Settings, c.Settings.Right, CondylarPath{}, guidance,
		c.Settle, c.Excursions[0], c.Thresholds, c.Support, c.Support.Incisor, c.Support.Canine, c.Support.Premolar,
		c.Support.Molar, Doubt{}, Record{FoilUm: defaultRecordFoil}, Marks{}, TrialStep{}, Adjust{}, Wax{}, WaxForm{},
	} {
		v := reflect.ValueOf(x)
		out[v.Type().Name()] = append(out[v.Type().Name()], v)
	}
	return out
}

// defaultCell is the default of a key, a list where kinds of an object have their own.
func defaultCell(f field, c schema.Comment, of []reflect.Value) string {
	if f.rule.required {
		return "must be given"
	}
	if c.Default != "" {
		return c.Default
	}
	var out []string
	for _, v := range of {
		switch x := v.Field(f.index); {
		case f.optional && x.IsZero():
			return "none"
		case x.Kind() == reflect.Slice:
			for i := range x.Len() {
				out = append(out, defaultText(x.Index(i)))
			}
		default:
			out = append(out, defaultText(x))
		}
	}
	return strings.Join(out, ", ")
}

func defaultText(v reflect.Value) string {
	switch x := v.Interface().(type) {
	case Settle:
		return string(x.How)
	case Excursion:
		return x.Movement.String()
	case fmt.Stringer:
		return x.String()
	}
	if v.Kind() == reflect.Struct {
		return "see below"
	}
	return fmt.Sprint(v.Interface())
}

// possibleCell says what else than one of the words of a key is possible.
func possibleCell(f field, t reflect.Type) string {
	r := f.rule
	var out []string
	switch {
	case r.bounded():
		out = append(out, r.possible(f.key))
	case t == reflect.TypeFor[Point](), t == reflect.TypeFor[*Point](), t == reflect.TypeFor[*[16]float64]():
		out = append(out, num(-largest)+" to "+num(largest))
	case r.maxLen < math.MaxInt:
		out = append(out, fmt.Sprintf("at most %d letters", r.maxLen))
	}
	switch {
	case r.minItems > 0:
		out = append(out, fmt.Sprintf("%d to %d of them", r.minItems, r.maxItems))
	case r.maxItems < math.MaxInt:
		out = append(out, fmt.Sprintf("at most %d of them", r.maxItems))
	}
	return strings.Join(out, "; ")
}

func usualCell(f field) string {
	if math.IsInf(f.rule.usualMin, -1) {
		return ""
	}
	return f.rule.usual(f.key)
}
