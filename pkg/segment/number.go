package segment

import (
	"context"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/portable"
	"github.com/cusptrace/cusptrace/pkg/dentition"
)

// Handbook mesiodistal crown widths, mm, of the teeth 1 to 8 of a quadrant
// (Wheeler's carving table; Nelson and Ash).
var (
	upperWidths = [8]float64{8.5, 6.5, 7.5, 7, 7, 10, 9, 8.5}
	lowerWidths = [8]float64{5, 5.5, 7, 7, 7, 11, 10.5, 10}
)

// widestGap is the widest gap between two teeth, mm: room of four molars.
const widestGap = 36.0

// missingCost is the cost of the tooth 1 to 8 of a quadrant missing between others. Premolars
// are the usual ones to be taken out for orthodontic treatment, the first more often (common
// practice, no source).
var missingCost = [9]float64{0, 1.6, 1.2, 1.6, 1, 1.3, 1.4, 1.1, 1.1}

// absentCost is the cost of a quadrant that ends before the tooth 1 to 8.
var absentCost = [9]float64{9, 9, 9, 8, 7, 5.5, 4, 1.2, 0}

// usualThickness is the thickness 2 mm below the top and its spread, mm; front
// teeth are thin there, posterior teeth have tables. Our choice after handbook
// profiles.
func usualThickness(position int) (mean, spread float64) {
	switch {
	case position <= 2:
		return 2.7, 0.8
	case position == 3:
		return 3.2, 1
	case position <= 5:
		return 6, 1.8
	}
	return 8, 1.8
}

// span is a tooth found along the arch: its code and the columns of its borders.
type span struct {
	tooth      dentition.ToothID
	start, end int
	confidence float64
}

// lineup finds the most likely row of teeth along a band.
type lineup struct {
	*band
	jaw   dentition.Jaw
	w     weights
	scale float64 // of the widths
	// pinned says for a column which place must cover it; 0 leaves it open,
	// [noPlace] forbids every tooth, −1−p forbids place p.
	pinned []int
	// Sums over columns up to the given one.
	inside, stand, thickSum []float64
	*looks                  // nil where there is no picture
	pinsOf                  [numPlaces + 1][]float64
	wanted                  [numPlaces + 1]bool // pinned somewhere
}

// A place is a tooth's position in its jaw from the patient's right to the left,
// 1 to 16.
const numPlaces = 16

// position is the position in the quadrant of a place.
func position(place int) int {
	if place <= 8 {
		return 9 - place
	}
	return place - 8
}

// toothAt is the permanent tooth at a place, and placeOf its inverse.
func toothAt(jaw dentition.Jaw, place int) dentition.ToothID {
	right, left := dentition.ToothID(10), dentition.ToothID(20)
	if jaw == dentition.Lower {
		right, left = 40, 30
	}
	if place <= 8 {
		return right + dentition.ToothID(position(place))
	}
	return left + dentition.ToothID(position(place))
}

func placeOf(t dentition.ToothID) int {
	if t.Side() == dentition.Right {
		return 9 - t.Position()
	}
	return 8 + t.Position()
}

func newLineup(b *band, l *looks, jaw dentition.Jaw, pinned []int, w weights) *lineup {
	r := &lineup{band: b, looks: l, jaw: jaw, pinned: pinned, w: w}
	n := len(b.top)
	sums := func(f func(i int) float64) []float64 {
		out := make([]float64, n+1)
		for i := range n {
			out[i+1] = out[i] + f(i)
		}
		return out
	}
	r.inside = sums(func(i int) float64 { return max(0, r.w.insideSeam-b.seam[i]) / r.w.insideSeam })
	r.stand = sums(func(i int) float64 { return b.crown[i] })
	r.thickSum = sums(func(i int) float64 { return b.thick[i] })
	r.setPins(pinned)
	return r
}

// setPins makes the sums of forbidden columns for each place and, as place 0,
// for no tooth.
func (r *lineup) setPins(pinned []int) {
	r.pinned = pinned
	for place := range numPlaces + 1 {
		sum := make([]float64, len(pinned)+1)
		r.wanted[place] = false
		for i, p := range pinned {
			sum[i+1] = sum[i]
			switch {
			case p > 0 && p != place, p == noPlace && place > 0, p == -1-place && place > 0:
				sum[i+1]++
			}
			r.wanted[place] = r.wanted[place] || p == place && place > 0
		}
		r.pinsOf[place] = sum
	}
}

// noPlace pins a column on which no tooth stands.
const noPlace = -1

// forbidden is a cost that nothing outweighs.
const forbidden = 1e6

