package occlusion_test

import (
	"os"
	"testing"

	"github.com/cusptrace/cusptrace/internal/golden"
)

var files = golden.New("testdata/golden")

func TestMain(m *testing.M) { os.Exit(files.Run(m)) }
