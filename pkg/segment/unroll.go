package segment

import (
	"math"

	"github.com/cusptrace/cusptrace/internal/portable"
	"gonum.org/v1/gonum/spatial/r3"
)

// band is an arch unrolled: what stands along its curve, at stations of
// [pace] from the patient's right to the left.
type band struct {
	first   float64   // station of the first column, mm
	top     []float64 // height of the highest spot, mm; −Inf where there is no surface
	middle  []float64 // distance of the crowns' middle to the outside of the curve, mm
	seam    []float64 // how little a line across the arch follows a valley, about 0 to 2
	valley  []float64 // the seam set off against its surroundings
	crown   []float64 // 1 where a crown stands, 0 where there is gingiva only, and between
	thick   []float64 // buccolingual thickness near the top, mm
	station []float64 // of every vertex
	outside []float64 // of every vertex, from the curve
	height  []float64 // of every vertex
}

// pace is the step along the arch, mm.
const pace = 0.3

func (b *band) column(station float64) int { return int((station - b.first) / pace) }

const (
	// reachOut is how far crowns reach from the curve at most, mm: half the
	// largest crown plus some crowding.
	reachOut = 10.0
	// reachCurve is how far they reach from a curve that runs through their middles, mm.
	reachCurve = 7.0
	// core is how far below the tops the axis lies around which the crowns'
	// surface is unrolled, mm: inside the shortest crown.
	core = 6.0
	// fan is half the angle of the unrolled surface, from straight up.
	fan = 75 * math.Pi / 180
	// rows is the number of its steps.
	rows = 40
	// valley is the curvature of a distinct valley between teeth, 1/mm.
	valley = 0.35
	// openWeight is by how much a border of the scan counts more than its surface: where
	// it parts crowns, as in scans without gingiva, it is as good as a valley.
	openWeight = 4.0
)

// sample is a point of the surface, by the curve.
type sample struct {
	station, outside, height float64
	bend, weight             float64 // mean curvature; a share of the area
	shape                    float64 // size of the curvature; 0 at a border of the scan
	rough                    bool    // with the relief of crowns
}

// grain is how close samples lie at least along edges, mm, so that coarse
// meshes show their crests too.
const grain = 0.3

// refits is how often the curve is moved to the middles of the crowns' tops that it
// itself finds.
const refits = 2

// unroll takes the scan along the arch's curve, which it moves onto the crowns.
func unroll(s *surface, a *archFrame) *band {
	reach := reachOut
	for range refits {
		b, samples := lookAlong(s, a)
		b.findTops(samples, reach)
		a.shift(b.first, b.middle)
		reach = reachCurve
	}
	b, samples := lookAlong(s, a)
	b.findTops(samples, reach)
	b.findCrowns(samples)
	b.findSeams(samples)
	return b
}

// lookAlong samples the surface near the curve.
func lookAlong(s *surface, a *archFrame) (*band, []sample) {
	n := int(math.Round(2*reachBack/pace)) + 1
	b := &band{first: -reachBack, top: make([]float64, n)}
	verts := s.mesh.Vertices()
	b.station, b.outside, b.height = make([]float64, len(verts)), make([]float64, len(verts)), make([]float64, len(verts))
	samples := make([]sample, 0, 2*len(verts))
	take := func(x sample) {
		if i := b.column(x.station); i >= 0 && i < n && math.Abs(x.outside) < 2*reachOut {
			samples = append(samples, x)
		}
	}
	at := func(p r3.Vec) (x sample) {
		q, h := a.plan(p)
		x.height = h
		x.station, x.outside = a.along(q)
		return x
	}
	for v, p := range verts {
		if !s.part[v] {
			b.height[v] = math.Inf(-1)
			continue
		}
		x := at(p)
		b.station[v], b.outside[v], b.height[v] = x.station, x.outside, x.height
		x.bend, x.weight, x.shape, x.rough = s.bend[v], s.area[v], math.Abs(s.bend[v]), s.rough(v)
		if s.open[v] {
			x.shape = 0
			x.bend, x.weight = -valley, openWeight*x.weight
		}
		take(x)
	}
	for _, e := range s.edges {
		p, q := verts[e.V[0]], verts[e.V[1]]
		parts := int(r3.Norm(r3.Sub(q, p)) / grain)
		if !s.part[e.V[0]] || parts > 20 { // edges as long as that span holes
			continue
		}
		for k := 1; k <= parts; k++ {
			t := float64(k) / float64(parts+1)
			x := at(r3.Add(r3.Scale(1-t, p), r3.Scale(t, q)))
			from, to := s.bend[e.V[0]], s.bend[e.V[1]]
			x.bend, x.shape = (1-t)*from+t*to, (1-t)*math.Abs(from)+t*math.Abs(to)
			x.weight = (s.area[e.V[0]] + s.area[e.V[1]]) / 12
			x.rough = s.rough(int(e.V[0])) && s.rough(int(e.V[1]))
			take(x)
		}
	}
	return b, samples
}

