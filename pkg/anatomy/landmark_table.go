package anatomy

import (
	"math"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// usualFossae are the fossae of a posterior tooth and their usual places, after
// handbook drawings, as for cusps.
func usualFossae(t dentition.ToothID) []usualCusp {
	at := func(f Feature, x, y float64) usualCusp { return usualCusp{feature: f, at: r2.Vec{X: x, Y: y}} }
	lower := t.Jaw() == dentition.Lower
	switch k := t.Type(); {
	case k == dentition.FirstPremolar && lower:
		return []usualCusp{at(MesialFossa, 0.44, -0.2), at(DistalFossa, -0.42, -0.2)}
	case k.Premolar():
		return []usualCusp{at(MesialFossa, 0.48, -0.05), at(DistalFossa, -0.47, -0.05)}
	case lower:
		return []usualCusp{at(MesialFossa, 0.62, -0.08), at(CentralFossa, 0.05, -0.1), at(DistalFossa, -0.62, -0.06)}
	}
	return []usualCusp{at(MesialFossa, 0.63, 0), at(CentralFossa, 0.05, 0.05), at(DistalFossa, -0.6, 0)}
}

// doubt is the confidence in what is placed by the handbook alone.
const doubt = 0.3

// table finds fossae, marginal ridges and central groove of a posterior tooth.
func (r *Relief) table(h heightMap, cusps []cusp) []spot {
	lo, hi := r.extent()
	mid, half := r3.Scale(0.5, r3.Add(lo, hi)), r3.Scale(0.5, r3.Sub(hi, lo))
	buccal, lingual := cuspRows(cusps, mid, half)
	out := r.fossae(&h, mid, half, buccal, lingual)
	ends := [2]float64{0.45, -0.45}
	for _, s := range out {
		switch s.feature {
		case MesialFossa:
			ends[0] = (s.at.X - mid.X) / half.X
		case DistalFossa:
			ends[1] = (s.at.X - mid.X) / half.X
		}
	}
	for k, feature := range []Feature{MesialMarginalRidge, DistalMarginalRidge} {
		from, to := mid.X+ends[k]*half.X, []float64{hi.X, lo.X}[k]
		ridge := spot{feature: feature, confidence: 0.9}
		// The middle three fifths of the way from cusp row to cusp row.
		const parts = 6
		for i := range parts + 1 {
			y := lingual + (buccal-lingual)*(0.8-0.6*float64(i)/parts)
			p, ok := h.crest(from, to, y)
			if !ok {
				continue
			}
			if _, beyond := h.point(p.X+math.Copysign(3*cell, to-from), y); !beyond {
				ridge.confidence -= 0.5 / (parts + 1) // its outer side is missing
			}
			ridge.line = append(ridge.line, p)
		}
		if len(ridge.line) == 0 {
			continue
		}
		ridge.at = ridge.line[len(ridge.line)/2]
		out = append(out, ridge)
	}
	groove := spot{feature: CentralGroove, confidence: 0.8}
	const parts = 16
	for i := range parts + 1 {
		x := mid.X + half.X*(ends[0]+(ends[1]-ends[0])*float64(i)/parts)
		if p, ok := h.dip(x, lingual+0.9*(buccal-lingual), lingual+0.1*(buccal-lingual)); ok {
			groove.line = append(groove.line, p)
		}
	}
	if len(groove.line) > 0 {
		groove.at = groove.line[len(groove.line)/2]
		out = append(out, groove)
	}
	return out
}

// cuspRows is the mean buccal coordinate of the buccal and lingual tips, by the
// handbook where there are none.
func cuspRows(cusps []cusp, mid, half r3.Vec) (buccal, lingual float64) {
	var sum, n [2]float64
	for _, c := range cusps {
		k := 0
		if c.at.Y < 0 {
			k = 1
		}
		sum[k], n[k] = sum[k]+c.tip.Y, n[k]+1
	}
	buccal, lingual = mid.Y+0.45*half.Y, mid.Y-0.55*half.Y
	if n[0] > 0 {
		buccal = sum[0] / n[0]
	}
	if n[1] > 0 {
		lingual = sum[1] / n[1]
	}
	return buccal, lingual
}

// fossae finds each fossa as the deepest basin near its usual place; where there
// is none, as the spot there that lies deepest between the cusps.
func (r *Relief) fossae(h *heightMap, mid, half r3.Vec, buccal, lingual float64) []spot {
	usual := usualFossae(r.Frame.Tooth)
	basins := r.peaks(func(v int32) float64 { return -r.Points[v].Z }, leastProminence)
	options := make([][]cusp, len(usual))
	for i, u := range usual {
		for _, b := range basins {
			q := r.Points[b.vertex]
			off := math.Hypot((q.X-mid.X)/half.X-u.at.X, (q.Y-mid.Y)/half.Y-u.at.Y)
			if off < astray*0.8 && !r.Border[b.vertex] && len(options[i]) < 4 {
				options[i] = append(options[i], cusp{usualCusp: u, vertex: b.vertex, tip: q,
					confidence: (1 - off/astray*off/astray/2) * b.prominence / (b.prominence + 0.1)})
			}
		}
	}
	found := distinct(options)
	var out []spot
	for _, u := range usual {
		s := spot{feature: u.feature, confidence: -1}
		for _, c := range found {
			if c.feature == u.feature {
				s.at, s.confidence = c.tip, c.confidence
			}
		}
		if s.confidence < 0 {
			x := mid.X + u.at.X*half.X
			p, ok := h.dip(x, buccal, lingual)
			if !ok {
				p, ok = h.point(x, mid.Y+u.at.Y*half.Y)
			}
			if !ok {
				continue
			}
			s.at, s.confidence = p, doubt
		}
		out = append(out, s)
	}
	return out
}
