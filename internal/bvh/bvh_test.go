package bvh

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

type boxes []Bounds

func (b boxes) at(i int) Bounds { return b[i] }

// kinds of element sets, each a function of a generator.
var kinds = map[string]func(rng *rand.Rand, i int) Bounds{
	"scattered": func(rng *rand.Rand, _ int) Bounds { return around(rng, 1, 1, 1, 0.1) },
	"identical": func(*rand.Rand, int) Bounds {
		return Bounds{Lo: [3]float64{1, 2, 3}, Hi: [3]float64{1.5, 2.5, 3.5}}
	},
	"points at one place": func(*rand.Rand, int) Bounds { return Bounds{} },
	"flat":                func(rng *rand.Rand, _ int) Bounds { return around(rng, 1, 1, 0, 0) },
	"collinear":           func(rng *rand.Rand, _ int) Bounds { return around(rng, 0, 1, 0, 0) },
	"same middle": func(rng *rand.Rand, _ int) Bounds {
		h := rng.Float64()
		return Bounds{Lo: [3]float64{-h, -h, -h}, Hi: [3]float64{h, h, h}}
	},
	"huge":   func(rng *rand.Rand, _ int) Bounds { return around(rng, 1e9, 1e9, 1e9, 1) },
	"beyond": func(rng *rand.Rand, _ int) Bounds { return around(rng, 1e200, 1e300, 1e250, 1e100) }, // no single precision
	"tiny":   func(rng *rand.Rand, _ int) Bounds { return around(rng, 1e-300, 1e-40, 1e-45, 0) },
	"far": func(rng *rand.Rand, _ int) Bounds {
		b := around(rng, 1, 1, 1, 0.1)
		for k := range 3 {
			b.Lo[k] += 1e8
			b.Hi[k] += 1e8
		}
		return b
	},
	// Each gap is a fraction of the last, so that a cut by place parts one off.
	"shrinking": func(_ *rand.Rand, i int) Bounds {
		x := math.Pow(17, -float64(i))
		return Bounds{Lo: [3]float64{x, 0, 0}, Hi: [3]float64{x, 0, 0}}
	},
}

func around(rng *rand.Rand, x, y, z, size float64) (b Bounds) {
	for k, s := range [3]float64{x, y, z} {
		c := s * (2*rng.Float64() - 1)
		b.Lo[k], b.Hi[k] = c-size*rng.Float64(), c+size*rng.Float64()
	}
	return b
}

func make1(kind string, n int) boxes {
	rng := rand.New(rand.NewPCG(21, uint64(n)))
	out := make(boxes, n)
	for i := range out {
		out[i] = kinds[kind](rng, i)
	}
	return out
}

