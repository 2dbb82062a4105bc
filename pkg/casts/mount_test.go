package casts_test

import (
	"context"
	"testing"

	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// The incisal point is found on a labelled arch whatever the mounting; where it cannot
// be found the casts say why, and one that is given off the arch is refused.
func TestIncisalPointOfEveryMounting(t *testing.T) {
	c, err := typodont.Generate(context.Background(), typodont.Params{Triangles: 30000})
	require.NoError(t, err)
	scan := func(a typodont.Arch) *casts.Scan {
		teeth, err := a.Labels.Triangles(a.Mesh)
		require.NoError(t, err)
		return &casts.Scan{Mesh: a.Mesh, Labels: a.Labels, Teeth: teeth}
	}
	upper, lower := scan(c.Upper), scan(c.Lower)
	truth := c.Truth.IncisalPoint.Vec()
	mounted := func(lower *casts.Scan, edit func(*casefile.Case)) (*casts.Casts, error) {
		of := casefile.Default()
		edit(of)
		return casts.Mount(context.Background(), of, upper, lower)
	}
	matrix := func(of *casefile.Case) {
		of.Mount = casefile.Mount{Matrix: &[16]float64{1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1}}
	}
	for name, edit := range map[string]func(*casefile.Case){
		"average": func(*casefile.Case) {},
		"matrix":  matrix,
		"recorded": func(of *casefile.Case) {
			of.Mount = casefile.Mount{Recorded: &casefile.Recorded{
				RightCondyle: casefile.Point{-55, 0, 0}, LeftCondyle: casefile.Point{55, 0, 0}, ReferencePoint: casefile.Point{0, -90, 0},
			}}
		},
	} {
		got, err := mounted(lower, edit)
		require.NoError(t, err, name)
		require.NotNil(t, got.Incisal, name)
		require.NoError(t, got.NoIncisal, name)
		require.Less(t, r3.Norm(r3.Sub(*got.Incisal, got.Mount.Apply(truth))), 0.5, name)
	}

	got, err := mounted(&casts.Scan{Mesh: c.Lower.Mesh}, matrix)
	require.NoError(t, err)
	require.Nil(t, got.Incisal)
	require.EqualError(t, got.NoIncisal, "the lower arch has no labels")

	// Without 31 there is none.
	label := make([]dentition.ToothID, c.Lower.Mesh.NumVertices())
	for v := range label {
		if t := c.Lower.Labels.Vertex(mesh.VertexID(v)); t != 31 {
			label[v] = t
		}
	}
	without, err := dentition.NewLabels(dentition.Lower, label)
	require.NoError(t, err)
	got, err = mounted(scan(typodont.Arch{Mesh: c.Lower.Mesh, Labels: without}), matrix)
	require.NoError(t, err)
	require.Nil(t, got.Incisal)
	require.ErrorContains(t, got.NoIncisal, "31 is not labelled")

	// 5 mm off the arch is the most.
	for off, ok := range map[float64]bool{4.5: true, 6: false} {
		at := casefile.Point{truth.X, truth.Y, truth.Z + off}
		_, err := mounted(lower, func(of *casefile.Case) {
			matrix(of)
			of.Landmarks.IncisalPoint = &at
		})
		if ok {
			require.NoError(t, err)
		} else {
			require.ErrorIs(t, err, casts.ErrLandmarks)
			require.ErrorContains(t, err, "landmarks.incisal_point lies")
		}
	}
}
