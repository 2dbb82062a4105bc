package cli

import (
	"bytes"
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// What takes too much memory ends with a clear message, as a failure and not as bad input.
func TestMemoryIsWatched(t *testing.T) {
	ctx, stop := watchMemory(context.Background(), 1)
	defer stop()
	<-ctx.Done()
	require.ErrorIs(t, context.Cause(ctx), errMemory)
	var stderr bytes.Buffer
	require.Equal(t, failure, ended(ctx, ctx.Err(), false, &stderr))
	require.True(t, strings.HasPrefix(stderr.String(), "cusptrace: more than 4 GB of memory needed; thin the scans out"), stderr.String())

	ctx, stop = watchMemory(context.Background(), mostMemory)
	require.NoError(t, ctx.Err())
	stop()
	require.NotErrorIs(t, context.Cause(ctx), errMemory)
}
