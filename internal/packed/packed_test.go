package packed_test

import (
	"strings"
	"testing"

	"github.com/cusptrace/cusptrace/internal/packed"
	"github.com/stretchr/testify/require"
)

func TestPack(t *testing.T) {
	text := []byte(strings.Repeat("a schema says the same in many places; ", 1000))
	small := packed.Pack(text)
	require.Less(t, len(small), len(text)/20)
	require.Equal(t, text, packed.Unpack(small))
	require.Equal(t, small, packed.Pack(text))
	require.Empty(t, packed.Unpack(packed.Pack(nil)))
	for n := range len(small) { // cut off anywhere it is noticed
		require.Panics(t, func() { packed.Unpack(small[:n]) }, n)
	}
}
