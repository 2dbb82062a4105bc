package archnet

import (
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// arch reads a drawn arch (testdata, made by train/synth.py): half-precision heights, −1000
// where there is none.
func arch(t testing.TB) (height []float64, seen []bool) {
	b, err := os.ReadFile("testdata/arch.f16")
	require.NoError(t, err)
	require.Len(t, b, 2*Size*Size)
	for i := range Size * Size {
		h := float64(half(binary.LittleEndian.Uint16(b[2*i:])))
		height, seen = append(height, h), append(seen, h > -999)
	}
	return height, seen
}

// The same picture read with PyTorch by the network as it was trained, its weights in full
// precision and its normalisation not folded in: 200 pixels, drawn at random.
func TestReadsLikePyTorch(t *testing.T) {
	n, err := New()
	require.NoError(t, err)
	height, seen := arch(t)
	got, err := n.Read(context.Background(), height, seen, 0)
	require.NoError(t, err)
	text, err := os.ReadFile("testdata/pytorch.txt")
	require.NoError(t, err)
	lines := strings.Split(strings.TrimSpace(string(text)), "\n")
	require.Len(t, lines, 200)
	for _, l := range lines {
		var pixel, kind int
		var share, x, y float64
		_, err := fmt.Sscan(l, &pixel, &kind, &share, &x, &y)
		require.NoError(t, err)
		require.InDelta(t, share, float64(got.Kind[pixel][kind]), 0.02, "pixel %d", pixel)
		require.InDelta(t, x, float64(got.Offset[pixel][0]), 0.05, "pixel %d", pixel)
		require.InDelta(t, y, float64(got.Offset[pixel][1]), 0.05, "pixel %d", pixel)
	}
}

func TestReadOnAnyCores(t *testing.T) {
	n, err := New()
	require.NoError(t, err)
	height, seen := arch(t)
	one, err := n.Read(context.Background(), height, seen, 1)
	require.NoError(t, err)
	several := []int{2, 5}
	if testing.Short() {
		several = several[1:]
	}
	for _, workers := range several {
		got, err := n.Read(context.Background(), height, seen, workers)
		require.NoError(t, err)
		require.Equal(t, one, got)
	}
}

func TestReadChecksItsInput(t *testing.T) {
	n, err := New()
	require.NoError(t, err)
	_, err = n.Read(context.Background(), make([]float64, 3), make([]bool, 3), 0)
	require.ErrorContains(t, err, "160×160")
	over, cancel := context.WithCancel(context.Background())
	cancel()
	height, seen := arch(t)
	_, err = n.Read(over, height, seen, 0)
	require.ErrorIs(t, err, context.Canceled)
}

func TestExponential(t *testing.T) {
	for x := float32(-90); x <= 0; x += 0.37 {
		require.InDelta(t, math.Exp(float64(x)), float64(exponential(x)), 1e-7*math.Exp(float64(x))+1e-34)
	}
}

func TestHalf(t *testing.T) {
	for h, want := range map[uint16]float32{0: 0, 0x3c00: 1, 0xc000: -2, 0x3555: 0.333251953125, 0x0001: 1.0 / (1 << 24),
		0x8400: -1.0 / (1 << 14)} {
		require.Equal(t, want, half(h))
	}
}

func BenchmarkRead(b *testing.B) {
	n, err := New()
	require.NoError(b, err)
	height, seen := arch(b)
	for b.Loop() {
		if _, err := n.Read(context.Background(), height, seen, 1); err != nil {
			b.Fatal(err)
		}
	}
}