// findTops finds heights and middles of the crowns along the curve, within reach of it.
func (b *band) findTops(samples []sample, reach float64) {
	n := len(b.top)
	b.middle = make([]float64, n)
	for i := range b.top {
		b.top[i] = math.Inf(-1)
	}
	for _, x := range samples {
		if i := b.column(x.station); math.Abs(x.outside) < reach && x.rough {
			b.top[i] = max(b.top[i], x.height)
		}
	}
	// The middle of what lies within 3 mm of the top nearby, smoothed.
	near := maximum(b.top, columns(2))
	weight := make([]float64, n)
	lo, hi := make([]float64, n), make([]float64, n)
	for i := range lo {
		lo[i], hi[i] = math.Inf(1), math.Inf(-1)
	}
	for _, x := range samples {
		if i := b.column(x.station); math.Abs(x.outside) < reach && x.rough && x.height > near[i]-3 {
			lo[i], hi[i] = min(lo[i], x.outside), max(hi[i], x.outside)
		}
	}
	for i := range b.middle {
		if lo[i] <= hi[i] {
			b.middle[i], weight[i] = (lo[i]+hi[i])/2, 1
		}
	}
	b.middle = blur(b.middle, weight, 2.5/pace)
}

// findCrowns tells where crowns stand, from how much the surface bends near its top, and
// how thick they are there.
func (b *band) findCrowns(samples []sample) {
	n := len(b.top)
	b.crown, b.thick = make([]float64, n), make([]float64, n)
	near := maximum(b.top, columns(1.2))
	lo, hi := make([]float64, n), make([]float64, n)
	for i := range lo {
		lo[i], hi[i] = math.Inf(1), math.Inf(-1)
	}
	for _, x := range samples {
		i := b.column(x.station)
		if out := x.outside - b.middle[i]; math.Abs(out) < reachCurve && x.height > near[i]-2 {
			lo[i], hi[i] = min(lo[i], out), max(hi[i], out)
		}
	}
	sum, weight := make([]float64, n), make([]float64, n)
	for _, x := range samples {
		i := b.column(x.station)
		if out := x.outside - b.middle[i]; math.Abs(out) < 6 && x.height > near[i]-3 {
			sum[i], weight[i] = sum[i]+x.shape*x.weight, weight[i]+x.weight
		}
	}
	for i := range sum {
		if weight[i] > 0 {
			sum[i] /= weight[i]
		}
	}
	shape := blur(sum, weight, 1/pace)
	share := func(x, none, all float64) float64 { return max(0, min(1, (x-none)/(all-none))) }
	for i := range b.crown {
		if math.IsInf(near[i], -1) {
			continue
		}
		b.crown[i] = share(shape[i], noCrown, allCrown) * share(near[i], lowest, lowest+2.5)
		b.thick[i] = max(0, hi[i]-lo[i])
	}
	// The middle of a worn crown is flat.
	b.crown = minimum(maximum(b.crown, columns(wornFlat/2)), columns(wornFlat/2))
}

