// Package report presents findings: as files that other programs read and as
// text that people read. It computes nothing about teeth.
package report

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/google/renameio/v2"
)

// Files are the names that [WriteDir] writes.
var Files = [...]string{"findings.json", "contacts.csv", "frames.csv"}

// WriteJSON writes the findings as indented JSON. Numbers read back exactly.
func WriteJSON(w io.Writer, f *occlusion.Findings) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	return e.Encode(f)
}

// WriteDir writes the findings into a folder, which it makes if need be. Every
// file is written under a temporary name first and all are renamed at the end,
// so that an error or a cancellation leaves no partial file.
func WriteDir(ctx context.Context, dir string, f *occlusion.Findings) (err error) {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return fmt.Errorf("output folder: %w", err)
	}
	writers := [len(Files)]func(io.Writer, *occlusion.Findings) error{WriteJSON, WriteContacts, WriteFrames}
	var pending []*renameio.PendingFile
	defer func() {
		for _, p := range pending {
			err = errors.Join(err, p.Cleanup())
		}
	}()
	for i, name := range Files {
		p, err := renameio.NewPendingFile(filepath.Join(dir, name), renameio.WithTempDir(dir), renameio.WithPermissions(0o644))
		if err != nil {
			return fmt.Errorf("output folder: %w", err)
		}
		pending = append(pending, p)
		buf := bufio.NewWriterSize(p, 1<<16)
		if err := writers[i](buf, f); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		if err := buf.Flush(); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		if err := ctx.Err(); err != nil {
			return err
		}
	}
	for i, p := range pending {
		if err := p.CloseAtomicallyReplace(); err != nil {
			return fmt.Errorf("%s: %w", Files[i], err)
		}
	}
	return nil
}
