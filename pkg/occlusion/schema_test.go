package occlusion_test

import (
	"bytes"
	"encoding/json"
	"maps"
	"slices"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/require"
)

func schema(t testing.TB) *jsonschema.Schema {
	t.Helper()
	text := findings.Schema()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	c.DefaultDraft(jsonschema.Draft2020)
	require.NoError(t, c.AddResource("findings.json", doc))
	s, err := c.Compile("findings.json")
	require.NoError(t, err)
	return s
}

// validate checks a value by its JSON form.
func validate(t testing.TB, s *jsonschema.Schema, v any) error {
	t.Helper()
	text, err := json.Marshal(v)
	require.NoError(t, err)
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	require.NoError(t, err)
	return s.Validate(doc)
}

func TestRealOutputFitsTheSchema(t *testing.T) {
	s := schema(t)
	for name, edit := range map[string]func(*casefile.Case){
		"plain":      nil,
		"unlabelled": func(c *casefile.Case) { c.Upper.Labels, c.Lower.Labels = "", "" },
		"table": func(c *casefile.Case) {
			c.Settings.Guidance = casefile.Guidance{By: casefile.ByTable, InclinationDeg: 10}
			c.Support.Molar.Axial50NUm = 60
		},
		"free": func(c *casefile.Case) {
			c.Settings.Guidance = casefile.Guidance{By: casefile.ByNone, OpeningDeg: -0.1}
			c.FoilsUm = []float64{0.0000004, 12.5, 100}
		},
		"no incisal point": func(c *casefile.Case) { c.Mount, c.Lower.Labels = casefile.Mount{Matrix: &matrix}, "" },
		"paths": func(c *casefile.Case) {
			c.Settings.Left.Path = &casefile.CondylarPath{ArcRadiusMM: 12}
			c.Settings.Right.Path = &casefile.CondylarPath{PointsMM: [][2]float64{{0, 0}, {3, 3}, {6, 6}}}
			c.Settings.Right.CondylarInclinationDeg = 45
			c.Settings.Left.SideShiftAngleFrom = casefile.FromInclination
			c.Settings.Left.SideShiftAngleDeg = casefile.SideShiftFormula(c.Settings.Left.CondylarInclinationDeg)
		},
		"ends early": func(c *casefile.Case) { c.Excursions[0].MaxMM, c.Excursions[0].StepMM = 20, 2 },
	} {
		t.Run(name, func(t *testing.T) {
			c := synthetic(t, func(c *casefile.Case) {
				for i := range c.Excursions {
					c.Excursions[i].MaxMM, c.Excursions[i].StepMM = 0.5, 0.5
				}
				if edit != nil {
					edit(c)
				}
			})
			f := examine(t, c, 0)
			require.NoError(t, validate(t, s, f))
			if f.Yielding != nil {
				require.Equal(t, c.Support.Values(), f.Yielding.Support)
			}
		})
	}
	t.Run("real", func(t *testing.T) {
		require.NoError(t, validate(t, s, examinedReal(t)))
	})
}

// prune keeps the first two objects of every list.
func prune(v any) {
	switch v := v.(type) {
	case map[string]any:
		for k, x := range v {
			if list, ok := x.([]any); ok && len(list) > 2 {
				if _, object := list[0].(map[string]any); object {
					v[k] = list[:2]
				}
			}
			prune(v[k])
		}
	case []any:
		for _, x := range v {
			prune(x)
		}
	}
}

// The schema holds every object to its keys: each key of a real findings file,
// renamed or taken away, is noticed.
func TestTheSchemaNoticesDrift(t *testing.T) {
	s := schema(t)
	f := examine(t, synthetic(t, func(c *casefile.Case) {
		c.Excursions = c.Excursions[:1]
		c.Excursions[0].MaxMM, c.Excursions[0].StepMM = 0.5, 0.5
	}), 0)
	text, err := json.Marshal(f)
	require.NoError(t, err)
	var doc map[string]any
	require.NoError(t, json.Unmarshal(text, &doc))
	prune(doc) // which is validated at every step
	optional := []string{"name", "carrier", "unhindered", "interference", "pattern", "upper_site", "lower_site",
		"overlap_um", "ended", "ended_mm", "1", "edge", "end", "guidance", "smoothness"}
	tried := 0
	var walk func(v any)
	walk = func(v any) {
		switch v := v.(type) {
		case []any:
			for _, x := range v {
				walk(x)
			}
		case map[string]any:
			for _, k := range slices.Sorted(maps.Keys(v)) {
				old := v[k]
				delete(v, k)
				v["x_"+k] = old
				require.Error(t, s.Validate(doc), "x_%s", k)
				delete(v, "x_"+k)
				_, tooth := k, k[0] >= '0' && k[0] <= '9'
				if !tooth && !slices.Contains(optional, k) {
					require.Error(t, s.Validate(doc), "without %s", k)
				}
				v[k] = map[string]any{"nonsense": []any{}}
				require.Error(t, s.Validate(doc), "nonsense in %s", k)
				v[k] = old
				tried++
				walk(old)
			}
		}
	}
	walk(doc)
	require.NoError(t, s.Validate(doc))
	require.Greater(t, tried, 100)
}

// What is rare in an examination fits the schema too: restored teeth with facets of
// every kind, and a finding of every kind with its size.
func TestRareFindingsFitTheSchema(t *testing.T) {
	m, err := hindered()
	require.NoError(t, err)
	found := *m.found
	found.Restore = []findings.Restoration{{
		Tooth: 26, OnCast: true, Keep: []findings.RestoreStop{}, Guides: []findings.RestoreGuide{{Movement: "right",
			Robustness: findings.NewRobustness(nil, nil)}}, Facets: []int{}, Room: []findings.RestoreRoom{},
		Avoid: []findings.RestoreStop{{Movement: "right", PastEdge: true,
			Robustness: findings.NewRobustness([]findings.Setting{findings.AxisPosition}, nil)}},
		Wear: []findings.RestoreFacet{{Number: 1, Do: "keep", Movement: findings.Closed, With: 36},
			{Number: 2, Do: "not_again", Movement: "left"}, {Number: 3, Do: "open"}},
	}}
	size := 1.5
	x := found.Excursions[0]
	for _, k := range []findings.Kind{findings.KindShallow, findings.KindUneven, findings.KindKink, findings.KindLateDisclusion} {
		x.Findings = append(slices.Clone(x.Findings),
			findings.Finding{Kind: k, Causes: []findings.Cause{}, Teeth: []findings.Part{27}, Value: &size, Unit: "mm",
				Robustness: findings.NewRobustness(nil, nil)})
	}
	found.Excursions = append([]findings.Excursion{x}, found.Excursions[1:]...)
	require.NoError(t, validate(t, schema(t), &found))
}
