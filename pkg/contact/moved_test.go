package contact

import (
	"context"
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// bent is a mesh bent by up to a few tenths of a millimetre and moved as a whole.
func bent(t *testing.T, m *mesh.Mesh, by float64) *mesh.Mesh {
	whole := kinematics.Rotation(r3.Vec{X: 1}, 0.05).Then(kinematics.Translation(r3.Vec{Y: 2, Z: -3}))
	out, err := m.Transform(func(p r3.Vec) r3.Vec {
		return whole.Apply(r3.Add(p, r3.Vec{X: by * math.Sin(p.Y/20), Y: by * math.Cos(p.X/15), Z: by * math.Sin((p.X+p.Y)/25)}))
	})
	require.NoError(t, err)
	return out
}

// Arches that are moved answer as arches that are built where those came to lie: closings,
// clearances of every part and sides of points, to the last bit.
func TestMovedArchesAnswerAsBuiltOnes(t *testing.T) {
	ctx := context.Background()
	up, lo := syntheticArches(4000)
	parts := func(m *mesh.Mesh) []int32 {
		out := make([]int32, m.NumTriangles())
		for i := range out {
			a, _, _ := m.Corners(mesh.TriID(i))
			out[i] = int32(math.Floor(a.X/10)) + 8
		}
		return out
	}
	arch := func(m *mesh.Mesh, parts []int32) *Arch {
		a, err := NewArch(ctx, m, parts, Options{})
		require.NoError(t, err)
		return a
	}
	upArch, loArch := arch(up, parts(up)), arch(lo, parts(lo))
	c, err := NewCloser(ctx, upArch, loArch, Options{})
	require.NoError(t, err)

	upBent, loBent := bent(t, up, 0.2), bent(t, lo, -0.1)
	// In the memory of others, bent otherwise.
	upOld, err := upArch.Moved(bent(t, up, -0.3), nil)
	require.NoError(t, err)
	loOld, err := loArch.Moved(bent(t, lo, 0.3), nil)
	require.NoError(t, err)
	old, err := c.Moved(upOld, loOld, nil)
	require.NoError(t, err)
	upMoved, err := upArch.Moved(upBent, upOld)
	require.NoError(t, err)
	loMoved, err := loArch.Moved(loBent, loOld)
	require.NoError(t, err)
	require.NoError(t, tree(upMoved.Index).CheckInvariants())
	require.NoError(t, tree(loMoved.Index).CheckInvariants())
	moved, err := c.Moved(upMoved, loMoved, old)
	require.NoError(t, err)

	upNew, loNew := arch(upBent, parts(up)), arch(loBent, parts(lo))
	built, err := NewCloser(ctx, upNew, loNew, Options{})
	require.NoError(t, err)
	var s1, s2 CloserScratch
	var c1, c2 ClearanceScratch
	for i, base := range benchFrames(12) {
		want, err1 := built.Close(base, &s1)
		got, err2 := moved.Close(base, &s2)
		require.Equal(t, err1, err2)
		require.NoError(t, err1)
		require.Equal(t, want, got, "frame %d", i)
		a, err := AppendUpperClearances(nil, upNew, loNew, want.Pose, &c1)
		require.NoError(t, err)
		b, err := AppendUpperClearances(nil, upMoved, loMoved, want.Pose, &c2)
		require.NoError(t, err)
		for k := range a {
			require.Equal(t, a[k].Dist, b[k].Dist)
		}
		// What lies within a limit is the clearance where that is less, else nothing.
		var gaps GapScratch
		for k, part := range upNew.Parts {
			g, ok := PartsWithin(upMoved, loMoved, part, WholeArch, want.Pose, 0.3, &gaps)
			require.Equal(t, a[k].Dist <= 0.3, ok)
			if ok {
				require.Equal(t, a[k].Dist, g.Dist)
			}
		}
		_, ok := PartsWithin(upMoved, loMoved, 200, WholeArch, want.Pose, 100, &gaps)
		require.False(t, ok)
		for _, g := range a[:3] {
			q := r3.Add(g.UpperPoint, r3.Vec{Z: 0.05})
			h, ok := upNew.Index.Nearest(q, 1)
			require.True(t, ok)
			in1, ok1 := upNew.Sides.Inside(h, q)
			in2, ok2 := upMoved.Sides.Inside(h, q)
			require.Equal(t, [2]bool{in1, ok1}, [2]bool{in2, ok2})
		}
	}
}

func TestMovedRefusesOtherMeshes(t *testing.T) {
	up, lo := syntheticArches(400)
	a, err := NewArch(context.Background(), up, nil, Options{})
	require.NoError(t, err)
	small, _ := syntheticArches(100)
	for _, m := range []*mesh.Mesh{nil, small} {
		_, err = a.Moved(m, nil)
		require.Error(t, err)
	}
	b, err := NewArch(context.Background(), lo, nil, Options{})
	require.NoError(t, err)
	c, err := NewCloser(context.Background(), a, b, Options{})
	require.NoError(t, err)
	_, err = c.Moved(nil, b, nil)
	require.ErrorIs(t, err, ErrNoArch)
}