// The mean size of the curvature near the top of a slice across the arch, 1/mm: up to
// noCrown there is no crown, from allCrown on there is one. Our choice.
const (
	noCrown  = 0.11
	allCrown = 0.17
	// wornFlat is the longest flat part of a crown between two that bend, mm.
	wornFlat = 4.0
	// lowest is the height above the occlusal plane from which something may be a crown, mm:
	// crowns of the back may lie 5 mm below it, the ridges and edges of casts mostly lower.
	lowest = -7.0
)

// axis is the distance to the outside of the curve at which the line runs around which the
// crowns' surface is unrolled, [core] below the crest: half a crown's thickness behind its
// outer face there, since anterior teeth lean.
func (b *band) axis(samples []sample, crest []float64) []float64 {
	n := len(b.top)
	face, out := make([]float64, n), make([]float64, n)
	weight := make([]float64, n)
	for i := range face {
		face[i], out[i] = math.Inf(-1), math.Inf(-1)
	}
	for _, x := range samples {
		if i := b.column(x.station); math.Abs(x.outside-b.middle[i]) < reachOut && x.rough && x.height > crest[i]-3 {
			out[i] = max(out[i], x.outside)
		}
	}
	out = maximum(out, columns(1))
	for _, x := range samples {
		i := b.column(x.station)
		if math.Abs(x.outside-b.middle[i]) < reachOut && math.Abs(x.height-crest[i]+core) < 1 && x.outside < out[i]+0.5 {
			face[i] = max(face[i], x.outside)
		}
	}
	for i := range face {
		if half := min(max(b.thick[i]/2, 2), 5); !math.IsInf(face[i], -1) {
			face[i], weight[i] = face[i]-half, 1
		}
	}
	face = blur(face, weight, 2/pace)
	thick := blur(b.thick, ones(n), 2/pace)
	for i, x := range face {
		thin := max(0, min(1, (tableThick-thick[i])/2))
		face[i] = b.middle[i] + thin*max(-mostLean, min(mostLean, x-b.middle[i]))
	}
	return face
}

const (
	tableThick = 6.5 // thickness near the top from which teeth have tables and lean little, mm
	mostLean   = 4.0 // of the axis over the depth of [core], mm
)

// findSeams finds for every station the line across the crowns through it that
// follows valleys best: steps of the fan from lingual to buccal, each at most
// two columns aside.
func (b *band) findSeams(samples []sample) {
	n := len(b.top)
	crest := blur(finite(maximum(b.top, columns(2)), -8), ones(n), 2/pace)
	b.seam = b.seamsAround(samples, crest, b.middle)
	for i, x := range b.seamsAround(samples, crest, b.axis(samples, crest)) {
		b.seam[i] = min(b.seam[i], x)
	}
	b.valley = blur(b.seam, ones(n), contrastReach/pace)
	for i, around := range b.valley {
		b.valley[i] = max(0.02, b.seam[i]-contrast*(around-b.seam[i]))
	}
}

