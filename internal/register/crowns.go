package register

import (
	"context"
	"errors"
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/index"
	"gonum.org/v1/gonum/spatial/r3"
)

// ErrOther says that a scan does not show the arch of another.
var ErrOther = errors.New("does not show the same arch as the first scan")

// All are our choice.
const (
	// sameMost is the median distance, in mm, of the crowns of one scan from the other up to
	// which they can be two scans of one arch, and sameShare the least share of the crowns that
	// lies within a millimetre of it. The usual distortion leaves 0.01; of 30 pairs of scans of different
	// persons none came nearer than 0.37, with shares up to 0.67.
	sameMost  = 0.2
	sameShare = 0.8
)

// Crowns lays an arch over another scan of it, which may stand anywhere: its whole surface first,
// then the points of its crowns. Where the other shows another arch the error wraps [ErrOther].
func Crowns(ctx context.Context, whole *mesh.Mesh, crowns [][]r3.Vec, to *index.Index) (Fit, error) {
	f, ok := Whole(ctx, whole, to)
	if err := ctx.Err(); err != nil {
		return f, err
	}
	if !ok {
		return f, fmt.Errorf("%w: it cannot be laid over it", ErrOther)
	}
	var all []r3.Vec
	for _, p := range crowns {
		all = append(all, p...)
	}
	f, ok = Onto(ctx, all, to, f.Pose, Options{Reach: 1, Rounds: 30, Least: 1})
	if err := ctx.Err(); err != nil {
		return f, err
	}
	if !ok || f.Median > sameMost || f.Share < sameShare {
		return f, fmt.Errorf("%w: where they fit best, %.0f %% of the crowns come within 1 mm of it, half of these within %.2f mm",
			ErrOther, 100*f.Share, f.Median)
	}
	return f, nil
}

// Crown lays the points of one crown over a scan, from where all crowns of the arch lie on it.
func Crown(ctx context.Context, points []r3.Vec, to *index.Index, all Fit) (Fit, bool) {
	return Onto(ctx, points, to, all.Pose, Options{Reach: 0.5, Rounds: 30, Least: 60})
}
