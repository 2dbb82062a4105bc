// Package inputfile opens files that are read whole: no pipes, on which a program may wait
// for ever and which can be read only once, and no devices, which need not end.
package inputfile

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
)

// ErrKind says that a path leads to something that is no file.
var ErrKind = errors.New("must be a file")

// Open opens a file and says how long it is. A folder, a pipe or a device is an error
// wrapping [ErrKind]; no error names the path.
func Open(path string) (*os.File, int64, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, 0, reason(err)
	}
	if err := Check(info); err != nil {
		return nil, 0, err
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, 0, reason(err)
	}
	// What stands there may have been exchanged in between.
	if info, err = f.Stat(); err == nil {
		err = Check(info)
	}
	if err != nil {
		return nil, 0, errors.Join(reason(err), f.Close())
	}
	return f, info.Size(), nil
}

// Check says whether something is a file that [Open] opens. The error wraps [ErrKind].
func Check(info fs.FileInfo) error {
	switch mode := info.Mode(); {
	case mode.IsRegular():
		return nil
	case mode.IsDir():
		return fmt.Errorf("%w, not a folder", ErrKind)
	case mode&fs.ModeNamedPipe != 0:
		return fmt.Errorf("%w, not a pipe: write what comes through it to a file first", ErrKind)
	}
	return fmt.Errorf("%w, not a device", ErrKind)
}

// Read is the content of a file of at most so many bytes; of a longer one it is one byte
// more. Errors are those of [Open].
func Read(path string, most int64) ([]byte, error) {
	f, _, err := Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, most+1))
	return data, reason(err)
}

// reason is the error without the path, which the caller names.
func reason(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}
