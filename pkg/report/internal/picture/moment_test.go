package picture

import (
	"testing"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// A finding is looked at from the side of the crown on which it lies, anterior teeth from the
// front; its file says number, kind, teeth and movement.
func TestMoment(t *testing.T) {
	teeth := []ToothSpot{{Tooth: 21, Centre: r3.Vec{X: 4, Y: -80}, Outward: r3.Vec{Y: -1}},
		{Tooth: 26, Centre: r3.Vec{X: 25, Y: -50}, Outward: r3.Vec{X: 1}}}
	for _, c := range []struct {
		upper   findings.Part
		x       float64
		toward  r3.Vec
		lingual bool
		file    string
	}{
		{26, 23, r3.Vec{X: -1}, true, "finding-2-premature-contact-26-36.png"},
		{26, 27, r3.Vec{X: 1}, false, "finding-2-premature-contact-26-36.png"},
		{21, 4, r3.Vec{Y: -1}, false, "finding-2-premature-contact-21-36.png"},
	} {
		m := Moment{Number: 2, Finding: &findings.Finding{Kind: findings.KindPremature, Upper: c.upper, Lower: 36,
			PointMM: &findings.Vec{c.x, -50, 0}}}
		require.True(t, m.look(teeth))
		require.Equal(t, c.toward, m.toward)
		require.Equal(t, c.lingual, m.lingual)
		require.Equal(t, c.file, m.file())
	}
	m := Moment{Number: 1, movement: findings.Right, Finding: &findings.Finding{Kind: findings.KindLateDisclusion,
		Teeth: []findings.Part{17, 26}}}
	require.True(t, m.look(teeth), "by the first of its teeth that is there")
	require.Equal(t, teeth[1].Centre, m.at)
	require.Equal(t, "finding-1-late-posterior-disocclusion-17-26-right.png", m.file())
	m.Finding = &findings.Finding{Kind: findings.KindGuidance, Upper: 13, Lower: 43}
	require.False(t, m.look(teeth))
}
