// Package overlay runs the tests of a package over one changed file, which stays as it is on disk.
package overlay

import (
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
)

// Test runs go test with further arguments on the package in a folder, with the text of one of
// its files replaced, and returns what it printed. Where tests fail or the changed code does not
// build the error is an [exec.ExitError].
func Test(ctx context.Context, dir, file string, source []byte, args ...string) ([]byte, error) {
	tmp, err := os.MkdirTemp("", "overlay")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(tmp)
	path, err := filepath.Abs(file)
	if err != nil {
		return nil, err
	}
	other, overlay := filepath.Join(tmp, "changed.go"), filepath.Join(tmp, "overlay.json")
	list, err := json.Marshal(map[string]map[string]string{"Replace": {path: other}})
	if err != nil {
		return nil, err
	}
	if err := os.WriteFile(other, source, 0o600); err != nil {
		return nil, err
	}
	if err := os.WriteFile(overlay, list, 0o600); err != nil {
		return nil, err
	}
	args = append([]string{"test", "-count=1", "-vet=off", "-overlay", overlay}, args...)
	return exec.CommandContext(ctx, "go", append(args, dir)...).Output()
}
