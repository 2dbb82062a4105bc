package measure

import (
	"context"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/judge"
	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// Criteria of cusp paths; all are our choice.
const (

	// chordMM is the horizontal way, in mm, over which the direction of a path is
	// taken.
	chordMM = 1.0
	// opposedMM is how near, in mm, an opposing tooth must be to a tip in intercuspation.
	opposedMM = 4.0
	// grooveMM is how near, in mm, a groove must come to a path to be compared.
	grooveMM = 1.5
)

// cusp is a supporting cusp and the tooth that it stands over in intercuspation.
type cusp struct {
	anatomy.Landmark
	over anatomy.Frame
}

// supportingCusps lists the supporting cusps of both casts that have an opposing
// tooth.
func supportingCusps(e *frames.Setup) []cusp {
	var out []cusp
	for _, side := range [2][2]*casts.Cast{{e.Casts.Upper, e.Casts.Lower}, {e.Casts.Lower, e.Casts.Upper}} {
		own, other := side[0], side[1]
		for _, l := range own.Landmarks {
			if !l.Feature.Cusp() || l.Feature.Role(l.Tooth) != anatomy.Supporting || l.Confidence < casts.SureCusp {
				continue
			}
			near, at := opposedMM, dentition.NoTooth
			for k, t := range other.ByPart[1:] {
				if h, ok := other.Index.NearestInPart(k+1, l.Point, near); ok && h.Dist < near {
					near, at = h.Dist, t
				}
			}
			if f, ok := other.Frames[at]; ok {
				out = append(out, cusp{l, f})
			}
		}
	}
	return out
}

// opposite is the cast opposite to a tooth.
func opposite(e *frames.Setup, t dentition.ToothID) *casts.Cast {
	if t.Jaw() == dentition.Upper {
		return e.Casts.Lower
	}
	return e.Casts.Upper
}

// FollowCusps adds to every movement the paths of the supporting cusps and
// compares the lateral ones.
func FollowCusps(ctx context.Context, e *frames.Setup, out []findings.Excursion, workers int) ([]findings.CuspAngle, error) {
	cusps := supportingCusps(e)
	err := par.Chunks(ctx, len(out), 1, workers, func(_, i, _ int) (err error) {
		out[i].CuspPaths = cuspPaths(e, &out[i], cusps)
		return nil
	})
	if err != nil {
		return nil, err
	}
	return cuspAngles(e, out, cusps)
}

// cuspPaths follows every supporting cusp through a movement.
func cuspPaths(e *frames.Setup, x *findings.Excursion, cusps []cusp) []findings.CuspPath {
	out := []findings.CuspPath{}
	for _, c := range cusps {
		way := x.PathOf(c.Point, c.Tooth.Jaw())
		to := opposite(e, c.Tooth)
		p := findings.CuspPath{Tooth: findings.Part(c.Tooth), Cusp: c.Feature.String(), Over: findings.Part(c.over.Tooth),
			PathMM: make([][3]float64, len(way))}
		for i, q := range way {
			m, b, _ := c.over.Local(q)
			h, _ := to.Index.Nearest(q, math.Inf(1))
			p.PathMM[i] = [3]float64{m, b, h.Dist}
		}
		if i, ok := chord(len(way), func(i int) (float64, float64) { return p.PathMM[i][0], p.PathMM[i][1] }); ok {
			m, b := p.PathMM[i][0]-p.PathMM[0][0], p.PathMM[i][1]-p.PathMM[0][1]
			deg := math.Atan2(b, m) * 180 / math.Pi
			p.DirectionDeg = &deg
			p.Groove, p.GrooveDeg = grooveAlong(&c.over, to.Landmarks, way[:i+1])
		}
		if i, between, ok := crossing(way, rows(to.Landmarks, c.over.Tooth.Side())); ok {
			p.Leaves = &findings.Exit{Between: between, TravelMM: x.Frames[i].TravelMM}
		}
		out = append(out, p)
	}
	return out
}

// chord is the first sample whose place in the plane lies chordMM from the first.
func chord(n int, at func(i int) (x, y float64)) (int, bool) {
	for i := 1; i < n; i++ {
		x0, y0 := at(0)
		x, y := at(i)
		if math.Hypot(x-x0, y-y0) >= chordMM {
			return i, true
		}
	}
	return 0, false
}

// grooveAlong finds the groove of a tooth that runs most nearly along the beginning
// of a path, among those that come near it and run out to where it goes, and the
// angle between the two, seen along the tooth's axis.
func grooveAlong(over *anatomy.Frame, marks []anatomy.Landmark, way []r3.Vec) (name string, deg *float64) {
	plan := func(q r3.Vec) [2]float64 { m, b, _ := over.Local(q); return [2]float64{m, b} }
	from, to := plan(way[0]), plan(way[len(way)-1])
	d := [2]float64{to[0] - from[0], to[1] - from[1]}
	for _, l := range marks {
		if l.Tooth != over.Tooth || !l.Feature.Groove() || len(l.Line) < 2 {
			continue
		}
		best := math.Inf(1)
		for _, g := range l.Line {
			p := plan(g)
			for _, q := range way {
				w := plan(q)
				best = min(best, math.Hypot(p[0]-w[0], p[1]-w[1]))
			}
		}
		if best > grooveMM {
			continue
		}
		a, b := plan(l.Line[0]), plan(l.Line[len(l.Line)-1])
		g := [2]float64{b[0] - a[0], b[1] - a[1]}
		if l.Feature == anatomy.BuccalGroove || l.Feature == anatomy.DistobuccalGroove {
			g = [2]float64{-g[0], -g[1]} // lines run from buccal to lingual
		}
		if l.Feature != anatomy.CentralGroove && g[0]*d[0]+g[1]*d[1] < 0 {
			continue // it runs out on the side from which the cusp comes
		}
		angle := math.Atan2(math.Abs(g[0]*d[1]-g[1]*d[0]), math.Abs(g[0]*d[0]+g[1]*d[1])) * 180 / math.Pi
		if deg == nil || angle < *deg {
			name, deg = l.Feature.String(), &angle
		}
	}
	return name, deg
}

// rows are the rows of buccal and of lingual cusps on one side of an arch, from
// mesial to distal; incisal edges lead the buccal one.
func rows(marks []anatomy.Landmark, side dentition.Side) (out [2][]anatomy.Landmark) {
	for _, l := range marks {
		if l.Tooth.Side() != side {
			continue
		}
		switch l.Feature {
		case anatomy.MesioincisalEdge, anatomy.DistoincisalEdge, anatomy.CanineCusp,
			anatomy.MesiobuccalCusp, anatomy.DistobuccalCusp, anatomy.DistalCusp, anatomy.BuccalCusp:
			out[0] = append(out[0], l)
		case anatomy.MesiolingualCusp, anatomy.DistolingualCusp, anatomy.LingualCusp:
			out[1] = append(out[1], l)
		}
	}
	for _, row := range out {
		// Features are listed from mesial to distal within a tooth.
		slices.SortStableFunc(row, func(a, b anatomy.Landmark) int { return a.Tooth.Position() - b.Tooth.Position() })
	}
	return out
}

// crossing is the first sample at which a path, seen from above, has crossed one
// of the rows, and between which of its cusps.
func crossing(way []r3.Vec, rows [2][]anatomy.Landmark) (frame int, between [2]findings.CuspOf, ok bool) {
	name := func(l anatomy.Landmark) findings.CuspOf {
		return findings.CuspOf{Tooth: findings.Part(l.Tooth), Cusp: l.Feature.String()}
	}
	for i := 1; i < len(way); i++ {
		for _, row := range rows {
			for k := 1; k < len(row); k++ {
				if cross(way[i-1], way[i], row[k-1].Point, row[k].Point) {
					return i, [2]findings.CuspOf{name(row[k-1]), name(row[k])}, true
				}
			}
		}
	}
	return 0, between, false
}

// cross says whether two segments cross in the horizontal plane. A segment that
// ends on the other counts, one that begins there does not, so that a path
// through a corner crosses once.
func cross(p, q, a, b r3.Vec) bool {
	side := func(o, d, x r3.Vec) float64 { return (d.X-o.X)*(x.Y-o.Y) - (d.Y-o.Y)*(x.X-o.X) }
	before, after := side(a, b, p), side(a, b, q)
	if !(before < 0 && after >= 0 || before > 0 && after <= 0) {
		return false
	}
	left, right := side(p, q, a), side(p, q, b)
	return left <= 0 && right > 0 || left >= 0 && right < 0
}

// cuspAngles compares the lateral movements of every supporting cusp; none where
// the case has not both.
func cuspAngles(e *frames.Setup, out []findings.Excursion, cusps []cusp) ([]findings.CuspAngle, error) {
	movements, err := judge.Movements(out, e.Case)
	if err != nil {
		return nil, err
	}
	angles := []findings.CuspAngle{}
	for _, c := range cusps {
		a := findings.CuspAngle{Tooth: findings.Part(c.Tooth), Cusp: c.Feature.String()}
		known := 0
		for i := range out {
			side := movements[i].Working
			way := out[i].PathOf(c.Point, c.Tooth.Jaw())
			k, ok := chord(len(way), func(i int) (float64, float64) { return way[i].X, way[i].Y })
			if side == 0 || !ok {
				continue
			}
			d := r3.Sub(way[k], way[0])
			if c.Tooth.Jaw() == dentition.Upper {
				d = r3.Scale(-1, d) // as the lower jaw goes
			}
			known++
			deg := math.Atan2(math.Abs(d.X), -d.Y) * 180 / math.Pi
			if side == c.Tooth.Side() {
				a.WorkingDeg = deg
			} else {
				a.NonworkingDeg = deg
			}
		}
		if known < 2 {
			continue
		}
		// The condyle of the other side advances in the working movement.
		own, other := e.Set.Left.SideShiftAngle, e.Set.Right.SideShiftAngle
		if c.Tooth.Side() == dentition.Right {
			own, other = other, own
		}
		laterals := func(b s1.Angle) kinematics.Laterals { return kinematics.LateralsOf(c.Point, e.Set.Intercondylar, b) }
		a.BetweenDeg = a.WorkingDeg + a.NonworkingDeg
		a.RotationDeg = laterals(0).Between().Degrees()
		a.ShiftDeg = (laterals(other).Working + laterals(own).Nonworking).Degrees()
		angles = append(angles, a)
	}
	return angles, nil
}
