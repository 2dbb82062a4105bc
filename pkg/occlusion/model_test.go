package occlusion_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh/index"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// object is a JSON object of a findings file.
type object = map[string]any

// written is the findings as another program sees them.
func written(t testing.TB, f *findings.Findings) object {
	t.Helper()
	text, err := json.Marshal(f)
	require.NoError(t, err)
	var out object
	require.NoError(t, json.Unmarshal(text, &out))
	return out
}

func list[T any](t testing.TB, v any) []T {
	t.Helper()
	all, ok := v.([]any)
	require.True(t, ok, "%T is no list", v)
	out := make([]T, len(all))
	for i, x := range all {
		out[i], ok = x.(T)
		require.True(t, ok, "%T in a list of %T", x, out[i])
	}
	return out
}

func point(t testing.TB, v any) r3.Vec {
	t.Helper()
	c := list[float64](t, v)
	require.Len(t, c, 3)
	return r3.Vec{X: c[0], Y: c[1], Z: c[2]}
}

// pose is a matrix of the file, which must be rigid.
func pose(t testing.TB, v any) kinematics.Pose {
	t.Helper()
	m := list[float64](t, v)
	require.Len(t, m, 16)
	p, err := kinematics.FromMatrix([16]float64(m))
	require.NoError(t, err)
	return p
}

// has checks that an object has the keys of the contract.
func has(t testing.TB, o object, keys string) {
	t.Helper()
	for _, k := range strings.Fields(keys) {
		require.Contains(t, o, k)
	}
}

// close is the largest difference, in mm, between two ways of computing a
// point: the coordinates are some 100 mm and poses are read from a file.
const close = 1e-9

// world holds the casts against which a file is checked, as a reader of the
// file would build them: from the scans, moved as the file says.
type world struct {
	upper, lower *index.Index // mounted, the lower one not settled
	incisal      *r3.Vec      // in the frame of the scans
}

func newWorld(t testing.TB, c *casefile.Case, mount kinematics.Pose) *world {
	t.Helper()
	upper, lower, err := occlusion.Load(context.Background(), c)
	require.NoError(t, err)
	index := func(s *casts.Scan) *index.Index {
		m, err := s.Mesh.Transform(mount.Apply)
		require.NoError(t, err)
		x, err := index.New(context.Background(), m, nil, index.Options{})
		require.NoError(t, err)
		return x
	}
	w := &world{upper: index(upper), lower: index(lower)}
	if a := c.Mount.Average; a != nil {
		p := a.IncisalPoint.Vec()
		w.incisal = &p
	}
	return w
}

func (w *world) checkContact(t testing.TB, c object, lower kinematics.Pose, foils []float64) {
	has(t, c, "upper lower point_mm centre_mm normal area_mm2 gap_um foil_um incline_deg")
	has(t, c["incline_deg"].(object), "upper lower")
	p, gap := point(t, c["point_mm"]), c["gap_um"].(float64)/1000
	foil := c["foil_um"].(float64)
	require.Contains(t, foils, foil)
	require.LessOrEqual(t, gap, foil/1000)
	require.GreaterOrEqual(t, gap, 0.0)
	require.GreaterOrEqual(t, c["area_mm2"], 0.0) // 0 where the patch is finer than the samples
	require.InDelta(t, 1, r3.Norm(point(t, c["normal"])), 1e-12)

	// The point lies on the upper surface and the gap away from the lower one,
	// or behind it where they overlap.
	up, ok := w.upper.Nearest(p, 1)
	require.True(t, ok)
	require.InDelta(t, 0, up.Dist, close)
	lo, ok := w.lower.Nearest(lower.Inverse().Apply(p), 1)
	require.True(t, ok)
	if overlap, ok := c["overlap_um"].(float64); ok {
		require.LessOrEqual(t, lo.Dist, overlap/1000+1e-6)
	} else {
		require.InDelta(t, gap, lo.Dist, 1e-6)
	}
	for jaw, incline := range c["incline_deg"].(object) {
		if c[jaw] == nil {
			require.Nil(t, incline)
			continue
		}
		tooth, err := dentition.ParseTooth(c[jaw].(string))
		require.NoError(t, err)
		require.Equal(t, jaw, tooth.Jaw().String())
		a := incline.(float64)
		require.True(t, a >= 0 && a <= 180, a)
	}
	// The middle of a small patch is near the surface.
	if area := c["area_mm2"].(float64); area < 1 {
		centre, ok := w.upper.Nearest(point(t, c["centre_mm"]), 5)
		require.True(t, ok)
		require.Less(t, centre.Dist, 0.5)
	}
}

