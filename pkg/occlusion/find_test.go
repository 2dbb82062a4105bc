package occlusion_test

import (
	"context"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/cusptrace/cusptrace/pkg/segment"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// examineScans examines scans with few frames, with teeth found where there are no
// labels.
func examineScans(t testing.TB, c *casefile.Case, upper, lower *casts.Scan) *findings.Findings {
	t.Helper()
	ctx := context.Background()
	c.Excursions = []casefile.Excursion{{Movement: kinematics.Right, MaxMM: 1, StepMM: 1}}
	require.NoError(t, occlusion.FindTeeth(ctx, upper, lower))
	return examinePair(t, c, upper, lower)
}

// examinePair examines two scans as they are labelled.
func examinePair(t testing.TB, c *casefile.Case, upper, lower *casts.Scan) *findings.Findings {
	t.Helper()
	ctx := context.Background()
	casts, err := occlusion.Assemble(ctx, c, upper, lower)
	require.NoError(t, err)
	f, err := occlusion.Examine(ctx, c, casts, occlusion.Options{AsSet: true})
	require.NoError(t, err)
	return f
}

// Casts without labels and without mounting points give nearly what the labelled
// ones give: the same teeth, the same verdict, a mounting within tenths of a
// millimetre.
func TestUnlabelledCastsAreExaminedByFoundTeeth(t *testing.T) {
	c, err := typodont.Generate(context.Background(), typodont.Params{Triangles: 30000})
	require.NoError(t, err)
	scan := func(a typodont.Arch) *casts.Scan { return &casts.Scan{Mesh: a.Mesh} }
	of := c.CaseFile()
	of.Mount.Average.IncisalPoint, of.Mount.Average.RightMolar, of.Mount.Average.LeftMolar = nil, nil, nil
	f := examineScans(t, of, scan(c.Upper), scan(c.Lower))
	require.Equal(t, findings.FromShape, f.Scans.Upper.Labels)
	require.Equal(t, c.Upper.Labels.Teeth(), f.Scans.Upper.Teeth)
	require.Equal(t, c.Lower.Labels.Teeth(), f.Scans.Lower.Teeth)
	require.Len(t, f.Scans.Lower.Found, 14)
	for _, x := range f.Scans.Lower.Found {
		require.Greater(t, x.Certainty, 0.5, "%v", x.Tooth)
	}
	require.True(t, f.Mount.PointsFound)
	want := c.Truth.IncisalPoint
	for k, v := range [3]float64{want.X, want.Y, want.Z} {
		require.InDelta(t, v, f.Mount.IncisalPointMM[k], 0.3)
	}
	require.Equal(t, findings.Acceptable, f.Centric.Mounting.Verdict)
	require.Contains(t, f.Warnings[0].String(), "the 14 teeth of the upper arch were found from its shape")
	require.Equal(t, "13/43", f.Excursions[0].Frames[1].Carrier.Upper.String()+"/"+f.Excursions[0].Frames[1].Carrier.Lower.String())

	// Given labels stay as they are.
	teeth, err := c.Upper.Labels.Triangles(c.Upper.Mesh)
	require.NoError(t, err)
	labelled := &casts.Scan{Mesh: c.Upper.Mesh, Labels: c.Upper.Labels, Teeth: teeth}
	require.NoError(t, occlusion.FindTeeth(context.Background(), labelled, scan(c.Lower)))
	require.Same(t, c.Upper.Labels, labelled.Labels)
	require.Nil(t, labelled.Found)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	require.ErrorIs(t, occlusion.FindTeeth(ctx, scan(c.Upper), scan(c.Lower)), context.Canceled)
}

// What shows no arch is examined without teeth, and the findings say so.
func TestNoTeethFound(t *testing.T) {
	plate := func(z float64, f func(u, v float64) r3.Vec) *casts.Scan {
		return &casts.Scan{Mesh: testmesh.Sheet(40, 40, func(u, v float64) r3.Vec { return r3.Add(f(u, v), r3.Vec{Z: z}) })}
	}
	flat := func(u, v float64) r3.Vec { return r3.Vec{X: 60*u - 30, Y: 60*v - 110} }
	upper := plate(0.5, func(u, v float64) r3.Vec { p := flat(u, v); p.Z = 0.001 * (p.X*p.X + (p.Y+80)*(p.Y+80)); return p })
	lower := plate(0, flat)
	c := casefile.Default()
	c.Mount = casefile.Mount{Matrix: &[16]float64{1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, -35, 0, 0, 0, 1}}
	c.Settle = casefile.Settle{How: casefile.SettleNone}
	f := examineScans(t, c, upper, lower)
	require.Equal(t, findings.FromNone, f.Scans.Lower.Labels)
	require.Empty(t, f.Scans.Lower.Teeth)
	require.Equal(t, findings.Undecided, f.Centric.Mounting.Verdict)
	require.Len(t, f.Warnings, 4)
	require.Contains(t, f.Warnings[0].String(), "the incisal point is not known (the teeth of the lower arch could not be found)")
	require.Contains(t, f.Warnings[3].String(), "the teeth of the lower arch are not labelled and could not be found from its "+
		"shape: no teeth found, the arch may be edentulous")

	// Without teeth the average mounting needs its points.
	c.Mount = casefile.Default().Mount
	_, err := occlusion.Assemble(context.Background(), c, upper, lower)
	require.ErrorIs(t, err, casts.ErrLandmarks)
	require.ErrorIs(t, err, segment.ErrNoArch)
}
