package display

import (
	"context"
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// The contact of an ellipsoid that touches a plane is an ellipse: its surface with semi-axes
// a, b and c lies within h of the plane where x²/a² + y²/b² ≤ 1 − (1 − h/c)².
func TestOutlineOfAnEllipsoid(t *testing.T) {
	const a, b, c, foil = 3.0, 1.5, 2.0, 40.0
	ctx := context.Background()
	ball := testmesh.Moved(testmesh.Sphere(1, 120), func(p r3.Vec) r3.Vec { return r3.Vec{X: a * p.X, Y: b * p.Y, Z: c*p.Z + c} })
	upper, err := contact.NewArch(ctx, ball, nil, contact.Options{})
	require.NoError(t, err)
	lower, err := contact.NewArch(ctx, testmesh.Plane(8, 4), nil, contact.Options{})
	require.NoError(t, err)
	share := math.Sqrt(1 - (1-foil/1000/c)*(1-foil/1000/c))
	tr := tracer{upper: upper, lower: lower}
	o := tr.outline(&findings.Contact{Normal: findings.Vec{0, 0, 1}, FoilUm: foil, AreaMM2: math.Pi * a * b * share * share})
	require.InDelta(t, 0, r3.Norm(o.Middle), 0.01)
	for k, got := range o.Reach {
		sin, cos := math.Sincos(2 * math.Pi * float64(k) / Sectors)
		want := share / math.Hypot(cos/a, sin/b)
		require.InDelta(t, want, got, 0.06*want, "direction %d", k)
		require.InDelta(t, 1, o.Share(r3.Vec{X: want * cos, Y: want * sin}), 0.07)
	}
	require.InDelta(t, 0.5, o.Share(r3.Vec{X: -0.5 * a * share}), 0.04)
	// A wrong guess of the size changes little; a spot without area has no reach.
	far := tr.outline(&findings.Contact{Normal: findings.Vec{0, 0, 1}, FoilUm: foil, AreaMM2: 0.01})
	for k := range far.Reach {
		require.InDelta(t, o.Reach[k], far.Reach[k], 0.1*o.Reach[k])
	}
	g := far.Grown(5)
	mean := 0.0
	for k, r := range g.Reach {
		mean += r / Sectors
		require.InDelta(t, (g.Reach[0]-2.5)/far.Reach[0], (r-2.5)/far.Reach[k], 1e-9)
	}
	require.InDelta(t, 5, mean, 1e-9)
	require.Equal(t, far, far.Grown(0.01))
}
