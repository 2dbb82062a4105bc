package contact_test

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/cusptrace/cusptrace/internal/golden"
	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

var files = golden.New("testdata/golden")

func TestMain(m *testing.M) { os.Exit(files.Run(m)) }

// Closings, contacts, clearances and maps to the last bit, as hexadecimal
// numbers: amd64 and js/wasm must both give them.
func TestGoldenBits(t *testing.T) {
	upper, lower, c := bench(t)
	var out strings.Builder
	say := func(name string, numbers ...any) {
		out.WriteString(name)
		for _, x := range numbers {
			switch x := x.(type) {
			case r3.Vec:
				fmt.Fprintf(&out, " %x %x %x", x.X, x.Y, x.Z)
			case float64:
				fmt.Fprintf(&out, " %x", x)
			default:
				fmt.Fprintf(&out, " %d", x)
			}
		}
		out.WriteString("\n")
	}
	gaps := func(name string, gaps []contact.Gap) {
		for i, g := range gaps {
			say(fmt.Sprint(name, " ", i), g.Dist, g.Upper, g.Lower, g.UpperPoint, g.LowerPoint)
		}
	}
	set := kinematics.MeanSettings()
	var s contact.FrameScratch
	for _, m := range []kinematics.Movement{kinematics.Right, kinematics.Left, kinematics.Protrusive} {
		o := contact.FrameOptions{Foils: []float64{0.008, 0.2}, Clearances: true, Scratch: &s}
		for f, err := range c.Frames(t.Context(), set.Stations(m, []float64{0, 1.3, 2.9}), o) {
			require.NoError(t, err)
			say(fmt.Sprintf("%v %g mm:", m, f.Station.Travel), f.Opening.Radians(), f.Touch.Upper, f.Touch.Lower, f.Touch.Point)
			for _, p := range f.Patches {
				say("contact", p.Foil, p.Gap, p.Upper, p.Lower, p.Area, p.Point, p.Centre, p.UpperNormal, p.LowerNormal)
			}
			gaps("upper part", f.Upper)
			gaps("lower part", f.Lower)
		}
	}
	// Where the surfaces overlap, and seen from the other arch.
	deep := kinematics.Rotation(r3.Vec{X: 1, Y: 0.2}, 0.01).Then(kinematics.Translation(r3.Vec{X: 0.1, Z: 4.6}))
	patches, err := contact.AppendPatches(nil, upper, lower, deep, []float64{0.04}, true, &contact.PatchScratch{})
	require.NoError(t, err)
	require.NotEmpty(t, patches)
	for _, p := range patches {
		say("overlap", p.Depth, p.Area, p.Centre, p.UpperNormal, p.LowerNormal)
	}
	near, err := contact.AppendUpperMap(t.Context(), nil, upper, lower, deep, 3, contact.Options{})
	require.NoError(t, err)
	sum, behind := 0.0, 0
	for _, d := range near {
		if d <= 3 {
			sum += d
		}
		if d < 0 {
			behind++
		}
	}
	require.Positive(t, behind)
	say("map", sum, behind)
	turned := kinematics.Translation(r3.Vec{Y: 1, Z: 2}).Then(kinematics.Rotation(r3.Vec{Y: 1, Z: 0.3}, 0.1))
	about, err := contact.NewCloserAbout(t.Context(), newArch(t, testmesh.Moved(upper.Mesh(), turned.Apply), nil),
		newArch(t, testmesh.Moved(lower.Mesh(), turned.Apply), nil), turned.Inverse(), contact.Options{})
	require.NoError(t, err)
	touch, err := about.Close(kinematics.Pose{}, &contact.CloserScratch{})
	require.NoError(t, err)
	say("about another axis", touch.Opening.Radians(), touch.Upper, touch.Lower, touch.Point)
	files.Check(t, "bits.txt", out.String())
}
