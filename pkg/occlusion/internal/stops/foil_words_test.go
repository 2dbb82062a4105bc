package stops

import (
	"testing"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
)

// foiled is teeth and a cusp of each at which thin foil does what classes say.
func foiled(classes map[findings.Part]findings.HoldClass) *findings.Centric {
	c := &findings.Centric{}
	for t := range dentition.All {
		if class, ok := classes[findings.Part(t)]; ok {
			c.Teeth = append(c.Teeth, findings.CentricTooth{Tooth: findings.Part(t), Class: class})
			c.Support = append(c.Support, findings.ToothStops{Tooth: findings.Part(t),
				Cusps: []findings.CuspStops{{Cusp: "buccal cusp", Class: &class}, {Cusp: "no surface"}}})
		}
	}
	return c
}

// Which teeth hold foil is said by name, but for a class that holds most of them.
func TestFoilInWords(t *testing.T) {
	limits := &casefile.Default().Thresholds
	require.Empty(t, DescribeFoil(&findings.Centric{}, limits).String())
	require.Equal(t, "Thin foil: holds at 16, 46; light drag at 15; too close to call at 45. "+
		"Narrow foil strips, cusp by cusp, on posterior teeth: holds at buccal cusp of 16, buccal cusp of 46; light drag "+
		"at buccal cusp of 15; too close to call at buccal cusp of 45. "+
		"Too close to call: out of contact, but the scan uncertainty (37 µm) does not tell the gap from contact.",
		DescribeFoil(foiled(map[findings.Part]findings.HoldClass{16: findings.ClassHolds, 46: findings.ClassHolds,
			15: findings.ClassDrags, 45: findings.ClassUndecided}), limits).String())
	all := map[findings.Part]findings.HoldClass{}
	for i := findings.Part(1); i <= 8; i++ {
		all[10+i] = findings.ClassHolds
	}
	c := foiled(all)
	require.Equal(t, "Thin foil: holds at all 8 teeth. Narrow foil strips, cusp by cusp, on posterior teeth: holds at "+
		"all 8 cusps.", DescribeFoil(c, limits).String())
	all[21] = findings.ClassPasses
	c = foiled(all)
	c.Support = nil
	require.Equal(t, "Thin foil: pulls through at 21; holds at the other 8 teeth.", DescribeFoil(c, limits).String())
	require.Equal(t, "Thin foil: pulls through at 9; holds at the other 8 teeth.", DescribeFoil(c, limits).In(dentition.Universal))
	// Half and half: teeth are all named, cusps counted.
	for i := findings.Part(1); i <= 8; i++ {
		all[20+i] = findings.ClassPasses
	}
	require.Equal(t, "Thin foil: holds at 11, 12, 13, 14, 15, 16, 17, 18; pulls through at 21, 22, 23, 24, 25, 26, 27, 28. "+
		"Narrow foil strips, cusp by cusp, on posterior teeth: holds at 8; pulls through at 8.", DescribeFoil(foiled(all), limits).String())
}
