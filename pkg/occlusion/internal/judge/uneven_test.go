package judge

import (
	"testing"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
)

// Anterior teeth carry protrusion on one side only where those of the other side, told by
// the lower tooth where the upper one is not labelled, hardly touch; named is the pair
// that carries longest, from where it begins; where posterior teeth carry it is another matter.
func TestUnevenIsToldByWhatIsKnown(t *testing.T) {
	left, right, back := findings.Pair{Upper: 21, Lower: 31}, findings.Pair{Upper: 11, Lower: 41}, findings.Pair{Upper: 26, Lower: 36}
	for name, c := range map[string]struct {
		touching func(i int) []findings.Pair // the first one carries
		want     findings.Pair
		from     float64
	}{
		"both sides":             {func(int) []findings.Pair { return []findings.Pair{left, right} }, findings.Pair{}, 0},
		"right upper unlabelled": {func(int) []findings.Pair { return []findings.Pair{left, {Upper: 0, Lower: 41}} }, findings.Pair{}, 0},
		"left upper unlabelled": {func(int) []findings.Pair { return []findings.Pair{{Upper: 0, Lower: 31}} },
			findings.Pair{Upper: 0, Lower: 31}, 0.4},
		"left from 1.2 mm on": {func(i int) []findings.Pair {
			if i < 2 {
				return []findings.Pair{right}
			}
			return []findings.Pair{left}
		}, left, 1.2},
		"back teeth carry":   {func(int) []findings.Pair { return []findings.Pair{back, left} }, findings.Pair{}, 0},
		"nothing labelled":   {func(int) []findings.Pair { return []findings.Pair{{}} }, findings.Pair{}, 0},
		"front do not touch": {func(int) []findings.Pair { return []findings.Pair{back} }, findings.Pair{}, 0},
	} {
		t.Run(name, func(t *testing.T) {
			set := casefile.Default()
			x := &findings.Excursion{Movement: "protrusive"}
			for i := range 16 {
				f := findings.Frame{TravelMM: 0.4 * float64(i+1)}
				for k, p := range c.touching(i) {
					if k == 0 {
						f.Carrier = &findings.Touch{Upper: p.Upper, Lower: p.Lower}
					}
					f.Contacts = append(f.Contacts, findings.Contact{Upper: p.Upper, Lower: p.Lower, FoilUm: TouchFoil(set)})
				}
				x.Frames = append(x.Frames, f)
			}
			m := newMovement(t, x, set)
			x.Smoothness = &findings.Smoothness{Evenness: m.evenness()}
			f, ok := m.uneven()
			require.Equal(t, c.want != findings.Pair{}, ok)
			if ok {
				require.Equal(t, c.want, findings.Pair{Upper: f.Upper, Lower: f.Lower})
				require.InDelta(t, c.from, f.FromMM, 1e-9)
				require.InDelta(t, 6.4, f.ToMM, 1e-9)
				require.Equal(t, f.FromMM, f.AtMM)
			}
		})
	}
}
