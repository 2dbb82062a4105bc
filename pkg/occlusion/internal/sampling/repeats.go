package sampling

import (
	"context"
	"errors"
	"math"

	"github.com/cusptrace/cusptrace/internal/drift"
	"github.com/cusptrace/cusptrace/internal/faults"
	"github.com/cusptrace/cusptrace/internal/register"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/index"
	"gonum.org/v1/gonum/spatial/r3"
)

// ErrRepeat says that a repeated scan does not show the arch of the first.
var ErrRepeat = register.ErrOther

// All are our choice.
const (
	// againTeeth is the fewest teeth on which the size of a distortion rests.
	againTeeth = 6
	// againPoints is about how many points of a tooth, at most, are fitted.
	againPoints = 1500
	// usualWorth is how many squares of independent errors the usual size is worth beside what is
	// measured: sizes that are published scatter by about a third, as the root of the mean of
	// so many squares does.
	usualWorth = 4
)

// crowns is the points of each tooth of a cast.
type crowns struct {
	teeth  []dentition.ToothID
	points [][]r3.Vec
	middle []r3.Vec
}

func newCrowns(c *casts.Cast) crowns {
	var of [256][]mesh.VertexID
	m, last := c.Mesh(), make([]dentition.ToothID, c.Mesh().NumVertices())
	for t, corners := range m.All() {
		for _, v := range corners {
			if k := c.Tooth(t); k != dentition.NoTooth && last[v] != k {
				last[v], of[k] = k, append(of[k], v)
			}
		}
	}
	var out crowns
	for _, t := range c.ByPart[1:] {
		f, ok := c.Frames[t]
		if !ok || len(of[t]) == 0 {
			continue
		}
		var points []r3.Vec
		for i, every := 0, 1+len(of[t])/againPoints; i < len(of[t]); i += every {
			points = append(points, m.Vertex(of[t][i]))
		}
		out.teeth, out.points, out.middle = append(out.teeth, t), append(out.points, points), append(out.middle, f.Centre)
	}
	return out
}

// shifts is how the crowns of another scan stand off those of the first: the shift of the
// middle of each tooth, without what a rigid motion of the whole takes up. A tooth that the
// other scan does not show is left out, with NaN.
func (c crowns) shifts(ctx context.Context, whole, again *mesh.Mesh) ([]r3.Vec, error) {
	x, err := index.New(ctx, again, nil, index.Options{})
	if err != nil {
		return nil, err
	}
	f, err := register.Crowns(ctx, whole, c.points, x)
	if err != nil {
		return nil, err
	}
	out := make([]r3.Vec, len(c.teeth))
	back := f.Pose.Inverse()
	for i, p := range c.points {
		own, ok := register.Crown(ctx, p, x, f)
		if !ok {
			out[i] = r3.Vec{X: math.NaN()}
			continue
		}
		out[i] = r3.Sub(back.Apply(own.Pose.Apply(c.middle[i])), c.middle[i])
	}
	return out, ctx.Err()
}

// Drifts are the sizes of the distortion of the scans of the upper and of the lower arch, nil
// where nothing was measured: the average shift of one end where they are aligned at the
// other, µm.
type Drifts [2]*float64

// Repeated estimates how far scans of each arch are distorted from those that were made again.
// One that shows another arch is a fault of its file, wrapping [ErrRepeat].
func Repeated(ctx context.Context, upper, lower *casts.Cast) (out Drifts, err error) {
	for i, c := range [2]*casts.Cast{upper, lower} {
		if len(c.Again) == 0 || len(c.Frames) < againTeeth {
			continue
		}
		p, err := way(c)
		if err != nil {
			return out, err
		}
		um, ok, err := repeated(ctx, c, drift.NewModes(p))
		if err != nil {
			return out, err
		}
		if ok {
			out[i] = &um
		}
	}
	return out, nil
}

// repeated is the size of the distortion of an arch's scans, µm. ok is false where too few teeth
// are seen on all.
//
// The shifts of the teeth are sums of the modes of distortion with independent factors of
// variance σ². For n scans the sum S of the squared shifts from their mean has the expectation
// σ²·(n−1)·tr M, with M the products of the modes, and behaves as one of (n−1)·(tr M)²/tr M²
// independent squares (Satterthwaite 1946, Biometrics Bulletin 2:110). The usual size counts as
// usualWorth squares more (the conjugate prior of a variance).
func repeated(ctx context.Context, c *casts.Cast, modes *drift.Modes) (endUm float64, ok bool, err error) {
	teeth := newCrowns(c)
	all := make([][]r3.Vec, len(c.Again))
	for i, again := range c.Again {
		if all[i], err = teeth.shifts(ctx, c.Whole, again.Mesh); err != nil {
			if errors.Is(err, ErrRepeat) {
				err = &faults.Fault{File: again.File, Err: err}
			}
			return 0, false, err
		}
	}
	for k := len(teeth.teeth) - 1; k >= 0; k-- {
		for _, s := range all {
			if math.IsNaN(s[k].X) {
				for i := range all {
					all[i] = append(all[i][:k:k], all[i][k+1:]...)
				}
				teeth.middle = append(teeth.middle[:k:k], teeth.middle[k+1:]...)
				break
			}
		}
	}
	middle := teeth.middle
	if len(middle) < againTeeth {
		return 0, false, nil
	}
	for i := range all {
		if all[i], ok = levelled(middle, all[i]); !ok {
			return 0, false, nil
		}
	}
	sigma, ok := spread(middle, all, modes)
	return sigma / drift.Stitching * drift.StitchingEndUm, ok, nil
}

// spread is the turn σ, in rad/√mm, from the levelled shifts of the teeth in scans other
// than the first.
func spread(middle []r3.Vec, all [][]r3.Vec, modes *drift.Modes) (float64, bool) {
	var unit [drift.Factors][]r3.Vec
	for k := range unit {
		var z [drift.Factors]float64
		z[k] = 1
		field := modes.Field(nil, drift.Stitching, z[:])
		shift := make([]r3.Vec, len(middle))
		for i, p := range middle {
			place := modes.Place(p)
			shift[i] = field.At(&place)
		}
		var ok bool
		if unit[k], ok = levelled(middle, shift); !ok {
			return 0, false
		}
	}
	trace, traceSq := 0.0, 0.0
	for i := range unit {
		for k := range unit {
			d := dot(unit[i], unit[k])
			traceSq += d * d
			if i == k {
				trace += d
			}
		}
	}
	sum, total := 0.0, make([]r3.Vec, len(middle))
	for _, s := range all {
		sum += dot(s, s)
		for i := range total {
			total[i] = r3.Add(total[i], s[i])
		}
	}
	n := float64(len(all) + 1)
	sum -= dot(total, total) / n // the first scan has no shifts
	squares := (n - 1) * trace * trace / traceSq
	measured := sum / ((n - 1) * trace) // of σ²/Stitching²
	return drift.Stitching * math.Sqrt((usualWorth+squares*measured)/(usualWorth+squares)), true
}

func dot(a, b []r3.Vec) float64 {
	sum := 0.0
	for i := range a {
		sum += r3.Dot(a[i], b[i])
	}
	return sum
}

// levelled is shifts of points without what a rigid motion of them all takes up.
func levelled(at, shift []r3.Vec) ([]r3.Vec, bool) {
	to := make([]r3.Vec, len(at))
	for i := range at {
		to[i] = r3.Add(at[i], shift[i])
	}
	pose, ok := register.Points(at, to)
	out := make([]r3.Vec, len(at))
	for i := range at {
		out[i] = r3.Sub(to[i], pose.Apply(at[i]))
	}
	return out, ok
}
