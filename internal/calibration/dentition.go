package main

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/internal/normal"
	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
)

// perBase is how many cases share a dentition; each draws errors of its own.
const perBase = 4

// makeBases makes the dentitions that the cases need, by their number, with faults of sizes at
// which errors decide whether they show.
func makeBases(ctx context.Context, o options) (map[int]*typodont.Case, error) {
	out := map[int]*typodont.Case{}
	for k := o.first / perBase; k*perBase < o.first+o.n; k++ {
		c, err := makeBase(ctx, o, uint64(k))
		if err != nil {
			return nil, err
		}
		out[k] = c
	}
	return out, nil
}

func makeBase(ctx context.Context, o options, k uint64) (*typodont.Case, error) {
	rng := rand.New(rand.NewPCG(o.seed, k))
	within := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	var last error
	for range 12 { // not every pair can be made
		side := []string{"right", "left"}[rng.IntN(2)]
		tooth := map[string]int{"right": 37, "left": 47}[side] // of the nonworking side
		canine := []int{13, 23}[rng.IntN(2)]
		faults := []typodont.Disturbance{
			{Kind: typodont.Interference, Tooth: tooth, Movement: side, MM: within(1.5, 2.5), Um: within(60, 400)},
			{Kind: typodont.FlatCanine, Tooth: canine, MM: within(0.3, 1.2)},
		}
		if k%2 == 1 { // every second dentition has a high tooth
			high := []int{16, 25, 26, 15}[rng.IntN(4)]
			faults = append(faults, typodont.Disturbance{Kind: typodont.Raise, Tooth: high, Um: within(40, 200)})
		}
		c, err := typodont.Generate(ctx, typodont.Params{
			Triangles: o.triangles, Overjet: within(2.2, 2.8), Overbite: within(2.5, 3), Seed: k,
			CondylarInclination: s1.Angle(within(30, 40)) * s1.Degree, Name: fmt.Sprintf("dentition %d", k), Travel: 4,
			Disturbances: faults,
		})
		if err == nil || ctx.Err() != nil {
			return c, err
		}
		last = err
	}
	return nil, fmt.Errorf("dentition %d: %w", k, last)
}

// The sizes of errors as docs/how-sure.md lists them: those that an examination assumes of a
// case by mean values.
const (
	inclinationDeg, inclinationTogether = 8.5, 0.7
	shiftDeg, shiftTogether             = 4.0, 0.1
	immediateMM, intercondylarMM        = 0.3, 6.0
	axisMM, planeDeg                    = 5.0, 3.0
	registrationMM, registrationDeg     = 0.025, 0.08
	turnPerRootMM                       = 2e-4 // of scans, rad/√mm
)

// errorsOf draws numbers of mean 0 and variance 1: normal, or Student's with 4 degrees of freedom,
// which has the variance 2 that is not taken out: truth then errs half as much again.
type errorsOf struct {
	*rand.Rand
	heavier bool
}

func (e errorsOf) next() float64 {
	z := e.NormFloat64()
	if !e.heavier {
		return z
	}
	chi := 0.0
	for range 4 {
		x := e.NormFloat64()
		chi += x * x
	}
	return z / math.Sqrt(chi/4)
}

// one examines one dentition, in truth and as scanned, and compares.
func one(ctx context.Context, base *typodont.Case, k int, o options) ([]forecast, error) {
	e := errorsOf{rand.New(rand.NewPCG(o.seed+1000, uint64(k))), o.heavier}
	told := base.CaseFile()
	for i := range told.Excursions {
		told.Excursions[i].MaxMM, told.Excursions[i].StepMM = 4, 0.2
	}
	upper, lower := scan(base.Upper), scan(base.Lower)
	// The mounting that is told, as a matrix, so that the true one can be given like it.
	mounted, err := casts.Mount(ctx, told, upper, lower)
	if err != nil {
		return nil, err
	}
	actual := *told
	actual.Settings = trueSettings(told.Settings, e)
	hinge := kinematics.Translation(r3.Vec{Y: axisMM * e.next(), Z: axisMM * e.next()}).
		Then(kinematics.RotationX(s1.Angle(planeDeg*e.next()) * s1.Degree))
	matrix := func(p kinematics.Pose) casefile.Mount {
		m := p.Matrix()
		return casefile.Mount{Matrix: &m}
	}
	point := mounted.Mount.Inverse().Apply(*mounted.Incisal)
	for _, c := range []*casefile.Case{told, &actual} {
		c.Landmarks.IncisalPoint = &casefile.Point{point.X, point.Y, point.Z}
	}
	told.Mount, actual.Mount = matrix(mounted.Mount), matrix(mounted.Mount.Then(hinge))

	truth, err := examine(ctx, &actual, upper, lower, 0)
	if err != nil {
		return nil, fmt.Errorf("truth: %w", err)
	}
	upperSeen, err := distorted(upper, e, kinematics.Pose{})
	if err != nil {
		return nil, err
	}
	turn := r3.Scale(registrationDeg*math.Pi/180, r3.Vec{X: e.next(), Y: e.next()})
	shift := r3.Scale(registrationMM, r3.Vec{X: e.next(), Y: e.next(), Z: e.next()})
	mid := lower.Mesh.Bounds().Center()
	off := kinematics.Translation(r3.Scale(-1, mid)).Then(kinematics.Rotation(turn, s1.Angle(r3.Norm(turn)))).
		Then(kinematics.Translation(r3.Add(mid, shift)))
	lowerSeen, err := distorted(lower, e, off)
	if err != nil {
		return nil, err
	}
	seen, err := examine(ctx, told, upperSeen, lowerSeen, o.samples)
	if err != nil {
		return nil, fmt.Errorf("as scanned: %w", err)
	}
	return compare(k, seen, truth), nil
}

