// Command cusptrace examines the occlusion of scanned dental casts.
package main

import (
	"context"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"

	"github.com/cusptrace/cusptrace/internal/cli"
)

func main() {
	// A crash, such as for want of memory, must not end with the exit code of bad input,
	// which is the one of the Go runtime; so it aborts, and leaves no image of memory, which
	// holds a patient's scans.
	debug.SetTraceback("crash")
	noCoreFile()
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(50) // half as much memory lies fallow, for a few percent of time
	}
	if os.Getenv("GOMEMLIMIT") == "" {
		debug.SetMemoryLimit(2100 << 20) // from here on rather time than memory; 4 GB end the command
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := cli.Run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}
