package casefile_test

import (
	"bytes"
	"encoding/json"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/interp"

	"github.com/cusptrace/cusptrace/internal/faults"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
)

const scans = "upper: {scan: u.stl}\nlower: {scan: l.stl}\n"

func parse(t testing.TB, text string) *casefile.Case {
	t.Helper()
	c, _, err := casefile.Parse("c.yaml", []byte(text))
	require.NoError(t, err)
	return c
}

func withScans() *casefile.Case {
	c := casefile.Default()
	c.Dir, c.Upper.Scan, c.Lower.Scan = ".", "u.stl", "l.stl"
	return c
}

// The defaults are the numbers of the model's example. Those of the thresholds
// are published where the doc comments say so: scan doubt √(15² + 15² + 30²), foil
// 6 and 8 µm (Harper & Setchell 2002).
func TestOnlyScansNeeded(t *testing.T) {
	c, w, err := casefile.Parse("c.yaml", []byte(scans))
	require.NoError(t, err)
	require.Empty(t, w)
	require.Equal(t, withScans(), c)

	side := casefile.Side{CondylarInclinationDeg: 33, SideShiftAngleDeg: 10, ImmediateSideShiftMM: 0, SideShiftTravelMM: 0.5}
	require.Equal(t, &casefile.Case{
		Dir:   ".",
		Upper: casefile.Arch{Scan: "u.stl"}, Lower: casefile.Arch{Scan: "l.stl"},
		Units: mesh.Millimetre,
		Mount: casefile.Mount{Average: &casefile.Average{CondyleToIncisalMM: 105, BalkwillDeg: 22, PlaneTiltDeg: 0}},
		Settings: casefile.Settings{
			IntercondylarMM: 110, ReferencePlane: casefile.OcclusalPlane, Right: side, Left: side,
			Guidance: casefile.Guidance{By: casefile.ByTeeth},
		},
		Settle: casefile.Settle{How: casefile.SettleSeat, DoubtUm: 150},
		Excursions: []casefile.Excursion{
			{Movement: kinematics.Right, MaxMM: 8, StepMM: 0.1}, {Movement: kinematics.Left, MaxMM: 8, StepMM: 0.1},
			{Movement: kinematics.Protrusive, MaxMM: 8, StepMM: 0.1},
		},
		FoilsUm: []float64{8, 40},
		Thresholds: casefile.Thresholds{
			ScanDoubtUm: 36.7, HoldsUm: 6, DragsUm: 8, StableInclineDeg: 30, AxialShare: 0.9, FacingDeg: 5,
			TouchUm: 40, BegunMM: 0.3, LateMM: 3, KinkDeg: 10, JumpMM: 0.1,
		},
		Support: casefile.Support{
			AxialFreeN: 3.5, LateralFreeN: 1,
			Incisor:  casefile.ToothSupport{AxialFreeUm: 28, Axial50NUm: 100, LateralFreeUm: 70, Lateral5NUm: 130},
			Canine:   casefile.ToothSupport{AxialFreeUm: 22, Axial50NUm: 74, LateralFreeUm: 50, Lateral5NUm: 90},
			Premolar: casefile.ToothSupport{AxialFreeUm: 20, Axial50NUm: 72, LateralFreeUm: 45, Lateral5NUm: 85},
			Molar:    casefile.ToothSupport{AxialFreeUm: 15, Axial50NUm: 46, LateralFreeUm: 25, Lateral5NUm: 50},
		},
	}, c)
}

