package atomicfile

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"syscall"

	"github.com/cusptrace/cusptrace/internal/plaintext"
)

// Reasons for which nothing is written.
var (
	// ErrBusy says that another process writes there.
	ErrBusy = errors.New("another run writes there")
	// ErrForeign says that a file is in the way that was not written by this package, or
	// was changed since.
	ErrForeign = errors.New("not to be replaced")

	errDangling = errors.New("it is a link that leads nowhere")
	errFolder   = errors.New("it is a folder")
	errNoFile   = errors.New("it is neither a file nor a folder")
)

// Error says what could not be written, by the name that the caller gave and not by that
// of a temporary file, and what to do.
type Error struct {
	Path   string
	Folder bool // whether Path is a folder
	Err    error
}

// newError is the error of a path, nil where there is none.
func newError(path string, err error) error {
	var known *Error
	if err == nil || errors.As(err, &known) {
		return err
	}
	return &Error{Path: path, Err: reason(err)}
}

// reason is an error without the path that it names.
func reason(err error) error {
	var p *fs.PathError
	var l *os.LinkError
	switch {
	case errors.As(err, &p):
		return p.Err
	case errors.As(err, &l):
		return l.Err
	}
	return err
}

func (e *Error) Error() string {
	into := ""
	if e.Folder {
		into = "into the folder "
	}
	return fmt.Sprintf("cannot write %s%s: %v; %s", into, plaintext.Line(e.Path), e.Err, e.advice())
}

// Unwrap is the reason.
func (e *Error) Unwrap() error { return e.Err }

// advice is what to do about an error.
func (e *Error) advice() string {
	switch {
	case errors.Is(e.Err, ErrBusy):
		return "wait until it has ended, or choose another place"
	case errors.Is(e.Err, ErrForeign):
		return "move it away, or choose another place"
	case errors.Is(e.Err, errDangling):
		return "remove the link, or choose another place"
	case errors.Is(e.Err, syscall.ENOSPC), errors.Is(e.Err, syscall.EDQUOT), errors.Is(e.Err, diskFull):
		return "free some space, or choose a place on another disk"
	case errors.Is(e.Err, syscall.EFBIG):
		return "files as large are not allowed there: choose another place"
	case errors.Is(e.Err, syscall.ENAMETOOLONG):
		return "choose a shorter name"
	case errors.Is(e.Err, fs.ErrNotExist) && !e.Folder:
		return "make the folder first, or choose another place"
	case errors.Is(e.Err, fs.ErrPermission), errors.Is(e.Err, syscall.EROFS):
		return "choose a place where you may write"
	}
	return "choose another place"
}
