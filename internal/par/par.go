// Package par runs loops on several cores with results that do not depend on
// how many there are.
package par

import (
	"context"
	"errors"
	"runtime"
	"sync"
	"sync/atomic"
)

// Chunks splits 0…n into chunks of the given size and calls f(worker, lo, hi)
// once for each, on up to workers goroutines (0 = GOMAXPROCS). Chunk borders
// depend on n and size only; worker tells goroutines apart, for scratch
// memory, and must not influence results. After cancellation or an error no
// further chunk is started; the error of the lowest chunk wins.
func Chunks(ctx context.Context, n, size, workers int, f func(worker, lo, hi int) error) error {
	if n <= 0 {
		return ctx.Err()
	}
	chunks := (n + size - 1) / size
	workers = min(Workers(workers), chunks)
	errs := make([]error, chunks)
	var next atomic.Int64
	var failed atomic.Bool
	run := func(w int) {
		for !failed.Load() && ctx.Err() == nil {
			c := int(next.Add(1)) - 1
			if c >= chunks {
				return
			}
			if err := f(w, c*size, min((c+1)*size, n)); err != nil {
				errs[c] = err
				failed.Store(true)
			}
		}
	}
	if workers == 1 {
		run(0)
	} else {
		var wg sync.WaitGroup
		for w := range workers {
			wg.Go(func() { run(w) })
		}
		wg.Wait()
	}
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return ctx.Err()
}

// Workers is the number of goroutines that a setting stands for: 0 means one
// for each processor that Go may use.
func Workers(setting int) int {
	if setting <= 0 {
		return runtime.GOMAXPROCS(0)
	}
	return setting
}

// Both does two pieces of work at once. The errors come in the order of the pieces,
// whichever was ready first.
func Both(first, second func() error) error {
	var wg sync.WaitGroup
	var errs [2]error
	wg.Go(func() { errs[0] = first() })
	wg.Go(func() { errs[1] = second() })
	wg.Wait()
	return errors.Join(errs[0], errs[1])
}
