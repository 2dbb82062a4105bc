package trial

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/cusptrace/cusptrace/pkg/findings"
)

// What holds the casts open is the highest interference between the travels that is no matter of
// the scans and not of the teeth that shall guide.
func TestWhatHoldsTheCastsOpen(t *testing.T) {
	um := func(x float64) *float64 { return &x }
	high := findings.Finding{Kind: findings.KindProtrusiveInterference, Upper: 27, Lower: 37, FromMM: 1, ToMM: 2, HeightUm: um(145)}
	found := func(list ...findings.Finding) *findings.Finding {
		return holdsOpen(&findings.Excursion{Findings: list}, 0.5, 3, 41, 31)
	}
	assert.Nil(t, found())
	assert.Equal(t, &high, found(high))
	higher, working, nonworking := high, high, high
	higher.HeightUm = um(160)
	working.Kind, nonworking.Kind = findings.KindWorkingInterference, findings.KindNonworkingInterference
	assert.Equal(t, &higher, found(high, higher, working))
	assert.Equal(t, &working, found(working))
	assert.Equal(t, &nonworking, found(nonworking))
	first, last := high, high
	first.FromMM, first.ToMM = 0, 0.5
	last.FromMM, last.ToMM = 3, 4
	assert.Equal(t, &first, found(first))
	assert.Equal(t, &last, found(last))

	contact, doubtful, edge, own, shared, flat, before, after := high, high, high, high, high, high, high, high
	contact.Kind = findings.KindProtrusiveContact
	doubtful.Doubtful, edge.PastEdge = true, true
	own.Lower, shared.Lower = 41, 31
	flat.HeightUm = nil
	before.FromMM, before.ToMM = 0, 0.4
	after.FromMM, after.ToMM = 3.1, 4
	for _, f := range []findings.Finding{contact, doubtful, edge, own, shared, flat, before, after} {
		assert.Nil(t, found(f))
	}
}
