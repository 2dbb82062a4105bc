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

// ErrDangling says that a path is a link to something that is not there.
var ErrDangling = errors.New("it is a link that leads nowhere")

// Open opens a file and says how long it is. A folder, a pipe or a device is an error
// wrapping [ErrKind]; no error names the path.
func Open(path string) (*os.File, int64, error) {
	if err := Check(path); err != nil {
		return nil, 0, err
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, 0, reason(err)
	}
	// What stands there may have been exchanged in between.
	info, err := f.Stat()
	if err == nil {
		err = check(info)
	}
	if err != nil {
		return nil, 0, errors.Join(reason(err), f.Close())
	}
	return f, info.Size(), nil
}

// Check says whether a path leads to a file that [Open] opens, with its errors: one that
// wraps [ErrKind], [ErrDangling], or what the system says.
func Check(path string) error {
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		if _, there := os.Lstat(path); there == nil {
			return ErrDangling
		}
		if path == "-" {
			return fmt.Errorf("%w: standard input is not read; write what comes through it to a file first", ErrKind)
		}
	}
	if err != nil {
		return reason(err)
	}
	return check(info)
}

func check(info fs.FileInfo) error {
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
