package occlusion_test

import (
	"context"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/internal/faultkit"
	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/mesh"
)

// labelledWith is an arch together with surface that has no label, and without the labels of
// some teeth.
func labelledWith(t *testing.T, a typodont.Arch, without []dentition.ToothID, more ...*mesh.Mesh) *casts.Scan {
	t.Helper()
	m, err := faultkit.Joined(a.Mesh, more...)
	require.NoError(t, err)
	label := make([]dentition.ToothID, m.NumVertices())
	for v := range a.Mesh.NumVertices() {
		if k := a.Labels.Vertex(mesh.VertexID(v)); !slices.Contains(without, k) {
			label[v] = k
		}
	}
	l, err := dentition.NewLabels(a.Labels.Jaw(), label)
	require.NoError(t, err)
	teeth, err := l.Triangles(m)
	require.NoError(t, err)
	return &casts.Scan{Mesh: m, Labels: l, Teeth: teeth}
}

// distalEnd is the most distal vertex near the lowest one of an upper tooth, in the frame of
// the generator, whose arches bite along z.
func distalEnd(a typodont.Arch, tooth dentition.ToothID) r3.Vec {
	best := r3.Vec{Y: math.Inf(-1)}
	low := math.Inf(1)
	for v, p := range a.Mesh.Vertices() {
		if a.Labels.Vertex(mesh.VertexID(v)) == tooth {
			low = min(low, p.Z)
		}
	}
	for v, p := range a.Mesh.Vertices() {
		if a.Labels.Vertex(mesh.VertexID(v)) == tooth && p.Z < low+1.5 && p.Y > best.Y {
			best = p
		}
	}
	return best
}

// A pad behind 47 that reaches half a millimetre into 17 changes nothing of what is found on
// the teeth, and is told once, with place and amount.
func TestSoftTissueIsNoTooth(t *testing.T) {
	c, err := typodont.Generate(context.Background(), typodont.Params{Triangles: 30000})
	require.NoError(t, err)
	top := r3.Add(distalEnd(c.Upper, 17), r3.Vec{Z: 0.5})
	pad, err := faultkit.Mound(top, r3.Vec{Z: 1}, 4, 5, 8)
	require.NoError(t, err)
	for _, how := range []casefile.SettleTo{casefile.SettleNone, casefile.SettleSeat} {
		file := c.CaseFile()
		file.Settle.How, file.Excursions = how, file.Excursions[:1]
		file.Excursions[0].MaxMM, file.Excursions[0].StepMM = 2, 0.25
		upper := labelledWith(t, c.Upper, nil)
		plain := examinePair(t, file, upper, labelledWith(t, c.Lower, nil))
		padded := examinePair(t, file, upper, labelledWith(t, c.Lower, nil, pad))
		require.Empty(t, plain.Tissue)
		require.InDelta(t, plain.Centric.OpeningDeg, padded.Centric.OpeningDeg, 1e-4)
		require.Equal(t, pairsOf(plain.Centric.Contacts), pairsOf(padded.Centric.Contacts))
		require.Equal(t, plain.Centric.Mounting.Verdict, padded.Centric.Mounting.Verdict)
		for i := range plain.Excursions[0].Frames {
			a, b := &plain.Excursions[0].Frames[i], &padded.Excursions[0].Frames[i]
			require.InDelta(t, a.OpeningDeg, b.OpeningDeg, 1e-4)
			require.Equal(t, pairsOf(a.Contacts), pairsOf(b.Contacts))
		}
		require.Equal(t, kindsOf(plain), kindsOf(padded))

		require.Len(t, padded.Tissue, 1, "%v", padded.Warnings)
		told := padded.Tissue[0]
		require.Equal(t, findings.TissueSide{Kind: findings.TissueTooth, Tooth: 17}, told.Upper)
		require.Equal(t, findings.TissueSide{Kind: findings.TissueBehind, Tooth: 47}, told.Lower)
		// The jaw closes obliquely there, so that its way into the pad is longer than the
		// pad is high, and the cusp meets the flank of the pad too.
		way := 500 / faultkit.Closing(r3.Vec{X: told.PointMM[0], Y: told.PointMM[1], Z: told.PointMM[2]}).Z
		require.Greater(t, told.HeightUm, way)
		require.Less(t, told.HeightUm, 1.3*way)
		require.Contains(t, inEnglish(padded.Warnings), told.Text.String())
	}
}

