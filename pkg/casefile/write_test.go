package casefile_test

import (
	"bytes"
	"errors"
	"io"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
)

func write(t testing.TB, c *casefile.Case) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, casefile.Write(&b, c))
	return b.String()
}

func TestWrittenForm(t *testing.T) {
	c := withScans()
	c.Name = "Demo: first visit"
	c.Upper.Labels = "my labels.json"
	c.Settings.Left.Path = &casefile.CondylarPath{PointsMM: [][2]float64{{0, 0}, {0.5, 0.25}, {10, 6}}}
	c.Settings.Left.CondylarInclinationDeg = c.Settings.Left.Path.InclinationDeg()
	c.Settings.Guidance = casefile.Guidance{By: casefile.ByNone}
	c.Record = &casefile.Record{FoilUm: 8, Foil: map[dentition.ToothID]casefile.Hold{26: casefile.Holds,
		16: casefile.Passes}, Marks: casefile.Marks{Left: []casefile.Mark{}}, Notes: "high\nleft"}
	c.Restore = []dentition.ToothID{24}
	require.Equal(t, `name: "Demo: first visit"
upper: {scan: u.stl, labels: my labels.json}
lower: {scan: l.stl}
units: mm
mount: {average: {condyle_to_incisal_mm: 105, balkwill_deg: 22, plane_tilt_deg: 0}}
settings:
  intercondylar_mm: 110
  reference_plane: occlusal
  right:
    condylar_inclination_deg: 33
    side_shift_angle_deg: 10
    immediate_side_shift_mm: 0
    side_shift_travel_mm: 0.5
    laterotrusion_back_deg: 0
    laterotrusion_up_deg: 0
  left:
    condylar_inclination_deg: 28.778707757678767
    side_shift_angle_deg: 10
    immediate_side_shift_mm: 0
    side_shift_travel_mm: 0.5
    laterotrusion_back_deg: 0
    laterotrusion_up_deg: 0
    path: {points_mm: [[0, 0], [0.5, 0.25], [10, 6]]}
  guidance: {by: free, opening_deg: 0}
settle: {how: seat, doubt_um: 150}
excursions:
  - {movement: right, max_mm: 8, step_mm: 0.1}
  - {movement: left, max_mm: 8, step_mm: 0.1}
  - {movement: protrusive, max_mm: 8, step_mm: 0.1}
foils_um: [8, 40]
thresholds:
  scan_doubt_um: 36.7
  holds_um: 6
  drags_um: 8
  stable_incline_deg: 30
  axial_share: 0.9
  facing_deg: 5
  touch_um: 40
  begun_mm: 0.3
  late_mm: 3
  kink_deg: 10
  jump_mm: 0.1
support:
  axial_free_n: 3.5
  lateral_free_n: 1
  incisor: {axial_free_um: 28, axial_50n_um: 100, lateral_free_um: 70, lateral_5n_um: 130}
  canine: {axial_free_um: 22, axial_50n_um: 74, lateral_free_um: 50, lateral_5n_um: 90}
  premolar: {axial_free_um: 20, axial_50n_um: 72, lateral_free_um: 45, lateral_5n_um: 85}
  molar: {axial_free_um: 15, axial_50n_um: 46, lateral_free_um: 25, lateral_5n_um: 50}
record: {foil_um: 8, foil: {"16": passes, "26": holds}, marks: {left: []}, notes: "high\nleft"}
notation: iso
restore: ["24"]
`, write(t, c))
	require.Equal(t, c, parse(t, write(t, c)))

}

func TestWriteReadsBackEqual(t *testing.T) {
	for _, text := range kinds(t) {
		c := parse(t, text)
		require.Equal(t, c, parse(t, write(t, c)), text)
	}
	// Names that look like something else.
	for _, name := range []string{
		"true", "Null", "no", "~", "1e3", "0x1f", ".5", "-", "- a", "a: b", "a #b", "#a", "*a", "&a", "!a", "%a", "@a",
		"`a`", "'a'", `"a"`, "{a}", "[a]", "a,b", "?", "? a", "|", ">", " a ", "a  b",
		"Jürg 🦷", "\u00a0", "<script>&amp;", `\`, `\n`, "---", "...", "<<", "=", "0b1", "190:20:30",
		"2001-12-15", "end-", "a/b.c_d", "\ufffd",
	} {
		c := withScans()
		c.Name, c.Upper.Scan = name, name
		require.Equal(t, c, parse(t, write(t, c)), "%q", name)
	}
	// What would forge lines or turn the direction of a reader's screen is not written.
	for _, name := range []string{"a\nb\n", "\ta", "\u2028", "\u202e"} {
		c := withScans()
		c.Name = name
		require.ErrorIs(t, casefile.Write(io.Discard, c), casefile.ErrType, "%q", name)
	}
}

// Any number comes back to the last bit.
func TestWriteKeepsNumbers(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for range 200 {
		c := withScans()
		c.Settings.IntercondylarMM = 90 + 50*rng.Float64()
		c.Settings.Left.ImmediateSideShiftMM = math.Ldexp(rng.Float64(), -rng.IntN(1070))
		c.Landmarks.IncisalPoint = &casefile.Point{}
		for i := range c.Landmarks.IncisalPoint {
			c.Landmarks.IncisalPoint[i] = (rng.Float64() - 0.5) * math.Pow(10, float64(6-rng.IntN(30)))
		}
		require.Equal(t, c, parse(t, write(t, c)))
	}
}

func TestLongPathIsWrittenInLines(t *testing.T) {
	c := withScans()
	p := &casefile.CondylarPath{}
	for i := range 40 {
		p.PointsMM = append(p.PointsMM, [2]float64{float64(i) * 0.3, float64(i) * 0.125})
	}
	c.Settings.Left.Path, c.Settings.Left.CondylarInclinationDeg = p, p.InclinationDeg()
	text := write(t, c)
	for line := range strings.Lines(text) {
		require.LessOrEqual(t, len(line), 101, line)
	}
	require.Equal(t, c, parse(t, text))
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errFull }

var errFull = errors.New("full")

func TestWriteError(t *testing.T) {
	require.ErrorIs(t, casefile.Write(full{}, withScans()), errFull)
}
