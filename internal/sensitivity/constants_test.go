package main

import (
	"testing"

	"github.com/stretchr/testify/require"
)

const sample = `package p

const reach = 2.5 // mm

const (
	few  = 12
	none = 0
	twice = 2 * reach
)

type weights struct{ width float64 }

func usual() weights {
	const near = 4
	return weights{width: 0.5}
}
`

func TestConstants(t *testing.T) {
	got, err := constants("p.go", []byte(sample))
	require.NoError(t, err)
	var names []string
	for _, c := range got {
		names = append(names, c.name+" "+c.text)
	}
	require.Equal(t, []string{"reach 2.5", "few 12", "near 4", "width 0.5"}, names)
	require.Contains(t, string(got[0].times([]byte(sample), 0.8)), "const reach = 2.0 // mm")
	require.Contains(t, string(got[1].times([]byte(sample), 1.2)), "few  = 14\n")
	require.Contains(t, string(got[3].times([]byte(sample), 1.2)), "width: 0.6}")
	one := constant{text: "2", offset: 0}
	require.Nil(t, one.times([]byte("2"), 1.2), "a whole number that rounds to itself")
}