func TestFullExample(t *testing.T) {
	c, w, err := casefile.Parse("cases/demo.yaml", []byte(examples(t)[1]))
	require.NoError(t, err)
	require.Empty(t, w)
	require.Equal(t, "cases", c.Dir)
	require.Equal(t, "Two strips of cusps, first visit", c.Name)
	require.Equal(t, casefile.Arch{Scan: "lower.ply", Labels: "lower.labels.json"}, c.Lower)
	require.Equal(t, &casefile.Point{-27.9, -2.3, 1.8}, c.Mount.Average.RightMolar)
	require.Equal(t, 36.0, c.Settings.Right.CondylarInclinationDeg)
	require.Equal(t, 15.0, c.Settings.Right.Path.ArcRadiusMM)
	left := c.Settings.Left
	require.Equal(t, casefile.FromInclination, left.SideShiftAngleFrom)
	require.Equal(t, [2]float64{3.9, 3.1}, left.Path.PointsMM[2])
	require.Equal(t, left.CondylarInclinationDeg/8+12, left.SideShiftAngleDeg)
	require.Equal(t, []casefile.Excursion{{Movement: kinematics.Right, MaxMM: 6, StepMM: 0.1},
		{Movement: kinematics.Left, MaxMM: 6, StepMM: 0.1}, {Movement: kinematics.Protrusive, MaxMM: 8, StepMM: 0.1}}, c.Excursions)
	require.Equal(t, casefile.LightDrag, c.Record.Foil[15])
	require.Equal(t, []casefile.Mark{{Upper: 16, Lower: 46}, {Upper: 26, Lower: 36}, {Upper: 25, Lower: 36}}, c.Record.Marks.Centric)
	require.NotNil(t, c.Record.Marks.Protrusive, "looked, and saw none")
	require.Empty(t, c.Record.Marks.Protrusive)
	require.Equal(t, []dentition.ToothID{24, 25}, c.Restore)
}

func TestWaysToWriteTheSame(t *testing.T) {
	for name, text := range map[string]string{
		"JSON":             `{"upper":{"scan":"u.stl"},"lower":{"scan":"l.stl"},"foils_um":[8,40]}`,
		"indented JSON":    "{\n\t\"upper\": {\n\t\t\"scan\": \"u.stl\"\n\t},\n\t\"lower\": {\"scan\": \"l.stl\"}\n}\n",
		"BOM":              "\ufeff" + scans,
		"CRLF":             strings.ReplaceAll(scans, "\n", "\r\n"),
		"comments":         "# a\n" + scans + "# b",
		"no final newline": strings.TrimSuffix(scans, "\n"),
		"document marks":   "%YAML 1.2\n---\n" + scans + "...\n",
		"numbers": scans + "settings: {intercondylar_mm: +1.10e2, right: {condylar_inclination_deg: 033., " +
			"side_shift_travel_mm: .5}}\nfoils_um: [8.0e0, 4E+1]\n",
		"settle true": scans + "settle: true\n",
		"block":       "upper:\n  scan: >-\n    u.stl\nlower:\n  scan: |-\n    l.stl\n",
	} {
		require.Equal(t, withScans(), parse(t, text), name)
	}
	require.Equal(t, casefile.Settle{How: casefile.SettleNone}, parse(t, scans+"settle: false\n").Settle)
	require.Equal(t, mesh.Inch, parse(t, scans+"units: in\n").Units)

	c := parse(t, scans+"settings: {right: &side {condylar_inclination_deg: 40}, left: *side}\nrestore: [\"24\", 25]\n")
	require.Equal(t, 40.0, c.Settings.Left.CondylarInclinationDeg)
	require.Equal(t, 10.0, c.Settings.Left.SideShiftAngleDeg)
	require.Equal(t, []dentition.ToothID{24, 25}, c.Restore)
	require.Equal(t, &casefile.Record{FoilUm: 8}, parse(t, scans+"record: {}\n").Record)
	require.Equal(t, casefile.Guidance{By: casefile.ByTable, InclinationDeg: 10},
		parse(t, scans+"settings: {guidance: {by: table}}\n").Settings.Guidance)
	require.Equal(t, casefile.Guidance{By: casefile.ByNone, OpeningDeg: 0},
		parse(t, scans+"settings: {guidance: {opening_deg: 0, by: free}}\n").Settings.Guidance)
}

// The formula of 1926 (J Am Dent Assoc 13), L = H/8 + 12, exact. A web text gives 15 for
// 33, the arithmetic 16.125. In 20 edentulous patients it gave 14° to 17° (Bhawsar et al.
// 2015), which is H from 16 to 40.
func TestSideShiftFormula(t *testing.T) {
	for h, want := range map[float64]float64{0: 12, 10: 13.25, 16: 14, 20: 14.5, 25: 15.125, 30: 15.75, 33: 16.125,
		35: 16.375, 40: 17, 45: 17.625, 50: 18.25, 60: 19.5} {
		require.Equal(t, want, casefile.SideShiftFormula(h))
	}
	c := parse(t, scans+"settings: {left: {side_shift_angle_from: condylar_inclination}, right: "+
		"{condylar_inclination_deg: 40, side_shift_angle_from: condylar_inclination}}\n")
	require.Equal(t, 16.125, c.Settings.Left.SideShiftAngleDeg)
	require.Equal(t, 17.0, c.Settings.Right.SideShiftAngleDeg)
}