// trueSettings errs from the settings that are told.
func trueSettings(s casefile.Settings, e errorsOf) casefile.Settings {
	pair := func(r float64) (a, b float64) {
		a = e.next()
		return a, r*a + math.Sqrt(1-r*r)*e.next()
	}
	hr, hl := pair(inclinationTogether)
	br, bl := pair(shiftTogether)
	for _, x := range []struct {
		side *casefile.Side
		h, b float64
	}{{&s.Right, hr, br}, {&s.Left, hl, bl}} {
		// Persons have 5 to 75 degrees.
		x.side.CondylarInclinationDeg = min(75, max(5, x.side.CondylarInclinationDeg+inclinationDeg*x.h))
		x.side.SideShiftAngleDeg = max(0, x.side.SideShiftAngleDeg+shiftDeg*x.b)
		x.side.ImmediateSideShiftMM = min(1.75, max(0, x.side.ImmediateSideShiftMM+immediateMM*e.next()))
	}
	s.IntercondylarMM += min(3*intercondylarMM, max(-3*intercondylarMM, intercondylarMM*e.next()))
	return s
}

func scan(a typodont.Arch) *casts.Scan {
	teeth, err := a.Labels.Triangles(a.Mesh)
	if err != nil {
		panic(err) // made with the mesh
	}
	return &casts.Scan{Mesh: a.Mesh, Labels: a.Labels, Teeth: teeth}
}

func examine(ctx context.Context, c *casefile.Case, upper, lower *casts.Scan, samples int) (*findings.Findings, error) {
	pair, err := occlusion.Assemble(ctx, c, upper, lower)
	if err != nil {
		return nil, err
	}
	return occlusion.Examine(ctx, c, pair, occlusion.Options{AsSet: true, Samples: samples, Workers: 1})
}

// distorted is a scan as it is seen: along the way through its teeth the turn goes on by random
// steps; what that moves is put back by the best fit, and then moved as a whole.
func distorted(s *casts.Scan, e errorsOf, off kinematics.Pose) (*casts.Scan, error) {
	middle := map[dentition.ToothID]r3.Vec{}
	count := map[dentition.ToothID]float64{}
	for v, p := range s.Mesh.Vertices() {
		if t := s.Labels.Vertex(mesh.VertexID(v)); t != dentition.NoTooth {
			middle[t], count[t] = r3.Add(middle[t], p), count[t]+1
		}
	}
	var way []r3.Vec
	teeth := s.Labels.Teeth()
	slices.SortFunc(teeth, func(a, b dentition.ToothID) int { return place(a) - place(b) })
	for _, t := range teeth {
		way = append(way, r3.Scale(1/count[t], middle[t]))
	}
	// Steps of a millimetre.
	var at, turn, moved []r3.Vec
	for i := 1; i < len(way); i++ {
		d := r3.Sub(way[i], way[i-1])
		n := max(1, int(r3.Norm(d)))
		for k := range n {
			at = append(at, r3.Add(way[i-1], r3.Scale(float64(k)/float64(n), d)))
		}
	}
	at = append(at, way[len(way)-1])
	turn, moved = make([]r3.Vec, len(at)), make([]r3.Vec, len(at))
	for i := 1; i < len(at); i++ {
		d := r3.Sub(at[i], at[i-1])
		moved[i] = r3.Add(moved[i-1], r3.Cross(turn[i-1], d))
		size := turnPerRootMM * math.Sqrt(r3.Norm(d))
		turn[i] = r3.Add(turn[i-1], r3.Scale(size, r3.Vec{X: e.next(), Y: e.next(), Z: e.next()}))
	}
	level(at, turn, moved)
	m, err := s.Mesh.Transform(func(p r3.Vec) r3.Vec {
		best, k := math.Inf(1), 0
		for i, q := range at {
			if d := r3.Norm2(r3.Sub(p, q)); d < best {
				best, k = d, i
			}
		}
		// Between the nearest station and the next on p's side.
		return off.Apply(r3.Add(p, between(at, turn, moved, k, p)))
	})
	if err != nil {
		return nil, err
	}
	out := *s
	out.Mesh = m
	return &out, nil
}