// tooth is the cost of a tooth at a place between two columns.
func (r *lineup) toothCost(place, start, end int) float64 {
	p := position(place)
	z := (float64(end-start)*pace/r.usualWidth(place) - 1) / r.w.width
	cost := z * z / 2
	n := end - start
	a, b := start+n/5, end-n/5
	if m := float64(b - a); m > 0 {
		cost += r.w.inside * (r.inside[b] - r.inside[a])
		mean, spread := usualThickness(p)
		t := ((r.thickSum[b]-r.thickSum[a])/m - mean) / spread
		cost += min(t*t/2, 4)
	}
	cost += r.w.stand * pace * (float64(n) - (r.stand[end] - r.stand[start]))
	cost += r.looks.tooth(&r.w, p, start, end, r.usualWidth(place), r.usualDepth(place))
	return cost + forbidden*(r.pinsOf[place][end]-r.pinsOf[place][start])
}

// border is the cost of a border between two teeth.
func (r *lineup) borderCost(i int) float64 {
	least := 1.0
	for d := -1; d <= 1; d++ {
		if j := i + d; j >= 0 && j < len(r.valley) {
			least = min(least, r.valley[j])
		}
	}
	return r.w.seam*least + r.looks.border(&r.w, i)
}

// midline is the cost of the border between the quadrants.
func (r *lineup) midline(column float64) float64 {
	z := (r.first + column*pace) / r.w.midline
	return z * z / 2
}

// skip is the cost of leaving out the places between two.
func (r *lineup) skip(from, to int) float64 {
	cost := 0.0
	for p := from + 1; p < to; p++ {
		if r.wanted[p] {
			return forbidden
		}
		cost += missingCost[position(p)]
	}
	return cost
}

// solution is the cheapest row.
type solution struct {
	cost  float64
	scale float64 // of the widths
	row   []span
}

// solve finds the cheapest row by dynamic programming.
func (r *lineup) solve() solution {
	n := len(r.top)
	free := func(i, j int) float64 { // the columns i to j hold no tooth
		return r.w.empty*pace*(r.stand[j]-r.stand[i]) + r.looks.free(&r.w, i, j) + forbidden*(r.pinsOf[0][j]-r.pinsOf[0][i])
	}
	// ended[k][i] is the least cost with a tooth k that ends at column i, startOf where it
	// starts, before[k][i] end and place of the tooth before one that starts there.
	var ended [numPlaces + 1][]float64
	var startOf [numPlaces + 1][]int
	type link struct{ place, end int }
	var before [numPlaces + 1][]link
	borders := make([]float64, n+1)
	for i := range borders {
		borders[i] = r.borderCost(i)
	}
	gaps := gapWidths()
	for k := 1; k <= numPlaces; k++ {
		begin := make([]float64, n+1)
		ended[k], startOf[k], before[k] = make([]float64, n+1), make([]int, n+1), make([]link, n+1)
		for i := range n + 1 {
			begin[i] = r.ends(1, k) + free(0, i)
			ended[k][i] = math.Inf(1)
		}
		for q := 1; q < k; q++ {
			missing := r.skip(q, k)
			if missing >= forbidden {
				continue
			}
			room := r.room(q, k)
			for g := range gaps {
				gaps[g].cost = missing + r.space(float64(gaps[g].columns)*pace, room)
			}
			for i := range n + 1 {
				for _, g := range gaps {
					if g.columns > i {
						break
					}
					from := i - g.columns
					c := ended[q][from] + g.cost
					if c >= begin[i] {
						continue
					}
					c += (borders[from]+borders[i])*g.sides + free(from, i)
					if q <= 8 && k > 8 {
						c += r.midline(float64(from+i) / 2)
					}
					if c < begin[i] {
						begin[i], before[k][i] = c, link{q, from}
					}
				}
			}
		}
		lo, hi := r.widthRange(k)
		for end := lo; end <= n; end++ {
			for w := lo; w <= hi && w <= end; w++ {
				if begin[end-w] >= ended[k][end] {
					continue
				}
				if c := begin[end-w] + r.toothCost(k, end-w, end); c < ended[k][end] {
					ended[k][end], startOf[k][end] = c, end-w
				}
			}
		}
	}
	s, last := solution{cost: math.Inf(1)}, link{}
	for k := 1; k <= numPlaces; k++ {
		for i := range n + 1 {
			if c := ended[k][i] + free(i, n) + r.ends(k, numPlaces); c < s.cost {
				s.cost, last = c, link{k, i}
			}
		}
	}
	for last.place > 0 {
		start := startOf[last.place][last.end]
		s.row = append(s.row, span{tooth: toothAt(r.jaw, last.place), start: start, end: last.end})
		last = before[last.place][start]
	}
	slices.Reverse(s.row)
	return s
}

