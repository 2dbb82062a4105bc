package report_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// Every feature of a tooth has its term in the catalogue, and the English one is the
// word of the files.
func TestEveryFeatureHasItsTerm(t *testing.T) {
	n := 0
	for f := anatomy.Feature(1); f.String() != anatomy.Feature(0).String(); f++ {
		assert.Equal(t, f.String(), language.English().Term(f.String()))
		assert.Contains(t, language.English().Keys(), language.TermKey(f.String()), "%v", f)
		n++
	}
	assert.Greater(t, n, 20)
	assert.Equal(t, "Fossa mesialis", german(t).Term("mesial fossa"))
	assert.Equal(t, "no term", german(t).Term("no term"))
}
