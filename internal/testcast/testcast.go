// Package testcast makes the casts that tests of settling, articulation and yielding
// begin with.
package testcast

import (
	"context"
	"flag"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// RealScan is an arch of the real adult with its labels. It skips the test where
// the data is not there.
func RealScan(t testing.TB, jaw dentition.Jaw) typodont.Arch {
	t.Helper()
	path := filepath.Join("..", "..", "..", "shared", "data", "adult-cbct", jaw.String())
	m, err := meshfile.ReadFile(path+".stl", meshfile.ReadOptions{Unit: mesh.Millimetre})
	if err != nil {
		t.Skip("the real case is not there: ", err)
	}
	m, _ = mesh.Weld(m, 0)
	f, err := os.Open(path + ".labels.json")
	require.NoError(t, err)
	defer f.Close()
	l, err := dentition.ReadLabels(path+".labels.json", f, jaw, m.NumVertices())
	require.NoError(t, err)
	return typodont.Arch{Mesh: m, Labels: l}
}

// Synthetic is a typodont. The undisturbed one is made once; nothing changes it.
func Synthetic(t testing.TB, disturb ...string) *typodont.Case {
	t.Helper()
	c, err := undisturbed()
	if len(disturb) > 0 {
		c, err = Generated(typodont.Params{Seed: 3}, disturb...)
	}
	require.NoError(t, err)
	return c
}

var undisturbed = sync.OnceValues(func() (*typodont.Case, error) { return Generated(typodont.Params{Seed: 3}) })

// Generated is a typodont with disturbances, as the command line writes them.
func Generated(p typodont.Params, disturb ...string) (*typodont.Case, error) {
	for _, s := range disturb {
		d, err := typodont.ParseDisturbance(s)
		if err != nil {
			return nil, err
		}
		p.Disturbances = append(p.Disturbances, d)
	}
	return typodont.Generate(context.Background(), p)
}

var full = flag.Bool("full", false, "try all random starts that a claim is about, not a few of them")

// Few is how many of n random starts are tried.
func Few(n int) int {
	switch {
	case *full:
		return n
	case testing.Short():
		return 2
	}
	return max(2, n/25)
}

// Astray is the largest distance of the middle of any lower tooth under one pose
// from where another puts it, mm; over the corners of the arch's box without labels.
func Astray(lower typodont.Arch, got, want kinematics.Pose) float64 {
	off := want.Inverse().Then(got)
	if lower.Labels == nil {
		most := 0.0
		b := lower.Mesh.Bounds()
		for _, x := range [2]float64{b.Min.X, b.Max.X} {
			for _, y := range [2]float64{b.Min.Y, b.Max.Y} {
				for _, z := range [2]float64{b.Min.Z, b.Max.Z} {
					q := r3.Vec{X: x, Y: y, Z: z}
					most = max(most, r3.Norm(r3.Sub(off.Apply(q), q)))
				}
			}
		}
		return most
	}
	most := 0.0
	for _, tooth := range lower.Labels.Teeth() {
		var sum r3.Vec
		n := 0.0
		for v, q := range lower.Mesh.Vertices() {
			if lower.Labels.Vertex(mesh.VertexID(v)) == tooth {
				sum, n = r3.Add(sum, q), n+1
			}
		}
		q := r3.Scale(1/n, sum)
		most = max(most, r3.Norm(r3.Sub(off.Apply(q), q)))
	}
	return most
}

// Plain is a cast of a mesh without labels.
func Plain(t testing.TB, jaw dentition.Jaw, m *mesh.Mesh) *casts.Cast {
	t.Helper()
	a, err := contact.NewArch(context.Background(), m, nil, contact.Options{})
	require.NoError(t, err)
	return &casts.Cast{Arch: a, Jaw: jaw, ByPart: []dentition.ToothID{dentition.NoTooth}}
}
