package occlusion_test

import (
	"testing"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
)

// As scanned, five pairs of the real casts overlap, 26/37 deepest of all (0.30 mm,
// found with Open3D and VTK). So they are held open there, and only there, which no
// mouth is: the mounting is not acceptable, and the front is low. The arches are
// within what is published: intercanine and intermolar widths of class I adults 35.4
// and 53.8 mm above, 26.9 and 51.7 below, between outer points; spheres over the lower
// cusps 77 to 111 mm (Wen et al. 2025; Nam et al. 2013).
func TestKeyNumbersOfTheRealCase(t *testing.T) {
	f := examinedReal(t)
	m := &f.Centric.Mounting
	require.Equal(t, findings.Remount, m.Verdict)
	require.InDelta(t, 0.35, f.Centric.OpeningDeg, 0.02)
	for i, want := range []struct {
		upper, lower findings.Part
		class        findings.HoldClass
		um           float64
	}{{16, 46, findings.ClassPasses, 162}, {22, 32, findings.ClassPasses, 544}, {26, 37, findings.ClassHolds, 0}} {
		a := m.Areas[i]
		require.Equal(t, teeth(dentition.ToothID(want.upper), dentition.ToothID(want.lower)), [2]findings.Part{a.Upper, a.Lower})
		require.Equal(t, want.class, a.Class, a.Area)
		require.InDelta(t, want.um, a.GapUm, 0.05*want.um+1)
	}
	require.Nil(t, m.Tilt, "no tilt explains how the teeth meet one after the other")
	require.Len(t, f.Centric.Teeth, 29)
	for _, x := range f.Centric.Teeth {
		want := findings.ClassPasses
		if x.Tooth == 26 || x.Tooth == 37 {
			want = findings.ClassHolds
		}
		require.Equal(t, want, x.Class, x.Tooth)
	}
	require.Len(t, f.Centric.Stops, 1)
	s := &f.Centric.Stops[0]
	require.Equal(t, teeth(26, 37), [2]findings.Part{s.Upper, s.Lower})
	require.Equal(t, [2]string{"distal marginal ridge", "mesiobuccal cusp"}, [2]string{s.OnUpper.Feature, s.OnLower.Feature})
	require.True(t, s.Stable, s.Reason)

	a := f.Arches
	widths := map[findings.Part]float64{}
	for _, w := range a.Widths {
		if dentition.ToothID(w.Right).Type() == dentition.Canine || w.Landmark == "mesiobuccal cusp" {
			widths[w.Right] = w.WidthMM
		}
	}
	for right, want := range map[findings.Part]float64{13: 31.4, 16: 48.6, 43: 24.3, 46: 42.8} {
		require.InDelta(t, want, widths[right], 0.5, right)
	}
	for i, want := range [][2]float64{{2.7, 1.4}, {2.1, 1.4}} {
		require.InDelta(t, want[0], a.Incisors[i].OverjetMM, 0.3)
		require.InDelta(t, want[1], a.Incisors[i].OverbiteMM, 0.3)
	}
	for i, want := range []float64{1.9, 0.7} {
		require.InDelta(t, want, a.Spee[i].DepthMM, 0.2)
	}
	require.InDelta(t, 79, a.Sphere.RadiusMM, 4)
	require.Equal(t, [2]string{"I", "III"}, [2]string{a.Molars[0].Class, a.Molars[1].Class})
}
