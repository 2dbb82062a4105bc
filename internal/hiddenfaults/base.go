package main

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"

	"github.com/golang/geo/s1"

	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// arches is a pair of arches that occlude, without a fault, and its case file.
// Points are in the articulator frame, in which the scans are.
type arches struct {
	file         *casefile.Case
	settings     kinematics.Settings
	upper, lower *mesh.Mesh
	upperTeeth   *dentition.Labels
	lowerTeeth   *dentition.Labels
	stops        []stop
	pair         *pair // the two as they are, ready for closing; nil until asked for
}

// ready is the pair of the arches as they are now.
func (d *arches) ready(ctx context.Context) (p *pair, err error) {
	if d.pair == nil {
		d.pair, err = newPair(ctx, d.upper, d.lower)
	}
	return d.pair, err
}

// A stop is where two teeth touch in intercuspation.
type stop struct {
	upper, lower dentition.ToothID
	at           r3.Vec
}

// base makes dentition number k: sizes and settings are drawn from the seed within what
// the generator builds. Its faultless truth is all that is taken from the generator.
func base(ctx context.Context, seed, k uint64, triangles int) (*arches, error) {
	rng := rand.New(rand.NewPCG(seed, k))
	within := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	var last error
	for range 8 {
		p := typodont.Params{
			Triangles: triangles, Overjet: within(2.2, 2.8), Overbite: within(2.5, 3),
			Intercondylar: within(100, 120), CondyleToIncisal: within(98, 112),
			CondylarInclination: s1.Angle(within(28, 42)) * s1.Degree, SideShiftAngle: s1.Angle(within(5, 15)) * s1.Degree,
			CanineGuidance: s1.Angle(within(43, 53)) * s1.Degree, Name: fmt.Sprintf("dentition %d", k),
		}
		c, err := typodont.Generate(ctx, p)
		if err != nil {
			last = err // not every pair fits
			continue
		}
		d := &arches{file: c.CaseFile(), settings: c.Settings, upper: c.Upper.Mesh, lower: c.Lower.Mesh,
			upperTeeth: c.Upper.Labels, lowerTeeth: c.Lower.Labels}
		for _, s := range c.Truth.Stops {
			d.stops = append(d.stops, stop{dentition.ToothID(s.Upper), dentition.ToothID(s.Lower), s.At.Vec()})
		}
		for i := range d.file.Excursions {
			d.file.Excursions[i].MaxMM = 4
		}
		return d, nil
	}
	return nil, last
}

// A pair is two surfaces ready for closing. It is not changed once made.
type pair struct {
	up, lo *contact.Arch
	closer *contact.Closer
}

func newPair(ctx context.Context, upper, lower *mesh.Mesh) (*pair, error) {
	up, err := contact.NewArch(ctx, upper, nil, contact.Options{Workers: 1})
	if err != nil {
		return nil, err
	}
	return withLower(ctx, up, lower)
}

// withLower is a pair of an upper arch that is ready and another lower one.
func withLower(ctx context.Context, up *contact.Arch, lower *mesh.Mesh) (*pair, error) {
	lo, err := contact.NewArch(ctx, lower, nil, contact.Options{Workers: 1})
	if err != nil {
		return nil, err
	}
	p := &pair{up: up, lo: lo}
	p.closer, err = contact.NewCloser(ctx, up, lo, contact.Options{Workers: 1})
	return p, err
}

// close is the first touch at a station.
func (p *pair) close(st kinematics.Station) (contact.Closing, error) {
	touch, err := p.closer.Close(st.Base(), &contact.CloserScratch{})
	if err != nil {
		return touch, fmt.Errorf("at %g mm of %v: %w", st.Travel, st.Movement, err)
	}
	return touch, nil
}

// lever is how far the spot of a closing lies from the hinge axis, mm.
func lever(c *contact.Closing) float64 {
	q := c.Pose.Inverse().Apply(c.Point)
	return math.Hypot(q.Y, q.Z)
}

// toothOf is the tooth of a triangle, by its corners' labels.
func toothOf(m *mesh.Mesh, l *dentition.Labels, t mesh.TriID) dentition.ToothID {
	for _, v := range m.Triangle(t) {
		if c := l.Vertex(v); c != dentition.NoTooth {
			return c
		}
	}
	return dentition.NoTooth
}

// middles are the middles of the vertices of every tooth.
func middles(m *mesh.Mesh, l *dentition.Labels) map[dentition.ToothID]r3.Vec {
	out, count := map[dentition.ToothID]r3.Vec{}, map[dentition.ToothID]float64{}
	for v, p := range m.Vertices() {
		t := l.Vertex(mesh.VertexID(v))
		out[t] = r3.Add(out[t], p)
		count[t]++
	}
	for t, n := range count {
		out[t] = r3.Scale(1/n, out[t])
	}
	return out
}
