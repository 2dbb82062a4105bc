// Package overlay runs the tests of a package over changed files, which stay as they are on disk.
package overlay

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
)

// Test runs go test with further arguments on the package in a folder, with the text of one of
// its files replaced, and returns what it printed. Where tests fail or the changed code does not
// build the error is an [exec.ExitError].
func Test(ctx context.Context, dir, file string, source []byte, args ...string) ([]byte, error) {
	return Tests(ctx, dir, map[string][]byte{file: source}, args...)
}

// Tests is Test with the text of several files replaced, or added.
func Tests(ctx context.Context, dir string, files map[string][]byte, args ...string) ([]byte, error) {
	tmp, err := os.MkdirTemp("", "overlay")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(tmp)
	replace := map[string]string{}
	for file, source := range files {
		path, err := filepath.Abs(file)
		if err != nil {
			return nil, err
		}
		replace[path] = filepath.Join(tmp, fmt.Sprintf("changed%d.go", len(replace)))
		if err := os.WriteFile(replace[path], source, 0o600); err != nil {
			return nil, err
		}
	}
	list, err := json.Marshal(map[string]map[string]string{"Replace": replace})
	if err != nil {
		return nil, err
	}
	overlay := filepath.Join(tmp, "overlay.json")
	if err := os.WriteFile(overlay, list, 0o600); err != nil {
		return nil, err
	}
	args = slices.Concat([]string{"test", "-count=1", "-vet=off", "-overlay", overlay}, args, []string{dir})
	return exec.CommandContext(ctx, "go", args...).Output()
}