// seamsAround is how little the best line across the arch through every station follows a
// valley, the surface unrolled around the given line [core] below the crest.
func (b *band) seamsAround(samples []sample, crest, axis []float64) []float64 {
	n := len(b.top)
	sum, weight := make([]float64, n*rows), make([]float64, n*rows)
	for _, x := range samples {
		i := b.column(x.station)
		if math.Abs(x.outside-b.middle[i]) > reachOut {
			continue
		}
		out, up := x.outside-axis[i], x.height-(crest[i]-core)
		if math.Hypot(out, up) < 0.5 {
			continue
		}
		phi := math.Atan2(out, up) - math.Atan2(b.middle[i]-axis[i], core)
		if j := int((phi + fan) / (2 * fan) * rows); phi > -fan && j < rows {
			sum[i*rows+j], weight[i*rows+j] = sum[i*rows+j]+x.bend*x.weight, weight[i*rows+j]+x.weight
		}
	}
	cost := make([]float64, n*rows)
	for k := range cost {
		i, j := k/rows, k%rows
		var x, w float64
		// Cells without vertices borrow from their neighbours.
		for r := 0; w == 0 && r < 4; r++ {
			for di := -r; di <= r; di++ {
				for dj := -r; dj <= r; dj++ {
					if p, q := i+di, j+dj; p >= 0 && q >= 0 && p < n && q < rows {
						x, w = x+sum[p*rows+q], w+weight[p*rows+q]
					}
				}
			}
		}
		if w > 0 {
			x /= w
		}
		cost[k] = max(0.02, min(2.5, 1+x/valley))
	}
	// Best way from the lingual side, and from the buccal side, to each cell.
	from := func(start, end, step int) []float64 {
		best := make([]float64, n*rows)
		for i := range n {
			best[i*rows+start] = cost[i*rows+start]
		}
		for j := start + step; j != end; j += step {
			for i := range n {
				least := math.Inf(1)
				for d := -2; d <= 2; d++ {
					if p := i + d; p >= 0 && p < n {
						aside := 0.15 * math.Abs(float64(d))
						least = min(least, best[p*rows+j-step]+aside*cost[i*rows+j])
					}
				}
				best[i*rows+j] = least + cost[i*rows+j]
			}
		}
		return best
	}
	a, c := from(0, rows, 1), from(rows-1, -1, -1)
	out := make([]float64, n)
	const mid = rows / 2
	for i := range out {
		out[i] = (a[i*rows+mid] + c[i*rows+mid] - cost[i*rows+mid]) / rows
	}
	return out
}

// A valley between teeth is less of one in front than behind, and on coarse
// scans; it is one beside its surroundings. Our choice.
const (
	contrast      = 0.7
	contrastReach = 2.5 // mm
)

// maximum is the greatest value within r columns.
func maximum(x []float64, r int) []float64 {
	out := make([]float64, len(x))
	for i := range x {
		out[i] = math.Inf(-1)
		for j := max(0, i-r); j <= min(len(x)-1, i+r); j++ {
			out[i] = max(out[i], x[j])
		}
	}
	return out
}

// minimum is the least value within r columns.
func minimum(x []float64, r int) []float64 {
	out := make([]float64, len(x))
	for i := range x {
		out[i] = math.Inf(1)
		for j := max(0, i-r); j <= min(len(x)-1, i+r); j++ {
			out[i] = min(out[i], x[j])
		}
	}
	return out
}

// finite replaces infinite values.
func finite(x []float64, by float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		if out[i] = v; math.IsInf(v, 0) {
			out[i] = by
		}
	}
	return out
}

func ones(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = 1
	}
	return out
}

// blur is the weighted mean under a Gaussian of the given width in columns; far
// from any weight it is the nearest weighted value.
func blur(x, weight []float64, width float64) []float64 {
	out := make([]float64, len(x))
	known := math.NaN()
	for i := range x {
		var sum, w float64
		r := int(3 * width)
		for j := max(0, i-r); j <= min(len(x)-1, i+r); j++ {
			if weight[j] > 0 {
				d := float64(j-i) / width
				k := portable.Exp(-d*d/2) * weight[j]
				sum, w = sum+k*x[j], w+k
			}
		}
		if w > 0 {
			known = sum / w
		}
		out[i] = known
	}
	// Before the first known value: the first one.
	for i := len(out) - 2; i >= 0; i-- {
		if math.IsNaN(out[i]) {
			out[i] = out[i+1]
		}
	}
	for i := range out {
		if math.IsNaN(out[i]) {
			out[i] = 0
		}
	}
	return out
}

// columns is a length along the arch in columns.
func columns(mm float64) int { return int(math.Round(mm / pace)) }
