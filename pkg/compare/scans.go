package compare

import (
	"math"

	"github.com/cusptrace/cusptrace/pkg/findings"
)

// Crown is what changed on the crown of a tooth between two scans of an arch.
type Crown struct {
	Tooth findings.Part `json:"tooth"`
	// what is unchanged of the crown lays one over the other; otherwise nothing is told of it
	Measured bool `json:"measured"`
	// median distance of the crown from the other scan, once laid over it
	FitUm float64 `json:"fit_um"`
	// smallest change that can be proved on this crown
	ProvableUm float64 `json:"provable_um"`
	// what was lost and gained beyond that
	Lost   Extent `json:"lost"`
	Gained Extent `json:"gained"`
}

// Extent is the size of a change on a crown, all 0 where none can be proved.
type Extent struct {
	// along the normal of the first scan, averaged over 0.8 mm across
	DeepestUm float64 `json:"deepest_um"`
	AreaMM2   float64 `json:"area_mm2"`
	VolumeMM3 float64 `json:"volume_mm3"`
	// where it is deepest, in the frame of the first scan; null where nothing changed
	PointMM *findings.Vec `json:"point_mm"`
}

// onSelfUm is how far from each other, in µm, most of a crown lies on two copies of one scan at most:
// the rounding of files is below it, noise of scanning far above.
const onSelfUm = 0.1

// exact says whether crowns lie on each other as those of one scan do, but for what was worked on.
func exact(crowns []Crown) bool {
	seen := false
	for i := range crowns {
		if crowns[i].Measured {
			if crowns[i].FitUm > onSelfUm {
				return false
			}
			seen = true
		}
	}
	return seen
}

func newAside() Aside {
	return Aside{Before: []Place{}, After: []Place{}, StopsBefore: []Stop{}, StopsAfter: []Stop{}}
}

// provable is the smallest change of a height between two scannings that chance does not make,
// from the uncertainties of both, µm: 1.96 standard deviations of a difference (the minimal
// detectable change of repeated measurements, at 95 %).
func provable(a, b float64) float64 { return 1.96 * math.Sqrt(a*a+b*b) }

// sameScans says whether two examinations are of the same scans. Casts that were worked on, in a
// trial treatment, have no files and are those of the other.
func sameScans(a, b *findings.Findings) bool {
	of := func(f *findings.Findings, role findings.InputRole) string {
		for _, in := range f.Inputs {
			if in.Role == role {
				return in.SHA256
			}
		}
		return ""
	}
	for _, role := range [...]findings.InputRole{findings.UpperScan, findings.LowerScan} {
		if x, y := of(a, role), of(b, role); x != y && x != "" && y != "" {
			return false
		}
	}
	return true
}

// place puts a finding of one examination alone where it belongs: to those that are new or gone, or
// aside.
func (c *Comparison) place(p Place, other *findings.Findings, differs, unmeasured, unproven *[]Place) {
	switch {
	case c.SameScans:
	case !hasTooth(other, p.Upper) || !hasTooth(other, p.Lower) || !follows(other, &p):
		differs = unmeasured
	case p.HeightUm == nil || *p.HeightUm <= c.ProvableUm:
		differs = unproven
	}
	*differs = append(*differs, p)
}

// stop does so for a centric stop. That of other scans is lost where one of its teeth stands clear by
// more than can be chance.
func (c *Comparison) stop(s Stop, other *findings.Findings, differs, unmeasured, unproven *[]Stop) {
	switch {
	case c.SameScans:
	case !hasTooth(other, s.Upper) || !hasTooth(other, s.Lower):
		differs = unmeasured
	case max(gapOf(other, s.Upper), gapOf(other, s.Lower)) <= c.ProvableUm:
		differs = unproven
	}
	*differs = append(*differs, s)
}

// hasTooth says whether a tooth is on the casts; what is no tooth is on all.
func hasTooth(f *findings.Findings, t findings.Part) bool { return t == 0 || !math.IsNaN(gapOf(f, t)) }

// gapOf is the gap of a tooth in intercuspation, µm; NaN where it is not on the casts.
func gapOf(f *findings.Findings, t findings.Part) float64 {
	for i := range f.Centric.Teeth {
		if f.Centric.Teeth[i].Tooth == t {
			return f.Centric.Teeth[i].GapUm
		}
	}
	return math.NaN()
}

// follows says whether an examination follows a movement to where a finding begins.
func follows(f *findings.Findings, p *Place) bool {
	if p.Movement == findings.Closed {
		return true
	}
	for i := range f.Excursions {
		x := &f.Excursions[i]
		if n := len(x.Frames); x.Movement == p.Movement && n > 0 && x.Frames[n-1].TravelMM >= p.FromMM-1e-9 {
			return true
		}
	}
	return false
}
