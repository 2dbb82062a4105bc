package occlusion

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// No sentence says that something goes down at less than 0°.
func TestSlopeInWords(t *testing.T) {
	for deg, want := range map[float64]string{47.4: "down at 47°", -31.6: "up at 32°", 0.4: "level", -0.4: "level", 0.6: "down at 1°"} {
		require.Equal(t, want, slope(deg), deg)
	}
}