func names() []string {
	var out []string
	for k := range kinds {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

func TestEveryTreeHoldsItsElements(t *testing.T) {
	for _, kind := range names() {
		t.Run(kind, func(t *testing.T) {
			for n := range 101 {
				b := make1(kind, n)
				for leaf := 1; leaf <= LeafMax; leaf += 1 + n/20 {
					tree, err := Build(context.Background(), n, b.at, Options{Leaf: leaf})
					require.NoError(t, err)
					require.NoError(t, tree.Check(n, b.at), "%d elements, %d a leaf", n, leaf)
					require.Equal(t, n == 0, tree.Top.Empty)
					require.False(t, tree.Top.Holds(int32(n)) || tree.Top.Holds(-1))
					require.Equal(t, []Root{tree.Top}, tree.Parts)
					if n > 0 {
						requireHolds(t, &tree.Top.Box, b)
					}
				}
			}
		})
	}
}

func requireHolds(t *testing.T, x *Box, b boxes) {
	t.Helper()
	for i, e := range b {
		for k := range 3 {
			if c, h := float64(x.C[k]), float64(x.H[k]); c-h > e.Lo[k] || c+h < e.Hi[k] {
				t.Fatalf("element %d sticks out", i)
			}
		}
	}
}

func TestPartsAreSubtrees(t *testing.T) {
	rng := rand.New(rand.NewPCG(22, 1))
	for _, kind := range names() {
		for _, n := range []int{0, 1, 2, 3, 10, 100, 1000} {
			for _, parts := range []int{1, 2, 7, MaxParts} {
				b := make1(kind, n)
				part := make([]int32, n)
				for i := range part {
					part[i] = int32(rng.IntN(parts))
				}
				tree, err := Build(context.Background(), n, b.at, Options{Leaf: 2, Part: part, Parts: parts})
				require.NoError(t, err)
				require.NoError(t, tree.Check(n, b.at))
				require.Len(t, tree.Parts, parts)
				for k, root := range tree.Parts {
					var want, got []int32
					var in boxes
					for i, p := range part {
						if p == int32(k) {
							want, in = append(want, int32(i)), append(in, b[i])
						}
					}
					require.Equal(t, len(want) == 0, root.Empty)
					if root.Empty {
						continue
					}
					requireHolds(t, &root.Box, in)
					var walk func(r Ref)
					walk = func(r Ref) {
						if r.IsLeaf() {
							first, count := r.Leaf()
							got = append(got, tree.Order[first:first+count]...)
							for pos := first; pos < first+count; pos++ {
								for j := range tree.Parts {
									if tree.Parts[j].Holds(int32(pos)) != (j == k) {
										t.Fatalf("part %d, but position %d of part %d", j, pos, k)
									}
								}
								require.True(t, tree.Top.Holds(int32(pos)))
							}
							return
						}
						walk(tree.Nodes[r].Child[0])
						walk(tree.Nodes[r].Child[1])
					}
					walk(root.Ref)
					slices.Sort(got)
					require.Equal(t, want, got, "%s, %d elements, part %d of %d", kind, n, k, parts)
				}
			}
		}
	}
}

func TestPadGrowsEveryBox(t *testing.T) {
	b := make1("scattered", 50)
	tight, err := Build(context.Background(), 50, b.at, Options{Leaf: 2})
	require.NoError(t, err)
	wide, err := Build(context.Background(), 50, b.at, Options{Leaf: 2, Pad: 0.25})
	require.NoError(t, err)
	require.Equal(t, tight.Order, wide.Order)
	for i := range tight.Nodes {
		for k := range 2 {
			require.Equal(t, tight.Nodes[i].Box[k].C, wide.Nodes[i].Box[k].C)
			for a := range 3 {
				require.InDelta(t, tight.Nodes[i].Box[k].H[a]+0.25, wide.Nodes[i].Box[k].H[a], 1e-6)
			}
		}
	}
}

func TestTooManyPartsOrElements(t *testing.T) {
	_, err := Build(context.Background(), 0, nil, Options{Leaf: 1, Part: []int32{}, Parts: MaxParts + 1})
	require.ErrorContains(t, err, "257 parts, but at most 256")
	_, err = Build(context.Background(), 1<<28, nil, Options{Leaf: 1})
	require.ErrorContains(t, err, "268435456 elements")
}

// The builder works on several cores from 32768 elements on.
func TestTreeOnAnyCores(t *testing.T) {
	const n = 60000
	for _, kind := range []string{"scattered", "identical", "flat"} {
		b := make1(kind, n)
		part := make([]int32, n)
		for i := range part {
			part[i] = int32(i % 3 / 2)
		}
		o := Options{Leaf: 3, Pad: 1e-9, Part: part, Parts: 2}
		var first *Tree
		for _, cores := range []int{1, 2, 4} {
			old := runtime.GOMAXPROCS(cores)
			tree, err := Build(context.Background(), n, b.at, o)
			runtime.GOMAXPROCS(old)
			require.NoError(t, err)
			if first == nil {
				first = tree
				require.NoError(t, tree.Check(n, b.at))
				continue
			}
			require.Equal(t, first, tree, "%s on %d cores", kind, cores)
		}
	}
}

func depth(t *Tree, r Ref) int {
	if r.IsLeaf() {
		return 1
	}
	n := t.Nodes[r]
	return 1 + max(depth(t, n.Child[0]), depth(t, n.Child[1]))
}

// Sizes that fall off geometrically make the heuristic part one element off at
// a time, for as long as single precision can tell them apart; halving by
// count must then take over.
func TestDepthIsBoundedAgainstHostileInput(t *testing.T) {
	for name, x := range map[string]func(i int) float64{
		"each a seventeenth of the last": func(i int) float64 { return math.Pow(17, float64(30-i%60)) },
		"each half of the last":          func(i int) float64 { return math.Ldexp(1, 120-i%240) },
		"nested":                         func(i int) float64 { return 3e38 * math.Pow(0.97, float64(i)) },
	} {
		const n = 20000
		b := make(boxes, n)
		for i := range b {
			b[i] = Bounds{Lo: [3]float64{0, 0, 0}, Hi: [3]float64{x(i), 0, x(i) / 3}}
		}
		tree, err := Build(context.Background(), n, b.at, Options{Leaf: 1})
		require.NoError(t, err)
		require.NoError(t, tree.Check(n, b.at))
		d := depth(tree, tree.Top.Ref)
		t.Logf("%s: depth %d", name, d)
		// 30 cuts by place, then halving; in nodes and a leaf.
		require.LessOrEqual(t, d, halveFrom+15+1, name)
		require.Greater(t, d, 20, "%s: too tame to test anything", name)
	}
}

// A broken tree must not pass.
func TestCheckFindsFaults(t *testing.T) {
	const n = 40
	b := make1("scattered", n)
	for name, breakIt := range map[string]func(*Tree){
		"a box too small":      func(t *Tree) { t.Nodes[5].Box[1].H[2] /= 2 },
		"an element twice":     func(t *Tree) { t.Order[3] = t.Order[4] },
		"an element missing":   func(t *Tree) { t.Order = t.Order[:n-1] },
		"a child that is none": func(t *Tree) { t.Nodes[2].Child[0] = 1000 },
		"a subtree twice":      func(t *Tree) { t.Nodes[0].Child[0] = t.Nodes[0].Child[1] },
		"an empty leaf":        func(t *Tree) { t.Nodes[len(t.Nodes)-1].Child[0] = leaf(0, 0) },
		"a circle":             func(t *Tree) { t.Nodes[len(t.Nodes)-1].Child[0] = 0 },
		"emptied":              func(t *Tree) { t.Top.Empty = true },
	} {
		tree, err := Build(context.Background(), n, b.at, Options{Leaf: 2})
		require.NoError(t, err)
		require.NoError(t, tree.Check(n, b.at))
		breakIt(tree)
		require.Error(t, tree.Check(n, b.at), name)
	}
}

func TestBoxDistances(t *testing.T) {
	rng := rand.New(rand.NewPCG(23, 1))
	clamp := func(x, lo, hi float64) float64 { return max(lo, min(hi, x)) }
	for range 5000 {
		p, q := around(rng, 1, 1, 1, 0.5), around(rng, 1, 1, 1, 0.5)
		x, y := p.Box(0), q.Box(0)
		still := y.Move(&[16]float64{0: 1, 5: 1, 10: 1, 15: 1})
		at := [3]float64{2*rng.Float64() - 1, 2*rng.Float64() - 1, 2*rng.Float64() - 1}
		var point, gap float64
		for k := range 3 {
			d := at[k] - clamp(at[k], p.Lo[k], p.Hi[k])
			point += d * d
			g := max(0, q.Lo[k]-p.Hi[k], p.Lo[k]-q.Hi[k])
			gap += g * g
		}
		// Never more, and hardly less, since boxes are rounded outward.
		require.LessOrEqual(t, x.DistSq(&at), point+1e-15)
		require.InDelta(t, point, x.DistSq(&at), 1e-6)
		require.LessOrEqual(t, x.GapSq(&still), gap+1e-15)
		require.InDelta(t, gap, x.GapSq(&still), 1e-6)
	}
}

func TestLeafReferences(t *testing.T) {
	for _, first := range []int{0, 1, 77, 1<<28 - 1 - LeafMax} {
		for n := range LeafMax + 1 {
			r := leaf(first, n)
			require.True(t, r.IsLeaf())
			f, c := r.Leaf()
			require.Equal(t, [2]int{first, n}, [2]int{f, c})
		}
	}
	require.False(t, Ref(0).IsLeaf())
}

func BenchmarkBuild(b *testing.B) {
	for _, n := range []int{10000, 200000} {
		e := make1("scattered", n)
		b.Run(fmt.Sprintf("scattered%dk", n/1000), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				t, err := Build(context.Background(), n, e.at, Options{Leaf: 3})
				if err != nil || len(t.Order) != n {
					b.Fatal(err)
				}
			}
		})
	}
}
