package findings_test

import (
	"encoding/json"
	"fmt"
	"reflect"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/stretchr/testify/require"
)

// The codes of one mouth in three notations: 16 is the third tooth of universal
// numbering, counted from 18 (charts of the American Dental Association).
func TestSentencesInNotations(t *testing.T) {
	s := language.Say("finding.late.from", language.With{"tooth": language.Join(language.Commas([]any{findings.Pair{Upper: 16, Lower: 46}, findings.Part(26), findings.Part(0), findings.Part(55)})), "from": 1.6})
	require.Equal(t, "16/46, 26, –, 55 disoccludes only from 1.6 mm", s.String())
	require.Equal(t, "3/30, 14, –, A disoccludes only from 1.6 mm", s.In(dentition.Universal))
	require.Equal(t, "6┘/6┐, └6, –, E┘ disoccludes only from 1.6 mm", s.In(dentition.Quadrant))
	require.Equal(t, "3/30, 14, –, A disoccludes only from 1.6 mm This is beyond edge-to-edge.",
		language.Say("finding.beyond", language.With{"text": s}).In(dentition.Universal))
	require.Empty(t, findings.Sentence{}.In(dentition.Universal))

	// Files keep ISO 3950.
	b, err := json.Marshal(s)
	require.NoError(t, err)
	require.JSONEq(t, `"16/46, 26, –, 55 disoccludes only from 1.6 mm"`, string(b))
	var read findings.Sentence
	require.NoError(t, json.Unmarshal(b, &read))
	require.Equal(t, s.String(), read.String())
	require.Error(t, json.Unmarshal([]byte("16"), &read))
	b, err = json.Marshal(struct {
		S findings.Sentence `json:"s,omitzero"`
	}{})
	require.NoError(t, err)
	require.Equal(t, "{}", string(b))
}

func TestPairsInWords(t *testing.T) {
	require.Equal(t, "3/30", findings.PairIn(dentition.Universal, 16, 46))
	require.Equal(t, "–/47", findings.PairIn(dentition.ISO, 0, 47))
	require.Equal(t, "an unlabelled place", findings.PairIn(dentition.ISO, 0, 0))
}

// Every sentence of the document is among those that it yields.
func TestSentencesAreAllSentences(t *testing.T) {
	f := &findings.Findings{}
	var fill func(v reflect.Value, depth int)
	n := 0
	fill = func(v reflect.Value, depth int) {
		switch {
		case v.Type() == reflect.TypeFor[findings.Sentence]():
			n++
			v.Set(reflect.ValueOf(language.Literal(fmt.Sprint("sentence ", n))))
		case v.Kind() == reflect.Pointer:
			v.Set(reflect.New(v.Type().Elem()))
			fill(v.Elem(), depth)
		case v.Kind() == reflect.Slice && depth < 6:
			v.Set(reflect.MakeSlice(v.Type(), 2, 2))
			fill(v.Index(0), depth+1)
			fill(v.Index(1), depth+1)
		case v.Kind() == reflect.Struct:
			for i := range v.NumField() {
				if v.Type().Field(i).IsExported() {
					fill(v.Field(i), depth)
				}
			}
		}
	}
	fill(reflect.ValueOf(f).Elem(), 0)
	require.Greater(t, n, 50)
	seen := map[string]bool{}
	for s := range f.Sentences() {
		seen[s.String()] = true
	}
	require.Len(t, seen, n)
	for range f.Sentences() {
		break // and it stops when asked to
	}
}
