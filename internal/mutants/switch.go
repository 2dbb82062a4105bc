package main

import (
	"context"
	"errors"
	"fmt"
	"go/token"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"time"

	"github.com/cusptrace/cusptrace/internal/overlay"
)

// A test binary in which every operator of a package can be swapped by a number in its
// environment is built once and run once a change; to build it for each would take far longer
// than the tests themselves.

// switchVariable is the environment variable with the number of the change.
const switchVariable = "CUSPTRACE_MUTANT"

// switchFile is what operators are turned into; its package clause is set before it.
const switchFile = `
import (
	"cmp"
	"os"
	"strconv"
)

var mutantOn, _ = strconv.Atoi(os.Getenv("` + switchVariable + `"))

func mutantLSS[T cmp.Ordered](n int, x, y T) bool { return x < y || mutantOn == n && x == y }
func mutantLEQ[T cmp.Ordered](n int, x, y T) bool { return x < y || mutantOn != n && x == y }
func mutantGTR[T cmp.Ordered](n int, x, y T) bool { return x > y || mutantOn == n && x == y }
func mutantGEQ[T cmp.Ordered](n int, x, y T) bool { return x > y || mutantOn != n && x == y }
func mutantEQL[T comparable](n int, x, y T) bool  { return (x == y) == (mutantOn != n) }
func mutantNEQ[T comparable](n int, x, y T) bool  { return (x != y) == (mutantOn != n) }

func mutantLAND(n int, x, y func() bool) bool {
	if mutantOn == n {
		return x() || y()
	}
	return x() && y()
}

func mutantLOR(n int, x, y func() bool) bool {
	if mutantOn == n {
		return x() && y()
	}
	return x() || y()
}
`

// names are the functions of switchFile.
var names = map[token.Token]string{token.LSS: "mutantLSS", token.LEQ: "mutantLEQ", token.GTR: "mutantGTR", token.GEQ: "mutantGEQ",
	token.EQL: "mutantEQL", token.NEQ: "mutantNEQ", token.LAND: "mutantLAND", token.LOR: "mutantLOR"}

// switched is a source in which the operators of some mutants of it are calls with their
// numbers. Lines stay where they are.
func switched(source []byte, list []*mutant) []byte {
	type edit struct {
		at, until int
		order     int // of edits at one place
		text      string
	}
	var edits []edit
	for _, m := range list {
		if m.op == token.ILLEGAL {
			continue // a constant
		}
		open, between, shut := "", ", ", ")"
		if m.op == token.LAND || m.op == token.LOR {
			open, between, shut = "func() bool { return ", " }, ", " })"
		}
		size := m.last - m.first
		edits = append(edits,
			edit{m.first, m.first, -size, names[m.op] + "(" + strconv.Itoa(m.number) + ", " + open},
			// What stands around the operator, line ends and all, stays behind the comma.
			edit{m.left, m.left, size, between},
			edit{m.offset, m.offset + len(m.Old), size + 1, ""},
			edit{m.right, m.right, -size - 1<<30, open},
			edit{m.last, m.last, size, shut})
	}
	slices.SortStableFunc(edits, func(a, b edit) int {
		if a.at != b.at {
			return a.at - b.at
		}
		// What ends at a place comes before what begins there, the inner before the outer.
		return a.order - b.order
	})
	var out []byte
	done := 0
	for _, e := range edits {
		out = append(out, source[done:e.at]...)
		out = append(out, e.text...)
		done = e.until
	}
	return append(out, source[done:]...)
}

// tested is a test binary of a package in which mutants can be switched on.
type tested struct {
	dir, binary string
	each        time.Duration
}

// build builds it at a path; files are the sources of the package and the mutants of each.
func build(ctx context.Context, dir, binary string, files map[string][]byte, name string, each time.Duration) (*tested, error) {
	files[filepath.Join(dir, "mutants_switch.go")] = []byte("package " + name + "\n" + switchFile)
	if _, err := overlay.Tests(ctx, dir, files, "-c", "-o", binary); err != nil {
		var exit *exec.ExitError
		if errors.As(err, &exit) {
			err = fmt.Errorf("%s with switches: %s", dir, exit.Stderr)
		}
		return nil, err
	}
	t := &tested{dir, binary, each}
	if noticed, err := t.notices(ctx, 0); err != nil || noticed {
		return nil, errors.Join(err, fmt.Errorf("%s: the tests fail without a change", dir))
	}
	return t, nil
}

// notices says whether the tests fail with a mutant switched on.
func (t *tested) notices(ctx context.Context, number int) (bool, error) {
	c := exec.CommandContext(ctx, t.binary, "-test.short", "-test.failfast", "-test.timeout", t.each.String())
	c.Dir = t.dir
	c.Env = append(os.Environ(), switchVariable+"="+strconv.Itoa(number))
	return failed(ctx, c.Run())
}

// failed says whether a run of tests failed; code that does not build has failed too.
func failed(ctx context.Context, err error) (bool, error) {
	var exit *exec.ExitError
	switch {
	case ctx.Err() != nil:
		return false, ctx.Err()
	case err == nil:
		return false, nil
	case errors.As(err, &exit):
		return true, nil
	}
	return false, err
}
