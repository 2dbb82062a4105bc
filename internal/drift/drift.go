// Package drift models how the scan of a whole arch is distorted: smoothly along the arch,
// since a scan is stitched together from small pictures and every joint turns a little
// against the one before.
//
// Along the way s of the scan the local frame turns by a Wiener process: ω(s) = σ·W(s), three
// components, and what is scanned there is displaced by the integral of ω × dp. The shift of
// the end has the standard deviation σ·√(L³/3) in each direction across a straight way of
// length L. What is scanned at one place keeps its shape: facets stay flat, cusps keep
// their slopes, and only the distant teeth stand wrong to each other. Independent noise of
// vertices would be another thing: it averages out within a contact.
//
// Lengths are mm, turns radians.
package drift

import (
	"errors"
	"math"

	"github.com/cusptrace/cusptrace/internal/normal"
	"gonum.org/v1/gonum/spatial/r3"
)

// ErrPath says that a way of scanning has no length.
var ErrPath = errors.New("drift: the way along the arch has no length")

// Path is the way along an arch, from one end to the other.
type Path struct {
	points []r3.Vec
	along  []float64 // from the first point
}

// NewPath makes the way through some points.
func NewPath(points []r3.Vec) (*Path, error) {
	p := &Path{}
	for i, q := range points {
		s := 0.0
		if i > 0 {
			d := r3.Norm(r3.Sub(q, p.points[len(p.points)-1]))
			if d == 0 {
				continue
			}
			s = p.along[len(p.along)-1] + d
		}
		p.points, p.along = append(p.points, q), append(p.along, s)
	}
	if len(p.points) < 2 {
		return nil, ErrPath
	}
	return p, nil
}

// Length is the length of the way.
func (p *Path) Length() float64 { return p.along[len(p.along)-1] }

// At is the point at a distance along the way, its ends beyond them.
func (p *Path) At(s float64) r3.Vec {
	for i := 1; i < len(p.points); i++ {
		if s <= p.along[i] || i == len(p.points)-1 {
			f := min(max((s-p.along[i-1])/(p.along[i]-p.along[i-1]), 0), 1)
			return r3.Add(p.points[i-1], r3.Scale(f, r3.Sub(p.points[i], p.points[i-1])))
		}
	}
	return p.points[0]
}

// Nearest is the distance along the way of its point nearest to q; of several the first.
func (p *Path) Nearest(q r3.Vec) float64 {
	best, at := math.Inf(1), 0.0
	for i := 1; i < len(p.points); i++ {
		d := r3.Sub(p.points[i], p.points[i-1])
		f := min(max(r3.Dot(r3.Sub(q, p.points[i-1]), d)/r3.Norm2(d), 0), 1)
		if sq := r3.Norm2(r3.Sub(q, r3.Add(p.points[i-1], r3.Scale(f, d)))); sq < best {
			best, at = sq, p.along[i-1]+f*(p.along[i]-p.along[i-1])
		}
	}
	return at
}

// spacing is about the distance of the stations at which distortions are kept, mm.
const spacing = 1.0

// local is how what is scanned at a station is displaced and turned.
type local struct{ shift, turn r3.Vec }

// Terms is the number of terms of the series of the Wiener process for each of the
// three components of the turn: the sum of the rest is under 0.1 % of the end's variance.
const Terms = 6

// Factors is the number of independent standard normal factors of a distortion.
const Factors = 3 * Terms

// Modes are the distortions of an arch for a unit of each factor and of σ, those that change
// most first, without what a rigid motion of the scan takes up: the best fit at equal
// weight along the way.
type Modes struct {
	path     *Path
	stations []r3.Vec
	step     float64
	unit     [Factors][]local
}

