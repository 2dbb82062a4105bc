// Package architecture holds the test that imports go one way.
package architecture

import (
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

const module = "github.com/cusptrace/cusptrace/"

// allowed lists, for each package that other programs may import, the packages
// of this module that it may import. DEVELOPERS.md draws the same picture.
var allowed = map[string][]string{
	"pkg/mesh":          {},
	"pkg/mesh/meshfile": {"internal/atomicfile", "internal/inputfile", "internal/plaintext", "pkg/mesh"},
	"pkg/mesh/inspect":  {"pkg/mesh", "internal/geom", "internal/normal", "internal/portable"},
	"pkg/mesh/index":    {"pkg/mesh", "internal/bvh", "internal/geom", "internal/surftree"},
	"pkg/kinematics":    {},
	"pkg/contact": {"pkg/mesh", "pkg/mesh/index", "pkg/kinematics", "internal/bvh", "internal/geom",
		"internal/par", "internal/surftree"},
	"pkg/dentition": {"pkg/mesh", "internal/faults"},
	"pkg/anatomy":   {"pkg/mesh", "pkg/dentition", "internal/geom", "internal/normal"},
	"pkg/segment": {"pkg/mesh", "pkg/mesh/inspect", "pkg/dentition", "internal/archnet", "internal/geom",
		"internal/mincut", "internal/par", "internal/portable"},
	"pkg/facet":    {"pkg/mesh", "pkg/dentition", "pkg/anatomy", "internal/geom", "internal/par"},
	"pkg/casefile": {"pkg/mesh", "pkg/kinematics", "pkg/dentition", "internal/faults", "internal/inputfile", "internal/plaintext"},
	"pkg/findings": {"internal/packed", "pkg/kinematics", "pkg/dentition", "pkg/casefile", "pkg/language"},
	"pkg/casts": {"pkg/language",
		"pkg/anatomy", "pkg/casefile", "pkg/contact", "pkg/dentition", "pkg/findings",
		"pkg/kinematics", "pkg/mesh", "pkg/mesh/index", "pkg/mesh/inspect", "internal/par", "internal/normal",
	},
	"pkg/settle": {"pkg/language", "pkg/mesh", "pkg/mesh/index", "pkg/kinematics", "pkg/contact", "pkg/dentition",
		"pkg/casefile", "pkg/findings", "pkg/casts", "internal/par", "internal/qp"},
	"pkg/articulate": {"pkg/mesh", "pkg/mesh/inspect", "pkg/kinematics", "pkg/contact",
		"pkg/dentition", "pkg/anatomy", "pkg/casefile", "pkg/findings", "pkg/casts", "pkg/settle",
		"internal/interlock", "internal/qp", "internal/portable"},
	"internal/interlock": {"pkg/mesh", "pkg/mesh/index", "pkg/kinematics", "pkg/dentition", "internal/geom",
		"internal/par", "internal/qp", "internal/normal"},
	"pkg/yield": {"pkg/kinematics", "pkg/contact", "pkg/dentition", "pkg/casefile", "pkg/findings", "pkg/casts",
		"pkg/settle", "internal/qp", "internal/portable"},
	"pkg/occlusion/internal/frames": {"pkg/language",
		"pkg/anatomy", "pkg/casefile", "pkg/casts", "pkg/contact", "pkg/dentition", "pkg/findings",
		"pkg/kinematics", "pkg/mesh", "internal/par",
	},
	"pkg/occlusion/internal/judge": {"pkg/language",
		"pkg/anatomy", "pkg/casefile", "pkg/casts", "pkg/contact", "pkg/dentition", "pkg/findings",
		"pkg/kinematics", "pkg/occlusion/internal/frames",
	},
	"pkg/occlusion/internal/measure": {"pkg/language",
		"pkg/anatomy", "pkg/casts", "pkg/dentition", "pkg/findings", "pkg/kinematics",
		"pkg/occlusion/internal/frames", "pkg/occlusion/internal/judge", "internal/par",
	},
	"pkg/occlusion/internal/mounting": {"pkg/language",
		"pkg/casefile", "pkg/contact", "pkg/dentition", "pkg/findings", "pkg/mesh",
		"pkg/occlusion/internal/stops",
	},
	"pkg/occlusion/internal/record": {"pkg/language",
		"pkg/casefile", "pkg/contact", "pkg/dentition", "pkg/findings", "pkg/occlusion/internal/frames", "pkg/occlusion/internal/judge",
		"pkg/occlusion/internal/stops",
	},
	"pkg/occlusion/internal/restore": {"pkg/language",
		"pkg/casts", "pkg/dentition", "pkg/findings", "pkg/kinematics",
		"pkg/occlusion/internal/frames", "pkg/occlusion/internal/judge",
	},
	"pkg/occlusion/internal/tissue": {"pkg/language",
		"pkg/casts", "pkg/contact", "pkg/dentition", "pkg/findings", "pkg/kinematics", "pkg/mesh", "pkg/occlusion/internal/frames",
	},
	"pkg/occlusion/internal/premature": {"pkg/language", "pkg/casefile", "pkg/settle",
		"pkg/casts", "pkg/contact", "pkg/dentition", "pkg/findings", "pkg/kinematics",
		"pkg/occlusion/internal/frames", "pkg/occlusion/internal/judge", "pkg/occlusion/internal/staircase",
	},
	"pkg/occlusion/internal/stops": {"pkg/language",
		"pkg/anatomy", "pkg/casefile", "pkg/casts", "pkg/contact", "pkg/dentition", "pkg/findings",
		"pkg/kinematics", "pkg/mesh", "pkg/occlusion/internal/frames",
	},
	"pkg/occlusion/internal/vary": {
		"pkg/contact", "pkg/findings", "pkg/kinematics", "pkg/occlusion/internal/frames",
		"pkg/occlusion/internal/judge", "internal/par",
	},
	"pkg/occlusion/internal/sampling": {"pkg/language",
		"pkg/anatomy", "pkg/casefile", "pkg/casts", "pkg/contact", "pkg/dentition", "pkg/findings", "pkg/kinematics", "pkg/mesh",
		"pkg/settle", "pkg/occlusion/internal/frames", "pkg/occlusion/internal/judge", "pkg/occlusion/internal/mounting",
		"pkg/mesh/index", "pkg/occlusion/internal/staircase", "internal/drift", "internal/faults", "internal/par",
		"internal/portable", "internal/qp", "internal/register", "internal/sobol",
	},
	"pkg/occlusion/internal/wear": {"pkg/language",
		"pkg/anatomy", "pkg/casts", "pkg/dentition", "pkg/facet", "pkg/findings", "pkg/kinematics",
		"pkg/occlusion/internal/frames", "pkg/occlusion/internal/judge", "internal/par",
	},
	"pkg/display": {"internal/par",
		"pkg/casts", "pkg/contact", "pkg/dentition", "pkg/findings", "pkg/kinematics", "pkg/mesh",
		"internal/simplify",
	},
	"pkg/occlusion": {"pkg/language",
		"pkg/casefile", "pkg/casts", "pkg/contact", "pkg/dentition", "pkg/findings", "pkg/kinematics",
		"pkg/mesh", "pkg/mesh/inspect", "pkg/mesh/meshfile", "pkg/occlusion/internal/frames",
		"pkg/occlusion/internal/judge", "pkg/occlusion/internal/measure", "pkg/occlusion/internal/premature", "pkg/occlusion/internal/tissue",
		"pkg/occlusion/internal/mounting", "pkg/occlusion/internal/record",
		"pkg/occlusion/internal/restore", "pkg/occlusion/internal/sampling", "pkg/occlusion/internal/stops",
		"pkg/occlusion/internal/vary", "pkg/occlusion/internal/wear", "pkg/segment", "pkg/settle",
		"pkg/yield", "internal/faults", "internal/inputfile", "internal/par",
	},
	"pkg/compare": {"pkg/findings"},
	"pkg/change": {"pkg/casts", "pkg/compare", "pkg/dentition", "pkg/findings", "pkg/mesh", "pkg/mesh/index", "internal/par",
		"internal/register"},
	"pkg/treatment": {"pkg/compare", "pkg/findings"},
	"pkg/trial": {"pkg/language", "pkg/anatomy", "pkg/casefile", "pkg/casts", "pkg/compare", "pkg/contact", "pkg/dentition",
		"pkg/findings", "pkg/kinematics", "pkg/mesh", "pkg/mesh/index", "pkg/occlusion", "pkg/treatment", "pkg/trial/internal/carve",
		"pkg/trial/internal/surface", "internal/par", "internal/register"},
	"pkg/trial/internal/carve": {"pkg/contact", "pkg/kinematics", "pkg/mesh", "pkg/mesh/index", "pkg/trial/internal/surface",
		"internal/cover"},
	"pkg/trial/internal/surface": {"pkg/casts", "pkg/dentition", "pkg/mesh"},
	"pkg/report": {
		"pkg/treatment", "pkg/compare",
		"internal/atomicfile", "pkg/language",
		"pkg/display", "pkg/findings", "pkg/dentition", "pkg/report/internal/page",
		"pkg/report/internal/picture", "pkg/report/internal/scene",
		"pkg/report/internal/tables", "pkg/report/internal/text", "pkg/report/internal/view", "pkg/report/internal/words",
	},
	"pkg/language":              {"pkg/dentition"},
	"pkg/report/internal/words": {"pkg/compare", "pkg/treatment", "pkg/language", "pkg/findings", "pkg/dentition"},
	"pkg/report/internal/text": {"internal/plaintext", "pkg/compare", "pkg/treatment", "pkg/language", "pkg/findings",
		"pkg/dentition", "pkg/report/internal/words"},
	"pkg/report/internal/tables": {"pkg/findings"},
	"pkg/report/internal/paint":  {},
	"pkg/report/internal/chart":  {"pkg/language", "pkg/findings", "pkg/dentition", "pkg/report/internal/paint", "pkg/report/internal/words"},
	"pkg/report/internal/plan":   {"pkg/display", "pkg/findings", "pkg/dentition", "pkg/mesh", "pkg/report/internal/words"},
	"pkg/report/internal/picture": {"pkg/language", "pkg/display", "pkg/findings", "pkg/dentition", "pkg/kinematics",
		"internal/par", "internal/raster", "pkg/report/internal/paint", "pkg/report/internal/words"},
	"pkg/report/internal/scene": {"pkg/display", "pkg/findings", "pkg/dentition", "pkg/kinematics", "pkg/mesh",
		"pkg/mesh/meshfile", "pkg/report/internal/paint", "pkg/report/internal/picture", "pkg/report/internal/plan",
		"pkg/report/internal/words", "internal/portable"},
	"pkg/report/internal/view": {"pkg/language", "pkg/display", "pkg/findings", "pkg/dentition", "pkg/kinematics",
		"pkg/mesh", "pkg/report/internal/paint", "pkg/report/internal/picture", "pkg/report/internal/words"},
	"pkg/report/internal/page": {"pkg/compare", "pkg/treatment",
		"pkg/language",
		"pkg/display", "pkg/findings", "pkg/casefile", "pkg/dentition", "pkg/report/internal/chart", "pkg/report/internal/plan",
		"pkg/report/internal/paint", "pkg/report/internal/picture",
		"pkg/report/internal/view", "pkg/report/internal/words",
	},
	"internal/surftree": {"pkg/mesh", "internal/bvh", "internal/par"},
	"internal/bvh":      {"internal/par"}, "internal/geom": {"internal/normal"}, "internal/par": {},
	"internal/normal": {}, "internal/portable": {}, "internal/plaintext": {}, "internal/faults": {"internal/plaintext"},
	"internal/qp": {}, "internal/cover": {}, "internal/sobol": {}, "internal/drift": {"internal/normal"},
	"internal/register": {"pkg/kinematics", "pkg/mesh", "pkg/mesh/index", "internal/geom", "internal/normal"},
	"internal/archnet":  {"internal/par"}, "internal/mincut": {}, "internal/simplify": {"pkg/mesh"},
	"internal/raster": {}, "internal/schema": {}, "internal/notices": {}, "internal/atomicfile": {"internal/plaintext"},
	"internal/inputfile": {}, "internal/notices/collect": {}, "internal/packed": {},
	// The rooms of the examination.
	"pkg/occlusion/internal/staircase": {"pkg/contact", "pkg/dentition", "pkg/findings", "pkg/kinematics", "pkg/mesh"},
	// The page on this machine does the work of the command, from the same packages.
	"internal/trialfiles": {"pkg/casefile", "pkg/casts", "pkg/display", "pkg/language", "pkg/mesh",
		"pkg/mesh/meshfile", "pkg/report", "pkg/trial"},
	"internal/serve": {"internal/atomicfile", "internal/interlock", "internal/par", "internal/simplify", "internal/trialfiles",
		"pkg/casefile", "pkg/dentition", "pkg/trial",
		"pkg/display", "pkg/findings", "pkg/kinematics", "pkg/language",
		"pkg/anatomy", "pkg/articulate", "pkg/mesh", "pkg/mesh/inspect", "pkg/mesh/meshfile", "pkg/occlusion", "pkg/report", "pkg/segment",
		"pkg/settle"},
	// The command and the makers of test data stand on top.
	"internal/cli": nil, "internal/typodont": nil, "internal/testmesh": nil, "internal/testcase": nil,
	"internal/testcast": nil, "internal/realcase": nil, "internal/faultkit": nil, "internal/mutate": {},
	"internal/hiddenfaults": nil, "internal/calibration": nil,
	"internal/mutants": {"internal/overlay"}, "internal/overlay": nil, "internal/sensitivity": {"internal/overlay"},
	"internal/golden": nil, "internal/peers": nil, "cmd/cusptrace": nil, "cmd/cusptrace-serve": nil,
}

func TestImportsGoOneWay(t *testing.T) {
	root := filepath.Join("..", "..")
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (strings.HasPrefix(d.Name(), "_") || d.Name() == "testdata" || d.Name() == "node_modules" ||
			(strings.HasPrefix(d.Name(), ".") && len(d.Name()) > 2)) {
			return filepath.SkipDir
		}
		if d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		rel, err := filepath.Rel(root, filepath.Dir(path))
		if err != nil {
			return err
		}
		pkg := filepath.ToSlash(rel)
		if strings.HasPrefix(pkg, "examples/") {
			return nil
		}
		may, known := allowed[pkg]
		if !known {
			for p := range allowed {
				if allowed[p] == nil && strings.HasPrefix(pkg, p+"/") {
					return nil // below a package that may import everything
				}
			}
		}
		require.True(t, known, "package %s is not in the table of this test", pkg)
		if may == nil {
			return nil
		}
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		for _, im := range f.Imports {
			p, err := strconv.Unquote(im.Path.Value)
			if err != nil {
				return err
			}
			if own, ok := strings.CutPrefix(p, module); ok {
				require.True(t, slices.Contains(may, own), "%s imports %s", path, own)
			}
		}
		return nil
	})
	require.NoError(t, err)
}
