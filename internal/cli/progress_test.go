package cli

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestProgressOverwritesItsLineAndTakesItAway(t *testing.T) {
	var b strings.Builder
	p := &progress{w: &b}
	p.show(0, 0) // nothing to do: nothing to show
	require.Empty(t, b.String())
	p.show(1, 2)
	p.show(1, 2)
	require.Equal(t, "\rpositions [===============               ] 1/2", b.String(), "the same is not written twice")
	p.show(2, 2)
	p.clear()
	after := b.String()
	last := after[strings.LastIndex(strings.TrimSuffix(after, "\r"), "\r"):]
	require.Equal(t, "\r"+strings.Repeat(" ", 46)+"\r", last)
}

func TestProgressIsSilentInAPipe(t *testing.T) {
	var b strings.Builder
	p := newProgress(&b)
	p.show(1, 2)
	p.clear()
	require.Empty(t, b.String())
}
