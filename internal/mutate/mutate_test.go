package mutate_test

import (
	"bytes"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/internal/mutate"
	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
)

// The same numbers give the same damage, of every kind of file, however short, and the
// caller's bytes stay as they are.
func TestDamageIsRepeatable(t *testing.T) {
	var stl, ply bytes.Buffer
	require.NoError(t, meshfile.WriteSTL(&stl, testmesh.Grid(3)))
	require.NoError(t, meshfile.WritePLY(&ply, testmesh.Grid(3), nil))
	files := map[string][]byte{
		"a.stl": stl.Bytes(), "a.ply": ply.Bytes(), "a.yaml": []byte("name: x\nunits: mm\nfoils_um: [8, 40]\n"),
		"empty.stl": nil, "empty.yaml": nil, "short.ply": []byte("ply\n"),
	}
	for name, data := range files {
		before := bytes.Clone(data)
		different := map[string]bool{}
		for seed := range uint64(300) {
			once := mutate.File(rand.New(rand.NewPCG(seed, 1)), name, data)
			require.Equal(t, once, mutate.File(rand.New(rand.NewPCG(seed, 1)), name, data))
			different[string(once)] = true
		}
		require.Equal(t, before, bytes.Clone(data))
		require.Greater(t, len(different), 20, name)
	}
}