func TestDerivedValues(t *testing.T) {
	c := parse(t, scans+"mount: {recorded: {right_condyle: [-52, 3, 0], left_condyle: [52, 3, 0], reference_point: [0, -80, 0]}}\n")
	require.Equal(t, 104.0, c.Settings.IntercondylarMM)
	require.Nil(t, c.Mount.Average)

	// The first 5 mm of these paths are the hypotenuse of 3-4-5.
	for _, points := range []string{"[[0, 0], [8, 6], [16, 12]]", "[[0, 0], [0.4, 0.3], [8, 6]]"} {
		c = parse(t, scans+"settings: {left: {side_shift_angle_from: condylar_inclination, path: {points_mm: "+points+"}}}\n")
		h := math.Atan2(3, 4) * 180 / math.Pi
		require.InDelta(t, h, c.Settings.Left.CondylarInclinationDeg, 1e-12)
		require.InDelta(t, h/8+12, c.Settings.Left.SideShiftAngleDeg, 1e-12)
		require.Equal(t, 33.0, c.Settings.Right.CondylarInclinationDeg)
	}
	// A bent path has the inclination of the curve that is driven, not of the lines
	// between its points: found by walking along the interpolant in small chords.
	bent := casefile.CondylarPath{PointsMM: [][2]float64{{0, 0}, {2, 2.5}, {9, 5}}}
	var cubic interp.FritschButland
	require.NoError(t, cubic.Fit([]float64{0, 2, 9}, []float64{0, 2.5, 5}))
	x, walked := 0.0, 0.0
	for step := 1e-5; walked < 5; x += step {
		walked += math.Hypot(step, cubic.Predict(x+step)-cubic.Predict(x))
	}
	require.InDelta(t, math.Atan2(cubic.Predict(x), x)*180/math.Pi, bent.InclinationDeg(), 1e-4)
	lines := math.Atan2(2.5+2.5*(5-math.Hypot(2, 2.5))/math.Hypot(7, 2.5), 2+7*(5-math.Hypot(2, 2.5))/math.Hypot(7, 2.5)) * 180 / math.Pi
	require.Greater(t, math.Abs(lines-bent.InclinationDeg()), 0.3, "the difference matters")
	short := casefile.CondylarPath{PointsMM: [][2]float64{{0, 0}, {1, 1}}}
	require.InDelta(t, 45, short.InclinationDeg(), 1e-12)
	require.Zero(t, (&casefile.CondylarPath{}).InclinationDeg())
}

func TestPaths(t *testing.T) {
	c := casefile.Case{Dir: "cases"}
	require.Equal(t, filepath.Join("cases", "scans", "u.stl"), c.Path("scans/u.stl"))
	abs, err := filepath.Abs("u.stl")
	require.NoError(t, err)
	require.Equal(t, abs, c.Path(abs))
}

func TestReadFiles(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "case.yaml")
	put := func(name, text string) {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666))
	}
	put("case.yaml", "upper: {scan: upper.stl, labels: upper.json}\nlower: {scan: lower.stl}\n")
	put("upper.stl", "x")
	put("lower.stl", "x")
	put("upper.json", "x")
	c, w, err := casefile.Read(path)
	require.NoError(t, err)
	require.Empty(t, w)
	require.Equal(t, dir, c.Dir)

	fails := func(path, want string, kind error) {
		t.Helper()
		c, w, err := casefile.Read(path)
		require.EqualError(t, err, want)
		require.ErrorIs(t, err, kind)
		require.True(t, faults.In(err))
		require.Nil(t, c)
		require.Nil(t, w)
	}
	fails(dir, dir+": cannot read: must be a file, not a folder", casefile.ErrFile)
	_, _, err = casefile.Read(filepath.Join(dir, "none.yaml"))
	require.ErrorIs(t, err, fs.ErrNotExist)
	require.ErrorIs(t, err, casefile.ErrFile)
	require.True(t, strings.HasPrefix(err.Error(), filepath.Join(dir, "none.yaml")+": cannot read: "), err)

	put("case.yaml", "upper: {scan: uper.stl}\nlower: {scan: low/lower.stl, labels: .}\n")
	_, _, err = casefile.Read(path)
	require.ErrorIs(t, err, fs.ErrNotExist)
	require.ErrorContains(t, err, path+":1:15: upper.scan: cannot read: \"uper.stl\": ")
	require.ErrorContains(t, err, `; did you mean "upper.stl"?`)
	require.ErrorContains(t, err, path+":2:15: lower.scan: cannot read: \"low/lower.stl\": ")
	require.ErrorContains(t, err, path+`:2:38: lower.labels: cannot read: ".": must be a file, not a folder`)

	put("case.yaml", strings.Repeat("#", 1<<18+1))
	fails(path, path+": not a case file: more than 262144 bytes, a case file has at most as many", casefile.ErrSyntax)
	_, _, err = casefile.Parse("c.yaml", make([]byte, 1<<18+1))
	require.ErrorIs(t, err, casefile.ErrSyntax)
	put("case.yaml", "")
	fails(path, path+": not a case file: the file is empty, it must at least name the scans: upper: {scan: …} and "+
		"lower: {scan: …}", casefile.ErrSyntax)
}

