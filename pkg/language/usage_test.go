package language_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/pkg/language"
)

// usage is what the code and the templates of the module say.
type usage struct {
	fset     *token.FileSet
	keys     map[string]string // literals that look like keys, and where
	prefixes map[string]string // of keys that end in a value
	calls    []call
}

// call is a sentence that is said with names in place.
type call struct {
	key   string
	names []string
	where string
}

var (
	keyLike  = regexp.MustCompile(`^[a-z_]+(\.[a-z0-9_]+)*$`)
	fileLike = regexp.MustCompile(`\.(json|csv|html|css|js|glb|ply|png|go|txt|yaml|stl|obj)$`)
	inPage   = regexp.MustCompile(`say "([^"]+)"`)
)

// read gathers what the module says outside tests.
func read(t *testing.T) *usage {
	u := &usage{fset: token.NewFileSet(), keys: map[string]string{}, prefixes: map[string]string{}}
	root := filepath.Join("..", "..")
	require.NoError(t, filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && (d.Name() == "node_modules" || d.Name() == "testdata" || d.Name() == "tools" ||
			len(d.Name()) > 2 && d.Name()[0] == '.'):
			return filepath.SkipDir
		case strings.HasSuffix(path, ".html"):
			b, err := os.ReadFile(path)
			for _, m := range inPage.FindAllStringSubmatch(string(b), -1) {
				u.keys[m[1]] = path
			}
			return err
		case strings.HasSuffix(path, ".go") && !strings.HasSuffix(path, "_test.go"):
			f, err := parser.ParseFile(u.fset, path, nil, 0)
			if err != nil {
				return err
			}
			// Other files have keys of their own, those of the case file.
			if f.Name.Name == "language" || slices.ContainsFunc(f.Imports,
				func(i *ast.ImportSpec) bool { return strings.HasSuffix(i.Path.Value, `pkg/language"`) }) || strings.Contains(path, "report") {
				ast.Inspect(f, u.look)
			}
		}
		return nil
	}))
	return u
}

func literal(e ast.Expr) (string, bool) {
	l, ok := e.(*ast.BasicLit)
	if !ok || l.Kind != token.STRING {
		return "", false
	}
	s, err := strconv.Unquote(l.Value)
	return s, err == nil
}

func (u *usage) look(n ast.Node) bool {
	switch n := n.(type) {
	case *ast.BasicLit:
		if s, ok := literal(n); ok && keyLike.MatchString(s) && !fileLike.MatchString(s) {
			u.keys[s] = u.fset.Position(n.Pos()).String()
		}
	case *ast.BinaryExpr:
		if s, ok := literal(n.X); ok && n.Op == token.ADD && strings.HasSuffix(s, ".") && keyLike.MatchString(strings.TrimSuffix(s, ".")) {
			u.prefixes[s] = u.fset.Position(n.Pos()).String()
		}
	case *ast.CallExpr:
		u.call(n)
	}
	return true
}

// call notes a sentence whose names stand in the call.
func (u *usage) call(n *ast.CallExpr) {
	f, ok := n.Fun.(*ast.SelectorExpr)
	if !ok || f.Sel.Name != "Say" || len(n.Args) == 0 || len(n.Args) > 2 {
		return
	}
	key, ok := literal(n.Args[0])
	if !ok {
		return
	}
	c := call{key: key, where: u.fset.Position(n.Pos()).String()}
	if len(n.Args) == 2 {
		with, ok := n.Args[1].(*ast.CompositeLit)
		if !ok {
			return
		}
		for _, e := range with.Elts {
			name, _ := literal(e.(*ast.KeyValueExpr).Key)
			c.names = append(c.names, name)
		}
	}
	u.calls = append(u.calls, c)
}

// Every sentence of the catalogue is said somewhere, and what is said is there.
func TestCatalogueIsWhatIsSaid(t *testing.T) {
	u := read(t)
	en := language.English()
	first := map[string]bool{}
	for _, k := range en.Keys() {
		s, _, _ := strings.Cut(k, ".")
		first[s] = true
		i := strings.LastIndex(k, ".") + 1
		if _, ok := u.keys[k]; !ok {
			require.Contains(t, u.prefixes, k[:i], "nothing says %s", k)
		}
	}
	for k, where := range u.keys {
		if s, _, nested := strings.Cut(k, "."); nested && first[s] {
			require.True(t, en.Has(k), "%s says %s, which the catalogue lacks", where, k)
		}
	}
}

// A sentence is given the names that its template has: all that are not optional.
func TestSentencesAreGivenTheirNames(t *testing.T) {
	u := read(t)
	en := language.English()
	require.Greater(t, len(u.calls), 50)
	for _, c := range u.calls {
		if !en.Has(c.key) {
			continue // the test above tells
		}
		known := en.Placeholders(c.key)
		for _, n := range c.names {
			require.Contains(t, known, n, "%s gives %s a name that its template lacks", c.where, c.key)
		}
		text := en.Write(language.Say(c.key, values(c.names)), 0)
		for _, n := range known {
			require.False(t, !slices.Contains(c.names, n) && strings.Contains(text, "{"+n+"}"), "%s gives %s no %s", c.where, c.key, n)
		}
	}
}

func values(names []string) language.With {
	with := language.With{}
	for _, n := range names {
		with[n] = 2
	}
	return with
}