// checkFindings checks a findings file against docs/findings.md and
// against the casts. It returns how many contacts it saw.
func checkFindings(t *testing.T, c *casefile.Case, f *findings.Findings) (contacts int) {
	checkFoil(t, f)
	o := written(t, f)
	byTeeth := c.Settings.Guidance.By == casefile.ByTeeth
	has(t, o, "format version mount settings settling centric excursions")
	require.Equal(t, "cusptrace-findings", o["format"])
	require.Equal(t, 2.0, o["version"])

	mount := o["mount"].(object)
	has(t, mount, "scan_to_articulator how")
	require.Contains(t, []any{"average", "recorded", "matrix"}, mount["how"])
	mounted := pose(t, mount["scan_to_articulator"])
	settling := o["settling"].(object)
	has(t, settling, "how pose moved_um overlap_before_um largest_overlap_um")
	require.Contains(t, []any{"seat", "lift", "none"}, settling["how"])
	settled := pose(t, settling["pose"])
	set := o["settings"].(object)
	has(t, set, "intercondylar_mm reference_plane right left guidance")

	w := newWorld(t, c, mounted)

	centric := o["centric"].(object)
	has(t, centric, "opening_deg contacts teeth mounting")
	has(t, centric["mounting"].(object), "verdict reasons")
	require.Contains(t, []any{"acceptable", "remount", "undecided"}, centric["mounting"].(object)["verdict"])
	closed := settled.Then(kinematics.RotationX(Degrees(centric["opening_deg"].(float64))))
	for _, x := range list[object](t, centric["contacts"]) {
		w.checkContact(t, x, closed, c.FoilsUm)
		contacts++
	}
	seen := map[any]bool{}
	for _, tooth := range list[object](t, centric["teeth"]) {
		has(t, tooth, "tooth gap_um foil")
		seen[tooth["tooth"]] = true
		for name, state := range tooth["foil"].(object) {
			var um float64
			_, err := fmt.Sscan(name, &um)
			require.NoError(t, err)
			require.Equal(t, map[bool]string{true: "holds", false: "free"}[tooth["gap_um"].(float64) <= um], state)
		}
	}
	for _, scan := range []findings.ScanInfo{f.Scans.Upper, f.Scans.Lower} {
		for _, tooth := range scan.Teeth {
			require.True(t, seen[tooth.String()], tooth)
		}
	}

	for _, x := range list[object](t, o["excursions"]) {
		has(t, x, "movement frames findings")
		require.Contains(t, []any{"right", "left", "protrusive"}, x["movement"])
		list[object](t, x["findings"])
		last := -1.0
		for _, fr := range list[object](t, x["frames"]) {
			travel := fr["travel_mm"].(float64)
			require.Greater(t, travel, last)
			last = travel
			moved := pose(t, fr["pose"])
			lower := settled.Then(moved)
			if w.incisal != nil {
				at := lower.Apply(mounted.Apply(*w.incisal))
				require.InDelta(t, 0, r3.Norm(r3.Sub(at, point(t, fr["incisal_point_mm"]))), close)
			} else {
				require.Nil(t, fr["incisal_point_mm"])
			}
			checkCondyles(t, x["movement"].(string), travel, set, moved)
			contacts += w.checkFrame(t, fr, lower, c)
			if byTeeth && travel == 0 {
				require.InDelta(t, centric["opening_deg"].(float64), fr["opening_deg"].(float64), 1e-12)
				require.Equal(t, centric["contacts"], fr["contacts"])
			}
		}
	}
	return contacts
}

// checkFrame checks contacts, clearances and what carries in a frame, in which the
// lower cast has the given pose. It returns how many contacts it saw.
func (w *world) checkFrame(t *testing.T, fr object, lower kinematics.Pose, c *casefile.Case) (contacts int) {
	has(t, fr, "travel_mm opening_deg pose incisal_point_mm contacts clearance_mm")
	for _, x := range list[object](t, fr["contacts"]) {
		w.checkContact(t, x, lower, c.FoilsUm)
		contacts++
	}
	clearance := fr["clearance_mm"].(object)
	require.NotEmpty(t, clearance)
	for part, d := range clearance {
		require.GreaterOrEqual(t, d, 0.0, part)
	}
	if c.Settings.Guidance.By != casefile.ByTeeth {
		require.NotContains(t, fr, "carrier")
		return contacts
	}
	// What carries touches: its point lies on both surfaces, and nothing lies deeper.
	carrier := fr["carrier"].(object)
	p := point(t, carrier["point_mm"])
	up, _ := w.upper.Nearest(p, 1)
	lo, _ := w.lower.Nearest(lower.Inverse().Apply(p), 1)
	require.InDelta(t, 0, up.Dist, 1e-7)
	require.InDelta(t, 0, lo.Dist, 1e-7)
	for _, jaw := range []string{"upper", "lower"} {
		if carrier[jaw] != nil {
			require.InDelta(t, 0, clearance[carrier[jaw].(string)], 1e-7)
		}
	}
	return contacts
}

