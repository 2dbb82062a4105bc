package judge

import (
	"context"
	"fmt"
	"math"
	"testing"

	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/internal/faultkit"
	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
)

func TestProbeTipped(t *testing.T) {
	ctx := context.Background()
	made, err := typodont.Generate(ctx, typodont.Params{Triangles: 40000})
	require.NoError(t, err)
	cast := func(m *mesh.Mesh, l *dentition.Labels) *casts.Cast {
		teeth, err := l.Triangles(m)
		require.NoError(t, err)
		c, err := casts.NewCast(ctx, &casts.Scan{Mesh: m, Labels: l, Teeth: teeth}, l.Jaw(), kinematics.Pose{}, casts.AllSurface)
		require.NoError(t, err)
		return c
	}
	upper, lower := cast(made.Upper.Mesh, made.Upper.Labels), cast(made.Lower.Mesh, made.Lower.Labels)
	for _, tooth := range []dentition.ToothID{17, 36, 46, 26, 15, 45, 47} {
		of, l := upper, made.Upper.Labels
		if tooth.Jaw() == dentition.Lower {
			of, l = lower, made.Lower.Labels
		}
		f := of.Frames[tooth]
		low := 0.0
		for v, p := range of.Whole.Vertices() {
			if l.Vertex(mesh.VertexID(v)) == tooth {
				_, _, o := f.Local(p)
				low = min(low, o)
			}
		}
		neck := f.World(0, 0, low)
		for _, around := range []float64{0, 90, 180, 270} {
			for _, deg := range []float64{9, 14, 18} {
				axis := r3.Add(r3.Scale(math.Sin(around*math.Pi/180), f.Mesial), r3.Scale(math.Cos(around*math.Pi/180), f.Buccal))
				pose := kinematics.Translation(r3.Scale(-1, neck)).Then(kinematics.Rotation(axis, s1.Angle(deg)*s1.Degree)).Then(kinematics.Translation(neck))
				m, err := faultkit.MovedPart(of.Whole, pose, func(v mesh.VertexID) bool { return l.Vertex(v) == tooth })
				require.NoError(t, err)
				c := cast(m, l)
				pair := &casts.Casts{Upper: upper, Lower: lower}
				if tooth.Jaw() == dentition.Lower {
					pair.Lower = c
				} else {
					pair.Upper = c
				}
				h := NewShape(pair, nil)
				line := ""
				for x, k := range c.Frames {
					_ = k
					if a, ok := h.tipped(c, x); ok && a >= tippedDeg {
						line += fmt.Sprintf(" %v:%.1f", x, a)
					}
				}
				p := h.inRow(c, tooth)
				lean, _ := c.Tipped(tooth)
				a, ok := h.tipped(c, tooth)
				fmt.Println(findings.Part(tooth), around, deg, "row", p.TippedDeg(), "neighbours", lean, "said", a, ok, line)
			}
		}
	}
}
