package articulate_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/articulate"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/stretchr/testify/require"
)

// realScan reads one arch of a person, nil where there is none, with the teeth found on it. The
// scans carry no licence and are no part of the project; see docs/finding-teeth.md.
func realScan(t *testing.T, dir string, person int, jaw dentition.Jaw) *casts.Scan {
	path := filepath.Join(dir, fmt.Sprintf("%03d_%c.ply", person, "UL"[jaw-dentition.Upper]))
	if _, err := os.Stat(path); err != nil {
		return nil
	}
	raw, err := meshfile.ReadFile(path, meshfile.ReadOptions{Unit: mesh.Millimetre})
	require.NoError(t, err)
	m, _ := mesh.Weld(raw, 0)
	return &casts.Scan{Mesh: m}
}

// TestRealPairs counts how many pairs of arches of one person, and of two, are put together
// (CUSPTRACE_REALSCANS and CUSPTRACE_PERSONS as for package segment, with every fourth person).
func TestRealPairs(t *testing.T) {
	dir := os.Getenv("CUSPTRACE_REALSCANS")
	if dir == "" {
		t.Skip("CUSPTRACE_REALSCANS names no folder of real scans")
	}
	first, last := 1, 999
	if s := os.Getenv("CUSPTRACE_PERSONS"); s != "" {
		_, err := fmt.Sscanf(s, "%d-%d", &first, &last)
		require.NoError(t, err)
	}
	type person struct {
		number       int
		upper, lower *casts.Scan
	}
	var list []person
	for n := first; n <= min(last, 99); n++ {
		u, l := realScan(t, dir, n, dentition.Upper), realScan(t, dir, n, dentition.Lower)
		if u != nil && l != nil {
			list = append(list, person{n, u, l})
		}
	}
	const step = 4
	var found [2]int
	pairs := 0
	for i := 0; i < len(list); i += step {
		p := list[i]
		other := list[(i+1)%len(list)]
		pairs++
		for k, lower := range [2]*casts.Scan{p.lower, other.lower} {
			require.NoError(t, occlusion.FindTeeth(context.Background(), p.upper, lower))
			a, err := articulate.Articulate(context.Background(), p.upper, lower, articulate.Options{})
			var none *articulate.NoFitError
			switch {
			case err == nil:
				found[k]++
				t.Logf("%03d %s: accepted, strength %.2f, error %.2f and %.2f mm", p.number, [2]string{"own", "another's"}[k],
					a.Strength, a.ErrorFrontMM, a.ErrorMolarsMM)
			case errors.As(err, &none):
				t.Logf("%03d %s: %s", p.number, [2]string{"own", "another's"}[k], none.Reason)
			default:
				t.Logf("%03d %s: %v", p.number, [2]string{"own", "another's"}[k], err)
			}
		}
	}
	t.Logf("%d pairs: of one person %d accepted, of two %d", pairs, found[0], found[1])
}