// checkCondyles checks that the advancing condyle has gone its travel along its
// path (straight, without side shift in the sagittal plane),
// that the distance of the centres is kept, and that the opening is about the
// moved axis.
func checkCondyles(t testing.TB, movement string, travel float64, set object, p kinematics.Pose) {
	d := set["intercondylar_mm"].(float64)
	right, left := r3.Vec{X: -d / 2}, r3.Vec{X: d / 2}
	r, l := p.Apply(right), p.Apply(left)
	require.InDelta(t, d, r3.Norm(r3.Sub(r, l)), 1e-9)
	for _, side := range []struct {
		name   string
		moved  r3.Vec
		asleep bool // the working condyle does not advance
	}{{"right", r3.Sub(r, right), movement == "right"}, {"left", r3.Sub(l, left), movement == "left"}} {
		s := set[side.name].(object)
		if s["path"] != nil {
			continue
		}
		h := s["condylar_inclination_deg"].(float64) * math.Pi / 180
		if side.asleep {
			require.InDelta(t, 0, math.Hypot(side.moved.Y, side.moved.Z), close)
			continue
		}
		require.InDelta(t, -travel*math.Cos(h), side.moved.Y, close)
		require.InDelta(t, -travel*math.Sin(h), side.moved.Z, close)
	}
}

// checkFoil checks that thin foil does not pull through at a tooth that carries a contact within what
// drags it and the scan uncertainty.
func checkFoil(t testing.TB, f *findings.Findings) {
	t.Helper()
	passes := map[findings.Part]bool{}
	for _, x := range f.Centric.Teeth {
		passes[x.Tooth] = x.Class == findings.ClassPasses
	}
	for i := range f.Centric.Contacts {
		if x := &f.Centric.Contacts[i]; x.FoilUm.Um() <= f.Thresholds.DragsUm+f.Thresholds.ScanDoubtUm {
			require.False(t, passes[x.Upper] || passes[x.Lower], "%v", x.Pair())
		}
	}
}

func TestFindingsFollowTheModel(t *testing.T) {
	for name, edit := range map[string]func(*casefile.Case){
		"by teeth":   func(*casefile.Case) {},
		"unlabelled": func(c *casefile.Case) { c.Upper.Labels = "" },
		"other settings": func(c *casefile.Case) {
			c.Settings.Right.CondylarInclinationDeg, c.Settings.Left.ImmediateSideShiftMM = 45, 0.8
			c.Settings.IntercondylarMM = 98
		},
		"no incisal point": func(c *casefile.Case) { c.Mount, c.Lower.Labels = casefile.Mount{Matrix: &matrix}, "" },
		"free": func(c *casefile.Case) {
			c.Settings.Guidance = casefile.Guidance{By: casefile.ByNone, OpeningDeg: 0.35}
		},
		"table": func(c *casefile.Case) {
			c.Settings.Guidance = casefile.Guidance{By: casefile.ByTable, InclinationDeg: 60, WingsDeg: 40}
		},
	} {
		t.Run(name, func(t *testing.T) {
			c := synthetic(t, func(c *casefile.Case) {
				c.FoilsUm = []float64{12, 40}
				for i := range c.Excursions {
					c.Excursions[i].MaxMM, c.Excursions[i].StepMM = 3, 0.5
				}
				edit(c)
			})
			require.Greater(t, checkFindings(t, c, examine(t, c, 0)), 20)
		})
	}
	t.Run("real", func(t *testing.T) {
		c := realCase(t)
		require.Greater(t, checkFindings(t, c, examinedReal(t)), 10)
	})
}

// The stops of the synthetic case are known: they touch in intercuspation, with no
// opening, and nothing else does.
func TestTheKnownStopsAreFound(t *testing.T) {
	f := examine(t, synthetic(t, func(c *casefile.Case) { c.FoilsUm = []float64{8} }), 0)
	require.InDelta(t, 0, f.Centric.OpeningDeg, 1e-9)
	require.Zero(t, f.Settling.LargestOverlapUm)
	require.Len(t, f.Centric.Contacts, len(stops()))
	mount := f.Mount.ScanToArticulator
	for i, s := range stops() {
		at := mount.Apply(s.at)
		n := slices.IndexFunc(f.Centric.Contacts, func(c findings.Contact) bool { return dentition.ToothID(c.Upper) == s.upper })
		require.GreaterOrEqual(t, n, 0, "stop %d", i)
		c := f.Centric.Contacts[n]
		require.Equal(t, s.lower, dentition.ToothID(c.Lower))
		p := r3.Vec{X: c.PointMM[0], Y: c.PointMM[1], Z: c.PointMM[2]}
		require.InDelta(t, 0, r3.Norm(r3.Sub(at, p)), 1e-6)
		require.Positive(t, c.Normal[2], "from the lower to the upper arch")
	}
}