// gap is a space between two teeth.
type gap struct {
	columns int
	cost    float64
	// sides is the share of the costs of its two borders that counts: the sides
	// of a wide gap need not look like valleys.
	sides float64
}

// gapWidths lists the widths that are considered: the wider, the coarser.
func gapWidths() []gap {
	var out []gap
	for w := 0; w <= columns(widestGap); w += 1 + min(w/2, 3) {
		out = append(out, gap{columns: w, sides: (1 - 0.7*min(1, float64(w)*pace/2)) / 2})
	}
	return out
}

// room is the width of the teeth between two places, mm.
func (r *lineup) room(from, to int) float64 {
	sum := 0.0
	for p := from + 1; p < to; p++ {
		sum += r.usualWidth(p)
	}
	return sum
}

// space is the cost of a gap, mm, where teeth that need the given room are
// missing. Neighbours drift, so the room left tells little once it is small.
func (r *lineup) space(gap, room float64) float64 {
	if room == 0 {
		z := gap / r.w.space
		return z * z / 2
	}
	z := (gap - room) / r.w.room
	if gap < room {
		return min(r.w.closed, z*z/2)
	}
	return z * z / 2
}

// ends is the cost of a jaw that begins only at place first or ends at it: of
// the quadrants' rear teeth that are absent.
func (r *lineup) ends(from, to int) float64 {
	if from == 1 { // nothing before to
		for p := 1; p < to; p++ {
			if r.wanted[p] {
				return forbidden
			}
		}
		if to <= 8 {
			return absentCost[position(to)]
		}
		return absentCost[0] + 1.2*float64(to-9)
	}
	for p := from + 1; p <= numPlaces; p++ {
		if r.wanted[p] {
			return forbidden
		}
	}
	if from > 8 {
		return absentCost[position(from)]
	}
	return absentCost[0] + 1.2*float64(8-from)
}

// usualWidth is a tooth's handbook width at the lineup's scale, mm.
func (r *lineup) usualWidth(place int) float64 {
	widths := &upperWidths
	if r.jaw == dentition.Lower {
		widths = &lowerWidths
	}
	return widths[position(place)-1] * r.scale
}

// usualDepth is a tooth's handbook depth at the lineup's scale, mm.
func (r *lineup) usualDepth(place int) float64 {
	depths := &upperDepths
	if r.jaw == dentition.Lower {
		depths = &lowerDepths
	}
	return depths[position(place)-1] * r.scale
}

// widthRange is the narrowest and widest tooth that is considered, in columns.
func (r *lineup) widthRange(place int) (lo, hi int) {
	w := r.usualWidth(place)
	return columns(0.68 * w), columns(1.35 * w)
}

// number finds the most likely row of teeth, over a range of sizes of the whole
// dentition.
func (r *lineup) number(ctx context.Context) (solution, error) {
	best := solution{cost: math.Inf(1)}
	for k := -3; k <= 3; k++ { // three standard deviations
		if err := ctx.Err(); err != nil {
			return best, err
		}
		z := float64(k)
		r.scale = 1 + r.w.scale*z
		if s := r.solve(); s.cost+z*z/2 < best.cost {
			best = s
			best.cost += z * z / 2
			best.scale = r.scale
		}
	}
	r.scale = best.scale
	return best, nil
}

// doubt says how sure each tooth of the most likely row is: what it would cost to call it by
// another name or none.
func (r *lineup) doubt(ctx context.Context, best *solution) error {
	z := (r.scale - 1) / r.w.scale
	least := best.cost - z*z/2
	pinned := slices.Clone(r.pinned)
	for i := range best.row {
		if err := ctx.Err(); err != nil {
			return err
		}
		t := &best.row[i]
		if slices.Contains(pinned[t.start:t.end], placeOf(t.tooth)) {
			t.confidence = 1 // a person has said so
			continue
		}
		mid := (t.start + t.end) / 2
		was := pinned[mid]
		pinned[mid] = -1 - placeOf(t.tooth)
		r.setPins(pinned)
		other := r.solve()
		pinned[mid] = was
		t.confidence = surest * (1 - portable.Exp(-max(0, other.cost-least)/doubtUnit))
	}
	r.setPins(pinned)
	return nil
}

// A tooth that is at stake in no other reading is as sure as surest: what both the picture and the
// valleys show wrong, nothing in them tells. At a cost of doubtUnit of another reading it is 63 % of
// that. Set so that of teeth called 90 % sure about nineteen in twenty are right on persons 1 to 30.
const (
	surest    = 0.96
	doubtUnit = 3.0
)
