package main

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"slices"
	"time"

	"github.com/cusptrace/cusptrace/internal/peers"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/index"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// ours does the works with this module. Times are medians, in the unit that a
// method names.
type ours struct {
	path         string
	upper, lower *mesh.Mesh
	up, lo       *index.Index
	queries      []r3.Vec
	reps         int
	closer       *contact.Closer
}

func newOurs(upper, lower string, reps int) (*ours, error) {
	o := &ours{path: upper, reps: reps}
	for _, x := range []struct {
		path string
		m    **mesh.Mesh
		x    **index.Index
	}{{upper, &o.upper, &o.up}, {lower, &o.lower, &o.lo}} {
		var err error
		if *x.m, err = load(x.path); err != nil {
			return nil, err
		}
		if *x.x, err = index.New(context.Background(), *x.m, nil, index.Options{}); err != nil {
			return nil, err
		}
	}
	for _, v := range o.lower.Vertices() {
		if _, ok := o.up.Nearest(v, 5); ok {
			o.queries = append(o.queries, v)
		}
	}
	if len(o.queries) == 0 {
		return nil, errors.New("the arches lie more than 5 mm apart")
	}
	return o, nil
}

func load(path string) (*mesh.Mesh, error) {
	raw, err := meshfile.ReadFile(path, meshfile.ReadOptions{Unit: mesh.Millimetre})
	if err != nil {
		return nil, err
	}
	m, _ := mesh.Weld(raw, 0)
	return m, nil
}

func (o *ours) writeQueries(path string) error {
	var b bytes.Buffer
	for _, q := range o.queries {
		if err := binary.Write(&b, binary.LittleEndian, [3]float64{q.X, q.Y, q.Z}); err != nil {
			return err
		}
	}
	return os.WriteFile(path, b.Bytes(), 0o600)
}

// median is the median time of f in ms.
func (o *ours) median(f func()) float64 {
	runtime.GC()
	t := make([]time.Duration, o.reps)
	for i := range t {
		from := time.Now()
		f()
		t[i] = time.Since(from)
	}
	slices.Sort(t)
	return t[len(t)/2].Seconds() * 1e3
}

func (o *ours) read() (ms float64) {
	return o.median(func() {
		if m, err := load(o.path); err == nil {
			runtime.KeepAlive(m)
		}
	})
}

func (o *ours) build() (ms, bytesPerTriangle float64) {
	ms = o.median(func() {
		if x, err := index.New(context.Background(), o.upper, nil, index.Options{}); err == nil {
			runtime.KeepAlive(x)
		}
	})
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	x, _ := index.New(context.Background(), o.upper, nil, index.Options{})
	runtime.GC()
	runtime.ReadMemStats(&after)
	runtime.KeepAlive(x)
	return ms, float64(after.HeapAlloc-before.HeapAlloc) / float64(o.upper.NumTriangles())
}

func (o *ours) closest(shuffled bool) (µs float64) {
	q := slices.Clone(o.queries)
	if shuffled {
		rand.New(rand.NewPCG(1, 1)).Shuffle(len(q), func(i, j int) { q[i], q[j] = q[j], q[i] })
	}
	sum := 0.0
	ms := o.median(func() {
		for _, p := range q {
			h, _ := o.up.Nearest(p, math.Inf(1))
			sum += h.Dist
		}
	})
	runtime.KeepAlive(sum)
	return ms * 1e3 / float64(len(q))
}

func (o *ours) pairs() (ms float64, n int) {
	var s contact.GapScratch
	var dst []contact.Pair
	ms = o.median(func() { dst = contact.AppendPairs(dst[:0], o.up, o.lo, kinematics.Pose{}, 0.2, &s) })
	return ms, len(dst)
}

// sweep is the time of a pose and the gaps. The scratch of one sweep does not
// serve the next.
func (o *ours) sweep() (ms float64, gaps []float64) {
	poses := peers.Sweep(61)
	gaps = make([]float64, len(poses))
	var s contact.GapScratch
	ms = o.median(func() {
		for i, p := range poses {
			g, _ := contact.LeastGap(o.up, o.lo, p, math.Inf(1), &s)
			gaps[i] = g.Dist
		}
	})
	return ms / float64(len(poses)), gaps
}

// closings is the time of a closing at the lateral positions of the peers'
// program, and the angles in rad.
func (o *ours) closings(ctx context.Context) (ms float64, angles []float64, err error) {
	origin := r3.Add(peers.Condyle, r3.Vec{X: 55})
	var arch [2]*contact.Arch
	for i, m := range []*mesh.Mesh{o.upper, o.lower} {
		moved, err := m.Transform(func(p r3.Vec) r3.Vec { return r3.Sub(p, origin) })
		if err != nil {
			return 0, nil, err
		}
		if arch[i], err = contact.NewArch(context.Background(), moved, nil, contact.Options{}); err != nil {
			return 0, nil, err
		}
	}
	if o.closer, err = contact.NewCloser(ctx, arch[0], arch[1], contact.Options{}); err != nil {
		return 0, nil, err
	}
	lateral := []float64{0, 1.5, 3, 4.5, 6}
	angles = make([]float64, len(lateral))
	var s contact.CloserScratch
	ms = o.median(func() {
		for i, l := range lateral {
			c, err := o.closer.Close(o.base(l), &s)
			if angles[i] = c.Opening.Radians(); err != nil || c.AtLimit {
				angles[i] = math.NaN()
			}
		}
	})
	return ms / float64(len(lateral)), angles, nil
}

// base is the pose of a lateral turn of some degrees, closed, in the
// articulator frame.
func (o *ours) base(lateral float64) kinematics.Pose {
	return peers.About(r3.Vec{Z: 1}, r3.Vec{X: -55}, -s1.Angle(lateral)*s1.Degree)
}

// frames is the time of a frame of an excursion of 81.
func (o *ours) frames() (ms float64) {
	const n = 81
	var s contact.CloserScratch
	return o.median(func() {
		for i := range n {
			o.closer.Close(o.base(6*float64(i)/(n-1)), &s)
		}
	}) / n
}
