package settle

import (
	"slices"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"gonum.org/v1/gonum/spatial/r3"
)

func sortByShare(c []findings.SeatContact) {
	slices.SortStableFunc(c, func(a, b findings.SeatContact) int {
		switch {
		case a.Share > b.Share:
			return -1
		case a.Share < b.Share:
			return 1
		}
		return 0
	})
}

// turn is the rotation vector of a pose in degrees.
func turn(p kinematics.Pose) findings.Vec {
	return findings.VecOf(r3.Scale(180/3.141592653589793, kinematics.RotationVector(p)))
}
