package typodont

import (
	"context"
	"math"
	"slices"
	"sync"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

func generate(t testing.TB, p Params) *Case {
	t.Helper()
	c, err := Generate(context.Background(), p)
	require.NoError(t, err)
	return c
}

// undisturbed is an undisturbed case that several tests look at.
func undisturbed(t testing.TB) *Case { return disturbed(t, Params{Triangles: 50000}) }

// surfaces are undisturbed pairs by their number of triangles.
var surfaces = map[int]func() (*standing, error){
	20000: ofSize(20000), 30000: ofSize(30000), 50000: ofSize(50000), 100000: ofSize(100000),
}

func ofSize(n int) func() (*standing, error) {
	return sync.OnceValues(func() (*standing, error) {
		p, err := Params{Triangles: n}.withDefaults()
		if err != nil {
			return nil, err
		}
		return stand(context.Background(), p)
	})
}

// disturbed is what [Generate] makes of disturbances of the surfaces, from a pair
// that tests share. TestDisturbedIsGenerated holds that the two are the same.
func disturbed(t testing.TB, p Params) *Case {
	t.Helper()
	for _, d := range p.Disturbances {
		require.NotContains(t, []Kind{Drift, Tip, Rotate, Missing, OpenAnterior}, d.Kind, "moves teeth")
	}
	shared, err := surfaces[p.Triangles]()
	require.NoError(t, err)
	own := *shared
	for _, s := range []**scan{&own.up, &own.lo} {
		*s = &scan{(*s).arch, &surface{slices.Clone((*s).verts), slices.Clone((*s).tris)}, slices.Clone((*s).tooth), (*s).tips}
	}
	p, err = p.withDefaults()
	require.NoError(t, err)
	c, err := own.disturb(context.Background(), p)
	require.NoError(t, err)
	return c
}

func TestDisturbedIsGenerated(t *testing.T) {
	p := Params{Triangles: 20000, Seed: 2, Disturbances: []Disturbance{{Kind: Raise, Tooth: 26},
		{Kind: Facet, Tooth: 46, Movement: "right"}, {Kind: Noise}}}
	for range 2 { // the shared pair is as it was
		assert.Equal(t, generate(t, p), disturbed(t, p))
		p.Disturbances = p.Disturbances[:1]
	}
}

// cast is a case made ready for closing.
type readyCast struct {
	*Case
	closer       *contact.Closer
	upper, lower *contact.Arch
	scratch      contact.CloserScratch
}

func ready(t testing.TB, c *Case) *readyCast {
	t.Helper()
	parts := func(a Arch) []int32 {
		teeth, err := a.Labels.Triangles(a.Mesh)
		require.NoError(t, err)
		out := make([]int32, len(teeth))
		for i, v := range teeth {
			out[i] = int32(v)
		}
		return out
	}
	upper, err := contact.NewArch(context.Background(), c.Upper.Mesh, parts(c.Upper), contact.Options{})
	require.NoError(t, err)
	lower, err := contact.NewArch(context.Background(), c.Lower.Mesh, parts(c.Lower), contact.Options{})
	require.NoError(t, err)
	closer, err := contact.NewCloser(context.Background(), upper, lower, contact.Options{})
	require.NoError(t, err)
	return &readyCast{Case: c, closer: closer, upper: upper, lower: lower}
}

// close closes at a travel; the teeth are those of the touching triangles.
func (c *readyCast) close(t testing.TB, movement string, travel float64) (open float64, upper, lower int, touch contact.Closing) {
	t.Helper()
	m, err := kinematics.ParseMovement(movement)
	require.NoError(t, err)
	st, err := c.Settings.Station(m, travel)
	require.NoError(t, err)
	touch, err = c.closer.Close(st.Base(), &c.scratch)
	require.NoError(t, err)
	tooth := func(a Arch, tri mesh.TriID) int {
		for _, v := range a.Mesh.Triangle(tri) {
			if l := a.Labels.Vertex(v); l != 0 {
				return int(l)
			}
		}
		return 0
	}
	return touch.Opening.Degrees(), tooth(c.Upper, touch.Upper), tooth(c.Lower, touch.Lower), touch
}

func (c *Case) point(t testing.TB, tooth int, name string) r3.Vec {
	t.Helper()
	for _, tt := range c.Truth.Teeth {
		if tt.Tooth == tooth {
			for _, p := range append(tt.Cusps, tt.Features...) {
				if p.Name == name {
					return p.Point.Vec()
				}
			}
		}
	}
	require.Failf(t, "no point", "%d %s", tooth, name)
	return r3.Vec{}
}

func TestDemo(t *testing.T) {
	p := Demo()
	p.Triangles = 50000
	var kinds []string
	for _, e := range generate(t, p).Truth.Expected { // with canines of its own guidance
		kinds = append(kinds, e.Kind)
	}
	assert.Equal(t, []string{"premature_contact", "nonworking_interference", "protrusive_interference", "uneven_protrusion"}, kinds)
}

func TestCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := Generate(ctx, Params{Triangles: 20000})
	assert.ErrorIs(t, err, context.Canceled)
}

func TestBadParams(t *testing.T) {
	for _, p := range []Params{
		{Triangles: 10}, {Overjet: 9}, {Overbite: math.NaN()}, {CanineGuidance: 3},
		{Disturbances: []Disturbance{{Kind: "nothing"}}},
		{Disturbances: []Disturbance{{Kind: Raise, Tooth: 18}}},
		{Disturbances: []Disturbance{{Kind: Raise, Tooth: 16, Cusp: "distal"}}, Triangles: 20000},
		{Disturbances: []Disturbance{{Kind: Raise, Tooth: 16, Um: 9000}}},
		{Disturbances: []Disturbance{{Kind: FlatCanine, Tooth: 14}}},
		{Disturbances: []Disturbance{{Kind: Interference, Tooth: 47, Movement: "right"}}},
		{Disturbances: []Disturbance{{Kind: Facet, Tooth: 46}}},
	} {
		_, err := Generate(context.Background(), p)
		assert.ErrorIsf(t, err, ErrParams, "%+v", p)
	}
	for _, s := range []string{"", "raise", "raise,tooth", "raise,tooth=x", "raise,tooth=16,size=3", "raise,tooth=16,um=NaN"} {
		_, err := ParseDisturbance(s)
		assert.ErrorIs(t, err, ErrParams, s)
	}
	d, err := ParseDisturbance("raise,tooth=26,cusp=mesiopalatal")
	require.NoError(t, err)
	assert.Equal(t, Disturbance{Kind: Raise, Tooth: 26, Cusp: "mesiopalatal", Um: 150}, d)
}

func FuzzParseDisturbance(f *testing.F) {
	for _, s := range []string{"", "raise,tooth=26,um=150", "noise,um=5,mm=1e3", "facet,tooth=46,movement=left", "tip,tooth=11,degrees=-3"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		d, err := ParseDisturbance(s)
		if err != nil {
			require.ErrorIs(t, err, ErrParams)
			return
		}
		again, err := d.withDefaults(7)
		require.NoError(t, err)
		require.Equal(t, d, again)
	})
}

// A pair of 50 000 triangles each; the target is 2 s on two cores.
func BenchmarkGenerate(b *testing.B) {
	for b.Loop() {
		c := generate(b, Params{Triangles: 50000})
		require.NotZero(b, c.Upper.Mesh.NumTriangles())
	}
}