// place is the place of a tooth from the right end of its row.
func place(t dentition.ToothID) int {
	if t.Side() == dentition.Right {
		return -t.Position()
	}
	return t.Position()
}

// between is the displacement of a point by the stations about it.
func between(at, turn, moved []r3.Vec, k int, p r3.Vec) r3.Vec {
	here := func(i int) r3.Vec { return r3.Add(moved[i], r3.Cross(turn[i], r3.Sub(p, at[i]))) }
	n := k + 1
	if n == len(at) || k > 0 && r3.Norm2(r3.Sub(p, at[k-1])) < r3.Norm2(r3.Sub(p, at[n])) {
		n = k - 1
	}
	d := r3.Sub(at[n], at[k])
	f := min(1, max(0, r3.Dot(r3.Sub(p, at[k]), d)/r3.Norm2(d)))
	return r3.Add(here(k), r3.Scale(f, r3.Sub(here(n), here(k))))
}

// level takes the best rigid motion out of a distortion.
func level(at, turn, moved []r3.Vec) {
	var mid r3.Vec
	for _, p := range at {
		mid = r3.Add(mid, r3.Scale(1/float64(len(at)), p))
	}
	eq := normal.New(6)
	for i, p := range at {
		d := r3.Sub(p, mid)
		eq.Add([]float64{1, 0, 0, 0, d.Z, -d.Y}, moved[i].X, 1)
		eq.Add([]float64{0, 1, 0, -d.Z, 0, d.X}, moved[i].Y, 1)
		eq.Add([]float64{0, 0, 1, d.Y, -d.X, 0}, moved[i].Z, 1)
	}
	x, ok := eq.Solve(1e12)
	if !ok {
		panic("an arch on a line")
	}
	for i, p := range at {
		w := r3.Vec{X: x[3], Y: x[4], Z: x[5]}
		moved[i] = r3.Sub(moved[i], r3.Add(r3.Vec{X: x[0], Y: x[1], Z: x[2]}, r3.Cross(w, r3.Sub(p, mid))))
		turn[i] = r3.Sub(turn[i], w)
	}
}

// sameSpot is how far apart a finding and its like in the truth may lie, mm of travel.
const sameSpot = 0.5

// compare looks for every finding with a probability in the truth.
func compare(k int, seen, truth *findings.Findings) []forecast {
	var out []forecast
	add := func(f *findings.Finding, among []findings.Finding) {
		if f.Probability == nil {
			return
		}
		x := forecast{Dentition: k, What: f.Kind, P: f.Probability.Share, Part: -1}
		for i := range among {
			if g := &among[i]; same(f, g) {
				x.Stands = true
				if h := f.Probability.HeightUm; h != nil && g.HeightUm != nil {
					x.Part = 0
					for _, q := range [...]float64{h.P10, h.P50, h.P90} {
						if *g.HeightUm > q {
							x.Part++
						}
					}
				}
				break
			}
		}
		out = append(out, x)
	}
	for i := range seen.Centric.Findings {
		add(&seen.Centric.Findings[i], truth.Centric.Findings)
	}
	for i := range seen.Excursions {
		for j := range seen.Excursions[i].Findings {
			add(&seen.Excursions[i].Findings[j], truth.Excursions[i].Findings)
		}
	}
	return out
}

// same says whether two findings are one.
func same(f, g *findings.Finding) bool {
	if f.Kind != g.Kind || g.FromMM > f.ToMM+sameSpot || g.ToMM < f.FromMM-sameSpot {
		return false
	}
	switch f.Kind {
	case findings.KindGuidance:
		return f.Pattern == g.Pattern
	case findings.KindLateDisclusion:
		return slices.ContainsFunc(g.Teeth, func(t findings.Part) bool { return slices.Contains(f.Teeth, t) })
	case findings.KindUneven, findings.KindShallow, findings.KindKink:
		return true
	}
	return f.Upper == g.Upper && f.Lower == g.Lower
}
