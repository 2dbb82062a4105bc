package judge

import (
	"testing"

	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
)

// No sentence says that something goes down at less than 0°.
func TestSlopeInWords(t *testing.T) {
	for deg, want := range map[float64]string{47.4: "down at 47°", -31.6: "up at 32°", 0.4: "level", -0.4: "level", 0.6: "down at 1°"} {
		require.Equal(t, want, slope(deg).String(), deg)
	}
}

// In a mixed dentition a deciduous tooth stands for the permanent one of its place and
// the other way round.
func TestDeciduousTeethAreAntagonistsToo(t *testing.T) {
	cast := func(teeth ...dentition.ToothID) *casts.Cast {
		c := &casts.Cast{Teeth: []dentition.ToothID{}, Frames: map[dentition.ToothID]anatomy.Frame{}}
		for _, k := range teeth {
			c.Frames[k] = anatomy.Frame{Tooth: k}
		}
		return c
	}
	for _, x := range []struct {
		tooth   dentition.ToothID
		others  []dentition.ToothID
		missing []findings.Part
	}{
		{46, []dentition.ToothID{15, 16}, nil},
		{46, []dentition.ToothID{55, 16}, nil},
		{46, []dentition.ToothID{16}, []findings.Part{15}},
		{85, []dentition.ToothID{14, 55}, nil},
		{26, []dentition.ToothID{36, 75}, []findings.Part{37}},
	} {
		missing, all := without(cast(x.others...), x.tooth)
		require.Equal(t, x.missing, missing, x.tooth)
		require.Equal(t, 2, all)
	}
}
