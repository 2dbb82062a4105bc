package cli

import (
	"context"
	"errors"
	"runtime/metrics"
	"time"
)

// mostMemory is how much memory a command may take: two scans of three million triangles
// take less.
const mostMemory = 4 << 30

// errMemory ends a command that takes more than [mostMemory].
var errMemory = errors.New("more than 4 GB of memory needed; thin the scans out (200,000 triangles an arch show all that matters)")

// watchMemory is a context that is over, with errMemory as the cause, when the process holds
// more memory than most. The caller must call stop.
func watchMemory(ctx context.Context, most uint64) (_ context.Context, stop func()) {
	ctx, cancel := context.WithCancelCause(ctx)
	go func() {
		held := []metrics.Sample{{Name: "/memory/classes/total:bytes"}, {Name: "/memory/classes/heap/released:bytes"}}
		tick := time.NewTicker(20 * time.Millisecond)
		defer tick.Stop()
		for {
			select {
			case <-ctx.Done():
				return
			case <-tick.C:
			}
			if metrics.Read(held); held[0].Value.Uint64()-held[1].Value.Uint64() > most {
				cancel(errMemory)
			}
		}
	}()
	return ctx, func() { cancel(nil) }
}
