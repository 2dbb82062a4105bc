package faults_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/internal/faults"
)

func TestText(t *testing.T) {
	err := errors.New("found 3, must be 4")
	for want, f := range map[string]faults.Fault{
		"found 3, must be 4":              {},
		"a.yaml: found 3, must be 4":      {File: "a.yaml"},
		"a.yaml:7: k: found 3, must be 4": {File: "a.yaml", Line: 7, Key: "k"},
		"a.yaml:7:2: found 3, must be 4":  {File: "a.yaml", Line: 7, Column: 2},
		"line 7:2: found 3, must be 4":    {Line: 7, Column: 2},
		"k: found 3, must be 4":           {Key: "k", Column: 2},
	} {
		f.Err = err
		require.Equal(t, want, f.Error())
		require.ErrorIs(t, &f, err)
	}
}

func TestJoin(t *testing.T) {
	require.NoError(t, faults.Join(nil, 0))
	cause := errors.New("x")
	var all []*faults.Fault
	for i := range faults.Most + 3 {
		all = append(all, &faults.Fault{File: "f", Line: 100 - i, Err: fmt.Errorf("%w %d", cause, i)})
	}
	err := faults.Join(all, 0)
	lines := strings.Split(err.Error(), "\n")
	require.Len(t, lines, faults.Most+1)
	require.Equal(t, "f:78: x 22", lines[0], "in the order of the file")
	require.Equal(t, "and 3 more", lines[faults.Most])
	require.Equal(t, 100, all[0].Line, "the caller's slice is left alone")
	require.ErrorIs(t, err, cause)
	require.True(t, faults.In(err))
	require.True(t, faults.In(fmt.Errorf("reading: %w", err)))
	require.False(t, faults.In(cause))
	require.False(t, faults.In(nil))

	require.True(t, strings.HasSuffix(faults.Join(all[:1], 5).Error(), "\nand 5 more"))
	require.Equal(t, "f:100: x 0", faults.Join(all[:1], 0).Error())
}

func TestJoinOrder(t *testing.T) {
	x := errors.New("x")
	a := &faults.Fault{File: "a", Line: 2, Column: 1, Key: "k", Err: x}
	b := &faults.Fault{File: "a", Line: 2, Column: 1, Key: "l", Err: x}
	c := &faults.Fault{File: "a", Line: 2, Column: 3, Key: "a", Err: x}
	d := &faults.Fault{File: "b", Line: 1, Column: 1, Key: "a", Err: x}
	want := strings.Join([]string{a.Error(), b.Error(), c.Error(), d.Error()}, "\n")
	require.Equal(t, want, faults.Join([]*faults.Fault{d, c, b, a}, 0).Error())
}
