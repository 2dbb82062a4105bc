package cli_test

import (
	"bytes"
	"encoding/binary"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
)

// stlTriangle is the place of a triangle in a binary STL file.
func stlTriangle(i int) int { return 84 + 50*i }

// damage changes a file.
func damage(t testing.TB, path string, f func(b []byte) []byte) {
	t.Helper()
	b, err := os.ReadFile(path)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, f(b), 0o666))
}

// coordinate puts a number into the first corner of a triangle.
func coordinate(tri int, v float32) func([]byte) []byte {
	return func(b []byte) []byte {
		binary.LittleEndian.PutUint32(b[stlTriangle(tri)+12:], math.Float32bits(v))
		return b
	}
}

// replaceIn replaces a piece of a text file, which must be there.
func replaceIn(t testing.TB, path, old, new string) {
	t.Helper()
	damage(t, path, func(b []byte) []byte {
		require.Contains(t, string(b), old)
		return []byte(strings.Replace(string(b), old, new, 1))
	})
}

// moved writes a scan anew, moved.
func moved(t testing.TB, path string, f func(r3.Vec) r3.Vec) {
	t.Helper()
	m, err := meshfile.ReadFile(path, meshfile.ReadOptions{Unit: mesh.Millimetre})
	require.NoError(t, err)
	require.NoError(t, meshfile.WriteFile(path, testmesh.Moved(m, f), nil))
}

