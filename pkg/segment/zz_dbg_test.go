package segment

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/cusptrace/cusptrace/internal/archnet"
	"github.com/cusptrace/cusptrace/pkg/dentition"
)

func TestZZ(t *testing.T) {
	for _, name := range strings.Fields(os.Getenv("ZZ")) {
		jaw := dentition.Upper
		if strings.HasSuffix(name, "L") {
			jaw = dentition.Lower
		}
		m, truth := readAnnotated(t, filepath.Join("/tmp/scans", name+".ply"), jaw)
		s := newSurface(m)
		net, _ := archnet.New()
		p, err := s.see(context.Background(), net)
		if err != nil {
			t.Log(err)
			continue
		}
		line, _ := p.middleLine()
		r := newRow(p, line, jaw, nil)
		found := r.read()
		t.Logf("%s cost %.1f", name, found.cost)
		// truth by pixel
		tp := map[int]dentition.ToothID{}
		for i, c := range m.All() {
			q := p.at(m.Vertices()[c[0]])
			if k := index(q.X, q.Y); k >= 0 && q.Z > p.height[k]-.7 && truth[i] != 0 {
				tp[k] = truth[i]
			}
		}
		for _, x := range found.teeth {
			n := position(x.place)
			cnt := map[dentition.ToothID]int{}
			for k, b := range r.of {
				if b >= int32(x.start) && b < int32(x.end) && tp[k] != 0 {
					cnt[tp[k]]++
				}
			}
			mass := r.mass[x.end] - r.mass[x.start]
			t.Logf("  %v %.1f-%.1f w %.1f mass %.0f ev %.2f borders %.1f %.1f truth %v", toothAt(jaw, x.place), float64(x.start)*bin, float64(x.end)*bin, float64(x.end-x.start)*bin, mass, (r.evidence[n][x.end]-r.evidence[n][x.start])/mass, r.border(x.start), r.border(x.end), cnt)
		}
	}
}
