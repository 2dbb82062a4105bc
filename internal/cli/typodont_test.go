package cli_test

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/cusptrace/cusptrace/pkg/report"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Flags that ask for what cannot be made end with code 2, say what would do, and
// write nothing, not even the folder.
func TestTypodontBadFlags(t *testing.T) {
	for flags, says := range map[string]string{
		"--triangles 19999":                                  "must be 20000 to 1000000",
		"--triangles -5":                                     "must be 20000 to 1000000",
		"--triangles many":                                   "--triangles",
		"--overjet 7":                                        "must be 2 to 3",
		"--overbite NaN":                                     "must be 2.4 to 3.6",
		"--overjet 2 --overbite 3.6":                         "do not fit",
		"--seed -1":                                          "--seed",
		"--disturb":                                          "--disturb",
		"--disturb crowd,tooth=31":                           "there are raise, drift",
		"--disturb raise":                                    "needs a tooth",
		"--disturb raise,tooth=18":                           "needs a tooth",
		"--disturb raise,tooth=16,cusp=distal":               `no cusp "distal"`,
		"--disturb raise,tooth=16,um=5000":                   "at most 600",
		"--disturb raise,tooth=16,size=3":                    "there are tooth, cusp",
		"--disturb tip,tooth=16,degrees=steep":               "no number",
		"--disturb facet,tooth=46":                           "needs a movement",
		"--disturb interference,tooth=47,movement=left,mm=9": "at most 3.5",
		"--disturb flat_canine,tooth=14":                     "13 and 23",
	} {
		t.Run(flags, func(t *testing.T) {
			parent := t.TempDir()
			code, stdout, stderr := run(t, append([]string{"typodont", "-o", filepath.Join(parent, "new", "casts")}, strings.Fields(flags)...)...)
			require.Equal(t, 2, code, stderr)
			require.Empty(t, stdout)
			require.Contains(t, stderr, says)
			require.Equal(t, []string{""}, listing(t, parent), "nothing is written")
		})
	}
}

// contents reads the files of a folder.
func contents(t testing.TB, dir string) map[string]string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	out := map[string]string{}
	for _, e := range entries {
		b, err := os.ReadFile(filepath.Join(dir, e.Name()))
		require.NoError(t, err)
		out[e.Name()] = string(b)
	}
	return out
}

// The same flags give the same bytes, in a new folder and over the old one;
// another seed gives other scans.
func TestTypodontTwice(t *testing.T) {
	parent := t.TempDir()
	cast := func(name, seed string) map[string]string {
		dir := filepath.Join(parent, name)
		code, stdout, stderr := run(t, "typodont", "-o", dir, "--triangles", "20000", "--seed", seed, "--disturb",
			"noise,um=10", "--disturb", "facet,tooth=46,movement=right", "--disturb", "drift,tooth=25,mm=0.4")
		require.Zero(t, code, stderr)
		require.Empty(t, stderr)
		require.Contains(t, stdout, "cusptrace examine "+filepath.Join(dir, typodont.CaseFile))
		return contents(t, dir)
	}
	first, second, again, other := cast("one", "4"), cast("two", "4"), cast("one", "4"), cast("one", "5")
	require.Len(t, first, 7)
	for name, b := range first {
		assert.True(t, b == second[name], name)
		assert.True(t, b == again[name], name)
	}
	assert.False(t, first["upper.stl"] == other["upper.stl"])
}