// Bad input ends in a message that names file and place and says what would
// do, with code 2 and nothing written.
func TestBadInput(t *testing.T) {
	for name, c := range map[string]struct {
		edit   func(*casefile.Case)           // changes the case file before it is written
		damage func(t testing.TB, dir string) // changes the files
		args   func(dir string) []string      // instead of examine case.yaml -o out
	}{
		"case-missing": {damage: func(t testing.TB, dir string) { require.NoError(t, os.Remove(filepath.Join(dir, "case.yaml"))) }},
		"case-empty": {damage: func(t testing.TB, dir string) {
			require.NoError(t, os.WriteFile(filepath.Join(dir, "case.yaml"), nil, 0o666))
		}},
		"case-directory": {args: func(dir string) []string { return []string{"examine", dir, "-o", filepath.Join(dir, "out")} }},
		"case-is-a-scan": {args: func(dir string) []string {
			return []string{"examine", filepath.Join(dir, "upper.stl"), "-o", filepath.Join(dir, "out")}
		}},
		"scan-missing": {damage: func(t testing.TB, dir string) { require.NoError(t, os.Remove(filepath.Join(dir, "lower.stl"))) }},
		"scan-empty": {damage: func(t testing.TB, dir string) {
			require.NoError(t, os.WriteFile(filepath.Join(dir, "upper.stl"), nil, 0o666))
		}},
		"scan-directory": {edit: func(c *casefile.Case) { c.Upper.Scan = "." }},
		"stl-truncated": {damage: func(t testing.TB, dir string) {
			damage(t, filepath.Join(dir, "upper.stl"), func(b []byte) []byte { return b[:stlTriangle(100)+7] })
		}},
		"stl-count-bomb": {damage: func(t testing.TB, dir string) {
			damage(t, filepath.Join(dir, "upper.stl"), func(b []byte) []byte {
				binary.LittleEndian.PutUint32(b[80:], math.MaxUint32)
				return b
			})
		}},
		"stl-nan": {damage: func(t testing.TB, dir string) {
			damage(t, filepath.Join(dir, "lower.stl"), coordinate(17, float32(math.NaN())))
		}},
		"stl-infinite": {damage: func(t testing.TB, dir string) {
			damage(t, filepath.Join(dir, "lower.stl"), coordinate(17, float32(math.Inf(-1))))
		}},
		"obj-index-out-of-range": {
			edit: func(c *casefile.Case) { c.Lower = casefile.Arch{Scan: "lower.obj"} },
			damage: func(t testing.TB, dir string) {
				require.NoError(t, os.WriteFile(filepath.Join(dir, "lower.obj"), []byte("v 0 0 0\nv 60 0 0\nv 0 60 0\nf 1 2 3\nf 1 2 4\n"), 0o666))
			},
		},
		"ply-index-out-of-range": {
			edit: func(c *casefile.Case) { c.Lower = casefile.Arch{Scan: "lower.ply"} },
			damage: func(t testing.TB, dir string) {
				const ply = "ply\nformat ascii 1.0\nelement vertex 3\nproperty float x\nproperty float y\nproperty float " +
					"z\nelement face 1\nproperty list uchar int vertex_indices\nend_header\n0 0 0\n60 0 0\n0 60 0\n3 0 1 3\n"
				require.NoError(t, os.WriteFile(filepath.Join(dir, "lower.ply"), []byte(ply), 0o666))
			},
		},
		"ply-count-bomb": {
			edit: func(c *casefile.Case) { c.Lower = casefile.Arch{Scan: "lower.ply"} },
			damage: func(t testing.TB, dir string) {
				const ply = "ply\nformat binary_little_endian 1.0\nelement vertex 4000000000\nproperty float x\nproperty float " +
					"y\nproperty float z\nelement face 1\nproperty list uchar int vertex_indices\nend_header\n0000"
				require.NoError(t, os.WriteFile(filepath.Join(dir, "lower.ply"), []byte(ply), 0o666))
			},
		},
		"scans-in-metres": {damage: func(t testing.TB, dir string) {
			for _, jaw := range []string{"upper.stl", "lower.stl"} {
				moved(t, filepath.Join(dir, jaw), func(p r3.Vec) r3.Vec { return r3.Scale(1e-3, p) })
			}
		}},
		"swapped": {edit: func(c *casefile.Case) {
			c.Upper, c.Lower = casefile.Arch{Scan: c.Lower.Scan}, casefile.Arch{Scan: c.Upper.Scan}
		}},
		"swapped-labelled": {edit: func(c *casefile.Case) { c.Upper, c.Lower = c.Lower, c.Upper }},
		"swapped-scans":    {edit: func(c *casefile.Case) { c.Upper.Scan, c.Lower.Scan = c.Lower.Scan, c.Upper.Scan }},
		"swapped-matrix": {edit: func(c *casefile.Case) {
			c.Upper, c.Lower = casefile.Arch{Scan: c.Lower.Scan}, casefile.Arch{Scan: c.Upper.Scan}
			c.Mount = casefile.Mount{Matrix: &[16]float64{1, 0, 0, 0, 0, 1, 0, -50, 0, 0, 1, -35, 0, 0, 0, 1}}
		}},
		"matrix-turned-over": {edit: func(c *casefile.Case) {
			c.Mount = casefile.Mount{Matrix: &[16]float64{1, 0, 0, 0, 0, -1, 0, -50, 0, 0, -1, -35, 0, 0, 0, 1}}
		}},
		"apart-sideways": {damage: func(t testing.TB, dir string) {
			moved(t, filepath.Join(dir, "lower.stl"), func(p r3.Vec) r3.Vec { return r3.Add(p, r3.Vec{X: 100}) })
		}},
		"apart-upwards": {damage: func(t testing.TB, dir string) {
			moved(t, filepath.Join(dir, "upper.stl"), func(p r3.Vec) r3.Vec { return r3.Add(p, r3.Vec{Z: 100}) })
		}},
		"labels-missing": {damage: func(t testing.TB, dir string) { require.NoError(t, os.Remove(filepath.Join(dir, "upper.labels.json"))) }},
		"labels-too-short": {damage: func(t testing.TB, dir string) {
			damage(t, filepath.Join(dir, "lower.labels.json"), func(b []byte) []byte {
				return append(b[:bytes.LastIndexByte(b, ',')], "]}"...)
			})
		}},
		"labels-unknown-tooth": {damage: func(t testing.TB, dir string) {
			replaceIn(t, filepath.Join(dir, "upper.labels.json"), ",16,", ",19,")
		}},
		"labels-other-jaw": {damage: func(t testing.TB, dir string) {
			replaceIn(t, filepath.Join(dir, "upper.labels.json"), ",16,", ",46,")
		}},
		"restore-unknown-tooth": {damage: func(t testing.TB, dir string) {
			damage(t, filepath.Join(dir, "case.yaml"), func(b []byte) []byte { return append(b, "restore: [24, 29]\n"...) })
		}},
		"landmarks-on-a-line": {damage: func(t testing.TB, dir string) {
			replaceIn(t, filepath.Join(dir, "case.yaml"), "right_molar: [-27.957765579223633, -2.3157756328582764, 1.75]",
				"right_molar: [-27.9, -40.1, 2.85]")
			replaceIn(t, filepath.Join(dir, "case.yaml"), "left_molar: [27.957765579223633, -2.3157756328582764, 1.75]",
				"left_molar: [27.9, -39.9, 2.85]")
		}},
		"same-scan-twice": {
			edit: func(c *casefile.Case) { c.Upper.Labels = "" },
			damage: func(t testing.TB, dir string) {
				b, err := os.ReadFile(filepath.Join(dir, "lower.stl"))
				require.NoError(t, err)
				require.NoError(t, os.WriteFile(filepath.Join(dir, "upper.stl"), b, 0o666))
			},
		},
		"landmarks-exchanged": {edit: func(c *casefile.Case) {
			m := c.Mount.Average
			m.RightMolar, m.LeftMolar = m.LeftMolar, m.RightMolar
		}},
		"landmarks-none": {edit: func(c *casefile.Case) {
			c.Mount.Average = casefile.Default().Mount.Average
			c.Upper.Labels, c.Lower.Labels = "", ""
		}},
		"table-without-incisal-point": {edit: func(c *casefile.Case) {
			c.Mount = casefile.Mount{Matrix: &[16]float64{1, 0, 0, 0, 0, 1, 0, -50, 0, 0, 1, -35, 0, 0, 0, 1}}
			c.Lower.Labels = "" // on labels it would be found
			c.Settings.Guidance = casefile.Guidance{By: casefile.ByTable, InclinationDeg: 10}
		}},
		"condylar-inclination-200": {damage: func(t testing.TB, dir string) {
			replaceIn(t, filepath.Join(dir, "case.yaml"), "condylar_inclination_deg: 33", "condylar_inclination_deg: 200")
		}},
		"excursions-empty": {damage: func(t testing.TB, dir string) {
			damage(t, filepath.Join(dir, "case.yaml"), func(b []byte) []byte {
				before, after, found := strings.Cut(string(b), "excursions:\n")
				require.True(t, found)
				return []byte(before + "excursions: []\n" + after[strings.Index(after, "foils_um"):])
			})
		}},
		"unknown-key": {damage: func(t testing.TB, dir string) {
			replaceIn(t, filepath.Join(dir, "case.yaml"), "intercondylar_mm", "intercondyler_mm")
		}},
		"output-below-a-file": {args: func(dir string) []string {
			return []string{"examine", filepath.Join(dir, "case.yaml"), "-o", filepath.Join(dir, "upper.stl", "out")}
		}},
		"output-is-a-file": {args: func(dir string) []string {
			return []string{"examine", filepath.Join(dir, "case.yaml"), "-o", filepath.Join(dir, "upper.stl")}
		}},
		"output-in-proc": {args: func(dir string) []string {
			return []string{"examine", filepath.Join(dir, "case.yaml"), "-o", "/proc/cusptrace/out"}
		}},
		"output-is-proc": {args: func(dir string) []string { return []string{"examine", filepath.Join(dir, "case.yaml"), "-o", "/proc"} }},
		"output-name-taken": {
			damage: func(t testing.TB, dir string) {
				require.NoError(t, os.MkdirAll(filepath.Join(dir, "taken", "frames.csv"), 0o777))
			},
			args: func(dir string) []string {
				return []string{"examine", filepath.Join(dir, "case.yaml"), "-o", filepath.Join(dir, "taken")}
			},
		},
		"output-page-taken": {
			damage: func(t testing.TB, dir string) {
				require.NoError(t, os.MkdirAll(filepath.Join(dir, "taken", "report.html"), 0o777))
			},
			args: func(dir string) []string {
				return []string{"examine", filepath.Join(dir, "case.yaml"), "-o", filepath.Join(dir, "taken")}
			},
		},
		"typodont-below-a-file": {args: func(dir string) []string {
			return []string{"typodont", "--triangles", "20000", "-o", filepath.Join(dir, "upper.stl", "casts")}
		}},
		"typodont-disturbance": {args: func(dir string) []string {
			return []string{"typodont", "-o", filepath.Join(dir, "casts"), "--disturb", "raise,tooth=19,um=150"}
		}},
		"typodont-triangles": {args: func(dir string) []string {
			return []string{"typodont", "-o", filepath.Join(dir, "casts"), "--triangles", "10"}
		}},
		"demo-in-proc":      {args: func(dir string) []string { return []string{"demo", "-o", "/proc/cusptrace"} }},
		"inspect-missing":   {args: func(dir string) []string { return []string{"inspect", "--units", "mm", filepath.Join(dir, "uper.stl")} }},
		"inspect-directory": {args: func(dir string) []string { return []string{"inspect", "--units", "mm", dir} }},
		"inspect-no-scan": {args: func(dir string) []string {
			return []string{"inspect", "--units", "mm", filepath.Join(dir, "case.yaml")}
		}},
		"inspect-wrong-unit": {args: func(dir string) []string {
			return []string{"inspect", "--units", "inch", filepath.Join(dir, "upper.stl"), filepath.Join(dir, "lower.stl")}
		}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			dir, path := synthetic(t, c.edit)
			if c.damage != nil {
				c.damage(t, dir)
			}
			args := []string{"examine", path, "-o", filepath.Join(dir, "a", "out")}
			if c.args != nil {
				args = c.args(dir)
			}
			before := listing(t, dir)
			code, stdout, stderr := run(t, args...)
			require.Equal(t, 2, code, stderr)
			require.Empty(t, stdout)
			require.Equal(t, before, listing(t, dir), "nothing is written")
			files.Check(t, "bad-"+name+".txt", strings.ReplaceAll(stderr, dir, "DIR"))
		})
	}
}
