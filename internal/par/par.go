// Package par runs loops on several cores with results that do not depend on
// how many there are.
package par

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"runtime/debug"
	"sync"
	"sync/atomic"
)

// Chunks splits 0…n into chunks of the given size and calls f(worker, lo, hi)
// once for each, on up to workers goroutines (0 = GOMAXPROCS). Chunk borders
// depend on n and size only; worker tells goroutines apart, for scratch
// memory, and must not influence results. After cancellation or an error no
// further chunk is started; the error of the lowest chunk wins. A panic of f
// reaches the caller, as a [*Panic] where it came from another goroutine.
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
		panics := make([]*Panic, workers)
		var wg sync.WaitGroup
		for w := range workers {
			wg.Go(func() {
				if panics[w] = caught(func() { run(w) }); panics[w] != nil {
					failed.Store(true)
				}
			})
		}
		wg.Wait()
		rethrow(panics...)
	}
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return ctx.Err()
}

// Both runs two functions at once, f on a goroutine of its own, and returns
// when both have ended. A panic of f reaches the caller as a [*Panic].
func Both(f, g func()) {
	var fell *Panic
	var wg sync.WaitGroup
	wg.Go(func() { fell = caught(f) })
	func() {
		defer wg.Wait() // also where g panics
		g()
	}()
	rethrow(fell)
}

// Panic carries a panic from a goroutine to its caller, who may recover it.
type Panic struct {
	Value any    // what was panicked with
	Stack []byte // of the goroutine
}

func (p *Panic) Error() string {
	return fmt.Sprintf("%v\n\non another goroutine:\n%s", p.Value, p.Stack)
}

// Unwrap is the value of the panic where that is an error.
func (p *Panic) Unwrap() error {
	err, _ := p.Value.(error)
	return err
}

// caught runs f and returns its panic; nil where there is none.
func caught(f func()) (p *Panic) {
	defer func() {
		switch v := recover().(type) {
		case nil:
		case *Panic:
			p = v // from a goroutine further down
		default:
			p = &Panic{Value: v, Stack: debug.Stack()}
		}
	}()
	f()
	return nil
}

func rethrow(panics ...*Panic) {
	for _, p := range panics {
		if p != nil {
			panic(p)
		}
	}
}

// Workers is the number of goroutines that a setting stands for: 0 means one
// for each processor that Go may use.
func Workers(setting int) int {
	if setting <= 0 {
		return runtime.GOMAXPROCS(0)
	}
	return setting
}

// BothErr does two pieces of work at once, as [Both]. The errors come in the order of the
// pieces, whichever was ready first.
func BothErr(first, second func() error) error {
	var errs [2]error
	Both(func() { errs[0] = first() }, func() { errs[1] = second() })
	return errors.Join(errs[0], errs[1])
}
