package cli_test

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// The case in testdata is examined without a warning about its file, and what is
// printed of it stays as it is.
func TestExamineTheCaseOfTheDocumentation(t *testing.T) {
	code, stdout, stderr := run(t, "examine", "../../testdata/case/case.yaml", "-o", t.TempDir(), "--tables-only", "--as-set")
	require.Zero(t, code, stderr)
	require.Empty(t, stderr)
	require.NotContains(t, stdout, "is unusual")
	files.Check(t, "examine-testdata.txt", stdout)
}