// The demo writes its casts, their truth and all results, and the findings show
// what was built into the casts.
func TestDemoFindsWhatWasBuiltIn(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "demo")
	code, stdout, stderr := run(t, "demo", "-o", dir)
	require.Zero(t, code, stderr)
	require.Contains(t, stdout, "Demo (invented person)")
	readmeShows(t, stdout)
	names := listing(t, dir)
	for _, name := range report.Files {
		assert.Contains(t, names, "/"+name)
	}
	var truth struct {
		Expected []typodont.Expected `json:"expected"`
	}
	var f findings.Findings
	for name, to := range map[string]any{filepath.Join("casts", "truth.json"): &truth, "findings.json": &f} {
		b, err := os.ReadFile(filepath.Join(dir, name))
		require.NoError(t, err)
		require.NoError(t, json.Unmarshal(b, to))
	}
	require.NotNil(t, f.Doubt, "as examine does, the demo says how sure it is")
	require.Equal(t, occlusion.DefaultSamples, f.Doubt.Samples)
	expected := map[string]typodont.Expected{}
	for _, e := range truth.Expected {
		expected[e.Kind] = e
	}
	// The raised cusp: 26 on 36 meets first and holds the jaw open by the angle that
	// its lever gives; the overlap, across the slope it stands on, is less than
	// what it was raised.
	raised := expected["premature_contact"]
	assert.InEpsilon(t, raised.OpeningDeg, f.Centric.OpeningDeg, 0.01)
	require.NotEmpty(t, f.Centric.Contacts)
	for _, c := range f.Centric.Contacts {
		if c.FoilUm == 8 {
			assert.Equal(t, [2]findings.Part{26, 36}, [2]findings.Part{c.Upper, c.Lower})
		}
	}
	assert.InDelta(t, 0.65*raised.SizeUm, f.Settling.OverlapBeforeUm, 0.35*raised.SizeUm)

	// The obstacle on the nonworking side: it carries around its travel, as high
	// there as it was built.
	obstacle := expected["nonworking_interference"]
	x := findingOf(t, &f, "right", findings.KindNonworkingInterference)
	assert.Equal(t, [2]findings.Part{27, 37}, [2]findings.Part{x.Upper, x.Lower})
	assert.Less(t, x.FromMM, obstacle.TravelMM)
	assert.Greater(t, x.ToMM, obstacle.TravelMM)
	assert.InDelta(t, obstacle.TravelMM, x.AtMM, 0.1+1e-9)
	require.NotNil(t, x.HeightUm)
	assert.InEpsilon(t, obstacle.SizeUm, *x.HeightUm, 0.1)
	for _, frame := range movementOf(t, &f, "right").Frames {
		if math.Abs(frame.TravelMM-obstacle.TravelMM) < 1e-9 {
			assert.InDelta(t, obstacle.OpeningDeg, frame.OpeningDeg, 1e-3)
		}
	}

	// The short incisor: the other one guides alone.
	short := expected["uneven_protrusion"]
	assert.Equal(t, 31, short.Lower)
	assert.Equal(t, findings.Part(31), findingOf(t, &f, "protrusive", findings.KindUneven).Lower)
	// In protrusion the same obstacle carries too.
	in, all := expected["protrusive_interference"], movementOf(t, &f, "protrusive").Findings
	i := slices.IndexFunc(all, func(g findings.Finding) bool {
		return g.Kind == findings.KindProtrusiveInterference && g.Lower == findings.Part(in.Lower)
	})
	require.GreaterOrEqual(t, i, 0)
	assert.InDelta(t, in.FromMM, all[i].FromMM, 0.1+1e-9)
}

func movementOf(t *testing.T, f *findings.Findings, name findings.Movement) findings.Excursion {
	t.Helper()
	i := slices.IndexFunc(f.Excursions, func(e findings.Excursion) bool { return e.Movement == name })
	require.GreaterOrEqualf(t, i, 0, "no movement %s", name)
	return f.Excursions[i]
}

func findingOf(t *testing.T, f *findings.Findings, name findings.Movement, kind findings.Kind) findings.Finding {
	t.Helper()
	list := movementOf(t, f, name).Findings
	i := slices.IndexFunc(list, func(g findings.Finding) bool { return g.Kind == kind })
	require.GreaterOrEqualf(t, i, 0, "no %s in %s", kind, name)
	return list[i]
}

// readmeShows checks that what README.md shows of the demo, but for what it leaves out,
// is what the demo prints.
func readmeShows(t *testing.T, printed string) {
	t.Helper()
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	_, after, found := strings.Cut(string(readme), "```text\n")
	require.True(t, found)
	shown, _, found := strings.Cut(after, "```\n")
	require.True(t, found)
	folded := strings.Join(strings.Fields(printed), " ")
	// Entries are indented where they go on.
	shown = strings.NewReplacer("\n           ", " ", "\n     ", " ").Replace(shown)
	for line := range strings.Lines(shown) {
		for part := range strings.SplitSeq(line, "…") {
			require.Contains(t, folded, strings.Join(strings.Fields(part), " "))
		}
	}
}