// Texts on which a YAML parser could spend minutes are refused before it runs.
func TestMonsters(t *testing.T) {
	for _, text := range []string{
		strings.Repeat("a: 1\n", 10_000),
		"a: {" + strings.Repeat("a,", 50_000) + "}",
		strings.Repeat("[", 50_000),
		strings.Repeat("- ", 50_000),
		strings.Repeat("!a\n", 50_000),
		"\n" + strings.Repeat("{a: ", 5_000),
	} {
		_, _, err := casefile.Parse("c.yaml", []byte(text))
		require.ErrorIs(t, err, casefile.ErrSyntax)
		require.Less(t, len(err.Error()), 200)
	}
}

func TestLongTextsAreShortened(t *testing.T) {
	long := strings.Repeat("k", 5000)
	for _, text := range []string{long + ": 1\n" + scans, scans + "settle: " + long, scans + "units: " + long,
		scans + "restore: [" + long + "]", scans + "settings: *" + long, scans + "foils_um: [" + long + "]"} {
		_, _, err := casefile.Parse("c.yaml", []byte(text))
		require.Error(t, err)
		require.Less(t, len(err.Error()), 400, err)
	}
}

// A fault can be taken apart by programs.
func TestFaultFields(t *testing.T) {
	_, _, err := casefile.Parse("c.yaml", []byte(scans+"settings:\n  right: {condylar_inclination_deg: 200}\n"))
	var f *casefile.Fault
	require.ErrorAs(t, err, &f)
	require.Equal(t, "c.yaml", f.File)
	require.Equal(t, []int{4, 37}, []int{f.Line, f.Column})
	require.Equal(t, "settings.right.condylar_inclination_deg", f.Key)
	require.ErrorIs(t, f, casefile.ErrRange)
}