// A tooth whose label is missing still meets its opponents, and that is said; one at the end
// of the row too.
func TestToothWithoutLabelCountsAsOne(t *testing.T) {
	c, err := typodont.Generate(context.Background(), typodont.Params{Triangles: 30000})
	require.NoError(t, err)
	file := c.CaseFile()
	file.Settle.How, file.Excursions = casefile.SettleNone, file.Excursions[:1]
	file.Excursions[0].MaxMM, file.Excursions[0].StepMM = 1, 0.5
	upper := labelledWith(t, c.Upper, nil)
	all := examinePair(t, file, upper, labelledWith(t, c.Lower, nil))
	for _, without := range []struct {
		tooth dentition.ToothID
		said  string
	}{
		{46, "the lower scan has surface between 47 and 45 that stands like a tooth but has no label; it counts as a tooth"},
		{47, "the lower scan has surface behind 46 that stands like a tooth but has no label; it counts as a tooth"},
	} {
		f := examinePair(t, file, upper, labelledWith(t, c.Lower, []dentition.ToothID{without.tooth}))
		require.Contains(t, inEnglish(f.Warnings), without.said)
		require.InDelta(t, all.Centric.OpeningDeg, f.Centric.OpeningDeg, 0.01)
		for i := range all.Excursions[0].Frames {
			require.InDelta(t, all.Excursions[0].Frames[i].OpeningDeg, f.Excursions[0].Frames[i].OpeningDeg, 0.01)
		}
		require.Empty(t, f.Tissue)
	}
	for _, w := range all.Warnings {
		require.NotContains(t, w.String(), "has no label")
	}
}

// Without labels all surface counts, and that is said.
func TestWithoutLabelsAllSurfaceCounts(t *testing.T) {
	c, err := typodont.Generate(context.Background(), typodont.Params{Triangles: 30000})
	require.NoError(t, err)
	top := r3.Add(distalEnd(c.Upper, 17), r3.Vec{Z: 0.5})
	pad, err := faultkit.Mound(top, r3.Vec{Z: 1}, 4, 5, 8)
	require.NoError(t, err)
	file := c.CaseFile()
	file.Settle.How, file.Excursions = casefile.SettleNone, file.Excursions[:1]
	file.Excursions[0].MaxMM, file.Excursions[0].StepMM = 1, 0.5
	lower := labelledWith(t, c.Lower, nil, pad)
	f := examinePair(t, file, &casts.Scan{Mesh: c.Upper.Mesh}, lower)
	require.Greater(t, f.Centric.OpeningDeg, 0.3, "held open by the pad")
	require.Empty(t, f.Tissue)
	require.Contains(t, f.Warnings[0].String(), "all surfaces of the scans count")
}

func pairsOf(contacts []findings.Contact) []findings.Pair {
	var out []findings.Pair
	for i := range contacts {
		out = append(out, findings.Pair{Upper: contacts[i].Upper, Lower: contacts[i].Lower})
	}
	return out
}

func kindsOf(f *findings.Findings) []findings.Kind {
	var out []findings.Kind
	for _, g := range f.Centric.Findings {
		out = append(out, g.Kind)
	}
	for _, x := range f.Excursions {
		for _, g := range x.Findings {
			out = append(out, g.Kind)
		}
	}
	return out
}

// inEnglish is sentences in English.
func inEnglish(s []findings.Sentence) []string {
	var out []string
	for i := range s {
		out = append(out, s[i].String())
	}
	return out
}