// NewModes makes the distortions of an arch: the series of Karhunen and Loève of the Wiener
// process, W(s) = Σ z_k·√(2L)·sin(a_k·s/L)/a_k with a_k = (k−½)·π.
func NewModes(p *Path) *Modes {
	n := int(math.Ceil(p.Length()/spacing)) + 1
	m := &Modes{path: p, stations: make([]r3.Vec, n), step: p.Length() / float64(n-1)}
	for i := range m.stations {
		m.stations[i] = p.At(float64(i) * m.step)
	}
	for k := range Terms {
		a := (float64(k) + 0.5) * math.Pi
		for c, axis := range [3]r3.Vec{{X: 1}, {Y: 1}, {Z: 1}} {
			list := make([]local, n)
			for i := range list {
				turn := math.Sqrt(2*p.Length()) * math.Sin(a*float64(i)/float64(n-1)) / a
				list[i].turn = r3.Scale(turn, axis)
				if i > 0 {
					mean := r3.Scale(0.5, r3.Add(list[i-1].turn, list[i].turn))
					list[i].shift = r3.Add(list[i-1].shift, r3.Cross(mean, r3.Sub(m.stations[i], m.stations[i-1])))
				}
			}
			m.level(list)
			m.unit[3*k+c] = list
		}
	}
	return m
}

// level takes the rigid motion that fits best out of a distortion.
func (m *Modes) level(list []local) {
	var mid r3.Vec
	for _, p := range m.stations {
		mid = r3.Add(mid, r3.Scale(1/float64(len(m.stations)), p))
	}
	eq := normal.New(6)
	for i, p := range m.stations {
		d := r3.Sub(p, mid)
		s := list[i].shift
		// shift ≈ a + b × d
		eq.Add([]float64{1, 0, 0, 0, d.Z, -d.Y}, s.X, 1)
		eq.Add([]float64{0, 1, 0, -d.Z, 0, d.X}, s.Y, 1)
		eq.Add([]float64{0, 0, 1, d.Y, -d.X, 0}, s.Z, 1)
	}
	x, ok := eq.Solve(1e12)
	if !ok {
		// On a straight way a turn about it moves nothing and is left as it is.
		return
	}
	a, b := r3.Vec{X: x[0], Y: x[1], Z: x[2]}, r3.Vec{X: x[3], Y: x[4], Z: x[5]}
	for i, p := range m.stations {
		list[i].shift = r3.Sub(list[i].shift, r3.Add(a, r3.Cross(b, r3.Sub(p, mid))))
		list[i].turn = r3.Sub(list[i].turn, b)
	}
}

// Place is where along the way something was scanned.
type Place struct {
	station int
	beyond  float64 // share of the way to the next
	arm     r3.Vec  // from the way to there
}

// Place finds where a point was scanned: at the nearest point of the way.
func (m *Modes) Place(q r3.Vec) Place {
	s := m.path.Nearest(q)
	x := s / m.step
	i := min(int(x), len(m.stations)-2)
	return Place{station: i, beyond: x - float64(i), arm: r3.Sub(q, m.path.At(s))}
}

// Field is one distortion of an arch.
type Field []local

// Field mixes the distortions with factors, at most [Factors] of them, and the turn σ in
// radians per √mm, into dst, which it may grow.
func (m *Modes) Field(dst Field, sigma float64, factors []float64) Field {
	dst = append(dst[:0], make(Field, len(m.stations))...)
	for k, z := range factors {
		for i, u := range m.unit[k] {
			dst[i].shift = r3.Add(dst[i].shift, r3.Scale(sigma*z, u.shift))
			dst[i].turn = r3.Add(dst[i].turn, r3.Scale(sigma*z, u.turn))
		}
	}
	return dst
}

// At is the displacement of a place.
func (f Field) At(p *Place) r3.Vec {
	a, b := &f[p.station], &f[p.station+1]
	shift := r3.Add(a.shift, r3.Scale(p.beyond, r3.Sub(b.shift, a.shift)))
	turn := r3.Add(a.turn, r3.Scale(p.beyond, r3.Sub(b.turn, a.turn)))
	return r3.Add(shift, r3.Cross(turn, p.arm))
}

// Stitching of scans: the turn σ at which the ends of an arch of 115 mm shift by the sizes
// that are published for whole arches, 122 to 287 µm from second molar to second molar in
// vitro and 305 in vivo (BMC Oral Health 2020, 10.1186/s12903-020-01090-x, discussion), when
// scans are aligned on the first 30 mm: on the average 178 µm. A test simulates it. Casts from
// impressions shift by as much (174 to 257, same source).
const (
	Stitching      = 2e-4 // rad/√mm
	StitchingEndUm = 178.0
)

// Sigma is the turn σ, in rad/√mm, at which the ends of an arch shift by so many µm on the
// average when scans are aligned on their first 30 mm, on an arch of 115 mm.
func Sigma(endUm float64) float64 { return Stitching * endUm / StitchingEndUm }
