package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

const sample = `package p

const most = 3

const share = 0.5

func f(a, b int, p *int) bool {
	if p == nil || a < 0 {
		return false
	}
	return a <= most && b != 1 // mutants: same, for the sake of the test
}
`

// Comparisons, logical operators and the numbers of constants are changed, each once; nil and
// marked lines are left alone.
func TestMutantsOfAFile(t *testing.T) {
	name, all, err := mutants("p.go", []byte(sample))
	require.NoError(t, err)
	require.Equal(t, "p", name)
	var got []string
	for _, m := range all {
		got = append(got, m.Old+" "+m.New)
		text := string(m.apply([]byte(sample)))
		require.NotEqual(t, sample, text)
		require.Equal(t, strings.Count(sample, "\n"), strings.Count(text, "\n"))
	}
	require.Equal(t, []string{"3 4", "0.5 0.55", "|| &&", "< <="}, got)
	_, _, err = mutants("p.go", []byte("package"))
	require.Error(t, err)
}

// A mark on a line may be of one operator.
func TestMarksOfWhatMeansTheSame(t *testing.T) {
	for line, want := range map[string]bool{
		"x >= 3": false, "x >= 3 // mutants: same, since it is": true, "x >= 3 // mutants: same >=: since it is": true,
		"x >= 3 && x < 9 // mutants: same <: since it is": false,
	} {
		require.Equal(t, want, same([]byte(line), ">="), line)
	}
}

// A change that tests notice is counted, one that they do not is named.
func TestSurvivorsAreNamed(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600))
	}
	write("go.mod", "module p\n\ngo 1.23\n")
	write("p.go", "package p\n\nfunc Small(x int) bool {\n\treturn x<3 &&\n\t\tx > -3 || x == 9 && (x != 9 || x >= 10)\n}\n")
	write("p_test.go", "package p\n\nimport \"testing\"\n\nfunc TestSmall(t *testing.T) {\n\tif Small(3) || !Small(2) "+
		"|| !Small(-2) || Small(-9) {\n\t\tt.Fatal()\n\t}\n}\n")
	t.Chdir(dir)
	var out strings.Builder
	survived, err := run(t.Context(), []string{"."}, options{each: time.Minute}, &out)
	require.NoError(t, err)
	require.Equal(t, "p.go:5: >= instead of > goes unnoticed\np.go:5: == instead of != goes unnoticed\n"+
		"p.go:5: && instead of || goes unnoticed\np.go:5: > instead of >= goes unnoticed\n5 of 9 changes noticed\n", out.String())
	require.Equal(t, 4, survived)
}