func TestCheck(t *testing.T) {
	c := withScans()
	w, err := c.Check()
	require.NoError(t, err)
	require.Empty(t, w)
	c.Settings.IntercondylarMM = 145
	w, err = c.Check()
	require.NoError(t, err)
	require.Equal(t, []casefile.Warning{{Key: "settings.intercondylar_mm", Text: "145 is unusual, usual is 90 to 140 mm"}}, w)
	require.Equal(t, "settings.intercondylar_mm: 145 is unusual, usual is 90 to 140 mm", w[0].String())
	text, err := json.Marshal(w[0])
	require.NoError(t, err)
	require.Equal(t, `{"key":"settings.intercondylar_mm","text":"145 is unusual, usual is 90 to 140 mm"}`, string(text))

	nan := math.NaN()
	for want, change := range map[string]func(c *casefile.Case){
		"upper.scan: wrong value: an empty text, must say something": func(c *casefile.Case) { c.Upper.Scan = "" },
		"settings.intercondylar_mm: out of range: NaN, must be a " +
			"finite number": func(c *casefile.Case) { c.Settings.IntercondylarMM = nan },
		"settings.intercondylar_mm: out of range: +Inf, must be a " +
			"finite number": func(c *casefile.Case) { c.Settings.IntercondylarMM = math.Inf(1) },
		"mount: does not fit: 0 mountings, must be exactly one of average, " +
			"recorded or matrix": func(c *casefile.Case) { c.Mount = casefile.Mount{} },
		"settings.guidance.opening_deg: does not fit: has no meaning with by: " +
			"teeth, must be 0": func(c *casefile.Case) { c.Settings.Guidance.OpeningDeg = 3 },
		`settings.guidance.by: wrong value: "", must be teeth, table or free`: func(c *casefile.Case) { c.Settings.Guidance = casefile.Guidance{OpeningDeg: 3} },
		`settle: wrong value: "", must be seat, lift or none`:                 func(c *casefile.Case) { c.Settle.How = "" },
		"units: wrong value: unit of length: unknown unit 0":                  func(c *casefile.Case) { c.Units = 0 },
		"restore[0]: wrong value: not a tooth: 19, the permanent teeth of a quadrant " +
			"are 11 to 18": func(c *casefile.Case) { c.Restore = []dentition.ToothID{19} },
		"record.foil.00: wrong value: not a tooth: 00 is the whole mouth": func(c *casefile.Case) {
			c.Record = &casefile.Record{FoilUm: 8, Foil: map[dentition.ToothID]casefile.Hold{0: "holds"}}
		},
		`record.foil.16: wrong value: "hold", must be holds, light_drag or passes; did you mean holds?`: func(c *casefile.Case) {
			c.Record = &casefile.Record{FoilUm: 8, Foil: map[dentition.ToothID]casefile.Hold{16: "hold"}}
		},
		"record.foil_um: out of range: 0, must be above 0 and at most 1000 µm": func(c *casefile.Case) { c.Record = &casefile.Record{} },
		"record.marks.left[0]: wrong value: not a mark: no tooth": func(c *casefile.Case) {
			c.Record = &casefile.Record{FoilUm: 8, Marks: casefile.Marks{Left: make([]casefile.Mark, 1)}}
		},
		"excursions: out of range: an empty list, must hold at least 1": func(c *casefile.Case) { c.Excursions = nil },
		"settings.intercondylar_mm: does not fit: 110, must be the distance of the recorded condyles, 100 mm": func(c *casefile.Case) {
			c.Mount = casefile.Mount{Recorded: &casefile.Recorded{RightCondyle: casefile.Point{-50},
				LeftCondyle: casefile.Point{50}, ReferencePoint: casefile.Point{0, -80}}}
		},
		"settings.left.condylar_inclination_deg: does not fit: 33, must be that of the first 5 mm of the recorded " +
			"path, 45 degrees": func(c *casefile.Case) {
			c.Settings.Left.Path = &casefile.CondylarPath{PointsMM: [][2]float64{{0, 0}, {9, 9}}}
		},
		`name: wrong value: "\xff" is not UTF-8`: func(c *casefile.Case) { c.Name = "\xff" },
	} {
		c := withScans()
		change(c)
		_, err := c.Check()
		require.EqualError(t, err, want)
		var b bytes.Buffer
		require.EqualError(t, casefile.Write(&b, c), "the case is not fit to be written: "+want)
		require.Zero(t, b.Len())
	}
}

func TestMarks(t *testing.T) {
	for text, want := range map[string]casefile.Mark{"13/43": {Upper: 13, Lower: 43}, "55/85": {Upper: 55, Lower: 85},
		"13": {Upper: 13}, "43": {Lower: 43}} {
		m, err := casefile.ParseMark(text)
		require.NoError(t, err)
		require.Equal(t, want, m)
		require.Equal(t, text, m.String())
	}
	for _, text := range []string{"43/13", "13/23", "43/33", "/43", "13/", "", "13/43/44", "13-43", "19/43", "00"} {
		_, err := casefile.ParseMark(text)
		require.Error(t, err, text)
	}
	_, err := json.Marshal(casefile.Mark{Upper: 43})
	require.ErrorIs(t, err, casefile.ErrMark)
}

func TestMarksOfMovementsThatAreNotExamined(t *testing.T) {
	const text = "upper: {scan: u.stl}\nlower: {scan: l.stl}\nexcursions:\n  - {movement: right}\nrecord:\n  marks:\n " +
		"   right: [13/43]\n    left: []\n"
	_, warnings, err := casefile.Parse("case.yaml", []byte(text))
	require.NoError(t, err)
	require.Len(t, warnings, 1)
	require.Equal(t, "case.yaml:8:11: record.marks.left: not compared: the movement is not among the excursions",
		"case.yaml:"+warnings[0].String())
}
