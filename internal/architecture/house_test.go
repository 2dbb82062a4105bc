package architecture

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/internal/golden"
)

// imports is the import graph of the packages of this module, without their tests.
func imports(t *testing.T) map[string][]string {
	t.Helper()
	graph := map[string][]string{}
	sources(t, func(pkg, path string) {
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		require.NoError(t, err)
		if graph[pkg] == nil {
			graph[pkg] = []string{}
		}
		for _, im := range f.Imports {
			p, err := strconv.Unquote(im.Path.Value)
			require.NoError(t, err)
			if own, ok := strings.CutPrefix(p, module); ok && !slices.Contains(graph[pkg], own) {
				graph[pkg] = append(graph[pkg], own)
			}
		}
	})
	return graph
}

// sources calls with every Go file under pkg, internal and cmd that is no test.
func sources(t *testing.T, with func(pkg, path string)) {
	t.Helper()
	root := filepath.Join("..", "..")
	for _, top := range []string{"pkg", "internal", "cmd"} {
		err := filepath.WalkDir(filepath.Join(root, top), func(path string, d fs.DirEntry, err error) error {
			if err != nil {
				return err
			}
			if d.IsDir() && (d.Name() == "testdata" || d.Name() == "node_modules") {
				return filepath.SkipDir
			}
			if d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
				return nil
			}
			pkg, err := filepath.Rel(root, filepath.Dir(path))
			if err != nil {
				return err
			}
			with(filepath.ToSlash(pkg), path)
			return nil
		})
		require.NoError(t, err)
	}
}

// No arrow of the table is left over from a package that once used it.
func TestEveryArrowIsUsed(t *testing.T) {
	graph := imports(t)
	for pkg, may := range allowed {
		if may == nil {
			continue
		}
		require.Contains(t, graph, pkg, "%s is in the table and nowhere else", pkg)
		for _, p := range may {
			assert.Contains(t, graph[pkg], p, "%s no longer imports %s: take it out of the table", pkg, p)
		}
	}
}

// The house of DEVELOPERS.md is drawn from the imports: the public packages by floors,
// each with those that it stands on. An arrow that follows from others is left out.
func TestGoldenHouse(t *testing.T) {
	graph := imports(t)
	// What a package reaches through rooms that are not public counts as its own.
	var reach func(p string, seen map[string]bool)
	reach = func(p string, seen map[string]bool) {
		for _, q := range graph[p] {
			if !seen[q] {
				seen[q] = true
				reach(q, seen)
			}
		}
	}
	public := func(p string) bool {
		return p == "cmd/cusptrace" || p == "internal/cli" || strings.HasPrefix(p, "pkg/") && !strings.Contains(p, "internal")
	}
	below := map[string]map[string]bool{}
	for p := range graph {
		if public(p) {
			below[p] = map[string]bool{}
			reach(p, below[p])
		}
	}
	floor := map[string]int{}
	var height func(p string) int
	height = func(p string) int {
		if h, ok := floor[p]; ok {
			return h
		}
		h := 0
		for q := range below[p] {
			if public(q) {
				h = max(h, 1+height(q))
			}
		}
		floor[p] = h
		return h
	}
	top := 0
	for p := range below {
		top = max(top, height(p))
	}
	short := func(p string) string { return strings.TrimPrefix(p, "pkg/") }
	var b strings.Builder
	for f := top; f >= 0; f-- {
		var row []string
		for p := range below {
			if floor[p] == f {
				row = append(row, p)
			}
		}
		slices.Sort(row)
		for _, p := range row {
			var on []string
			for q := range below[p] {
				direct := public(q)
				for r := range below[p] {
					direct = direct && !(public(r) && below[r][q])
				}
				if direct {
					on = append(on, short(q))
				}
			}
			slices.Sort(on)
			line := fmt.Sprintf("%2d  %-14s", f, short(p))
			if len(on) > 0 {
				line += " ──► " + strings.Join(on, ", ")
			}
			fmt.Fprintln(&b, strings.TrimRight(line, " "))
		}
	}
	doc, err := os.ReadFile(filepath.Join("..", "..", "DEVELOPERS.md"))
	require.NoError(t, err)
	const begin, end = "<!-- the house -->\n```\n", "```\n"
	before, after, found := strings.Cut(string(doc), begin)
	require.True(t, found)
	_, after, found = strings.Cut(after, end)
	require.True(t, found)
	golden.New(filepath.Join("..", "..")).Check(t, "DEVELOPERS.md", before+begin+b.String()+end+after)
}

// Every public package has an example of the whole of it.
func TestEveryPublicPackageHasAnExample(t *testing.T) {
	for pkg := range imports(t) {
		if !strings.HasPrefix(pkg, "pkg/") || strings.Contains(pkg, "internal") {
			continue
		}
		tests, err := filepath.Glob(filepath.Join("..", "..", filepath.FromSlash(pkg), "*_test.go"))
		require.NoError(t, err)
		shown := false
		for _, path := range tests {
			f, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
			require.NoError(t, err)
			for _, d := range f.Decls {
				fn, ok := d.(*ast.FuncDecl)
				shown = shown || ok && strings.HasPrefix(fn.Name.Name, "Example")
			}
		}
		assert.True(t, shown, "%s has no example", pkg)
	}
}

// Results do not go through functions whose last bit depends on the processor.
func TestResultsAreTheSameOnProcessors(t *testing.T) {
	sources(t, func(pkg, path string) {
		if strings.HasPrefix(pkg, "internal/peers") || strings.HasPrefix(pkg, "internal/test") || pkg == "internal/faultkit" ||
			pkg == "internal/hiddenfaults" || pkg == "internal/archnet/train" {
			return
		}
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
		require.NoError(t, err)
		for _, im := range f.Imports {
			require.NotContains(t, []string{`"gonum.org/v1/gonum/mat"`, `"gonum.org/v1/gonum/blas"`}, im.Path.Value, path)
		}
		ast.Inspect(f, func(n ast.Node) bool {
			s, ok := n.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			if p, ok := s.X.(*ast.Ident); ok && p.Name == "math" {
				require.NotContains(t, []string{"Exp", "Exp2", "Expm1", "Log", "Log2", "Log10", "Log1p", "Pow", "Sinh", "Cosh", "Tanh", "Gamma"},
					s.Sel.Name, "%s uses math.%s; see internal/portable", path, s.Sel.Name)
			}
			return true
		})
	})
}
