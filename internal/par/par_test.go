package par

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestChunksOnAnyCores(t *testing.T) {
	for _, n := range []int{0, 1, 2, 7, 8, 9, 100} {
		for _, workers := range []int{0, 1, 2, 5} {
			seen := make([]int, n)
			var mu sync.Mutex
			borders := map[int]int{}
			require.NoError(t, Chunks(context.Background(), n, 8, workers, func(w, lo, hi int) error {
				for i := lo; i < hi; i++ {
					seen[i]++
				}
				mu.Lock()
				defer mu.Unlock()
				borders[lo] = hi
				return nil
			}))
			for i, s := range seen {
				require.Equal(t, 1, s, "index %d", i)
			}
			for lo, hi := range borders {
				require.Zero(t, lo%8)
				require.Equal(t, min(lo+8, n), hi)
			}
		}
	}
}

func TestChunksLowestErrorWins(t *testing.T) {
	err := Chunks(context.Background(), 4, 1, 1, func(_, lo, _ int) error {
		if lo >= 1 {
			return fmt.Errorf("chunk %d", lo)
		}
		return nil
	})
	require.EqualError(t, err, "chunk 1")
}

func TestChunksStopWhenCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	calls := 0
	err := Chunks(ctx, 1000, 1, 1, func(_, lo, _ int) error {
		calls++
		if lo == 3 {
			cancel()
		}
		return nil
	})
	require.True(t, errors.Is(err, context.Canceled))
	require.Equal(t, 4, calls)
}

// A panic on another goroutine reaches the caller, who can recover it, with its
// value and the stack of where it fell.
func TestPanicsReachTheCaller(t *testing.T) {
	fall := errors.New("fell")
	recovered := func(f func()) (v any) {
		defer func() { v = recover() }()
		f()
		return nil
	}
	for _, workers := range []int{2, 5} {
		v := recovered(func() {
			_ = Chunks(context.Background(), 100, 1, workers, func(_, lo, _ int) error {
				if lo == 50 {
					panic(fall)
				}
				return nil
			})
		})
		p, ok := v.(*Panic)
		require.True(t, ok, "%v", v)
		require.ErrorIs(t, p, fall)
		require.Contains(t, string(p.Stack), "TestPanicsReachTheCaller")
	}
	require.Equal(t, fall, recovered(func() {
		_ = Chunks(context.Background(), 100, 1, 1, func(_, _, _ int) error { panic(fall) })
	}), "one worker is the caller's own goroutine")

	ended := false
	v := recovered(func() { Both(func() { panic(fall) }, func() { ended = true }) })
	require.ErrorIs(t, v.(error), fall)
	require.True(t, ended)
	ended = false
	require.Equal(t, fall, recovered(func() { Both(func() { ended = true }, func() { panic(fall) }) }))
	require.True(t, ended, "what runs beside is waited for")
	v = recovered(func() { Both(func() { Both(func() { panic(fall) }, func() {}) }, func() {}) })
	require.Equal(t, fall, v.(*Panic).Value, "wrapped once")
}
