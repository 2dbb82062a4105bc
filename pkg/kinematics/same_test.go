package kinematics_test

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/cusptrace/cusptrace/internal/golden"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

var files = golden.New("testdata/golden")

func TestMain(m *testing.M) { os.Exit(files.Run(m)) }

// Mountings, paths and stations to the last bit, as hexadecimal numbers: amd64 and
// js/wasm must both give them.
func TestGoldenBits(t *testing.T) {
	var out strings.Builder
	say := func(name string, numbers ...float64) {
		out.WriteString(name)
		for _, x := range numbers {
			fmt.Fprintf(&out, " %x", x)
		}
		out.WriteString("\n")
	}
	pose := func(name string, p kinematics.Pose) {
		m := p.Matrix()
		say(name, m[:12]...)
	}
	mounted, err := kinematics.Average{
		IncisalPoint: r3.Vec{X: 0.3, Y: -25, Z: 1}, RightMolar: r3.Vec{X: -27, Y: 15, Z: 0.5}, LeftMolar: r3.Vec{X: 26, Y: 14, Z: -0.2},
		Up: r3.Vec{Z: 1}, Intercondylar: kinematics.MeanIntercondylar, CondyleToIncisal: kinematics.MeanCondyleToIncisal, Balkwill: kinematics.MeanBalkwill,
	}.Mount()
	require.NoError(t, err)
	pose("average", mounted)
	pose("axis", kinematics.Rotation(r3.Vec{X: 1, Y: 2, Z: -3}, 0.7).Then(kinematics.Translation(r3.Vec{X: 1. / 3})).Inverse())

	arc, err := kinematics.Arc(12, 40*s1.Degree)
	require.NoError(t, err)
	recorded, err := kinematics.Recorded([]kinematics.PathPoint{{}, {Forward: 1, Down: 1.1}, {Forward: 3, Down: 2.6},
		{Forward: 6, Down: 4}, {Forward: 9, Down: 4.6}})
	require.NoError(t, err)
	mean := kinematics.MeanSettings()
	uneven := mean
	uneven.Right.Path, uneven.Left.Path = arc, recorded
	uneven.Right.ImmediateShift, uneven.Right.WorkingBack, uneven.Left.WorkingUp = 0.6, 10*s1.Degree, -5*s1.Degree
	table := kinematics.IncisalTable{IncisalPoint: r3.Vec{Y: -83, Z: -33}, Inclination: 30 * s1.Degree, Wings: 20 * s1.Degree, Pin: 1}
	for _, set := range []kinematics.Settings{mean, uneven} {
		for _, m := range []kinematics.Movement{kinematics.Right, kinematics.Left, kinematics.Protrusive} {
			for st, err := range set.Stations(m, []float64{0, 0.7, 2, 3.3, 5}) {
				require.NoError(t, err)
				opening, err := table.Opening(st)
				require.NoError(t, err)
				name := fmt.Sprintf("%v %g", m, st.Travel)
				say(name, opening.Radians(), st.SideShift, st.WorkingShift)
				pose(name, st.Pose(opening))
			}
		}
	}
	l := kinematics.LateralsOf(r3.Vec{X: 21, Y: -60, Z: -30}, 110, 10*s1.Degree)
	say("laterals", l.Working.Radians(), l.Nonworking.Radians())
	files.Check(t, "bits.txt", out.String())
}
