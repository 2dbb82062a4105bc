package findings

import (
	"encoding/json"

	"github.com/cusptrace/cusptrace/pkg/kinematics"
)

// Pose is a rigid motion, written as a 4×4 row-major matrix (mm).
type Pose struct{ kinematics.Pose }

// MarshalJSON implements json.Marshaler.
func (p Pose) MarshalJSON() ([]byte, error) { return json.Marshal(p.Matrix()) }

// UnmarshalJSON implements json.Unmarshaler. A matrix that is not rigid is an error that
// wraps [kinematics.ErrNotRigid].
func (p *Pose) UnmarshalJSON(b []byte) error {
	var m [16]float64
	if err := json.Unmarshal(b, &m); err != nil {
		return err
	}
	q, err := kinematics.FromMatrix(m)
	if err != nil {
		return err
	}
	p.Pose = q
	return nil
}
