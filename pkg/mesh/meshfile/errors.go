package meshfile

import (
	"errors"
	"fmt"
	"strings"

	"github.com/cusptrace/cusptrace/internal/plaintext"
)

// Reasons for which a file is refused; errors of this package wrap them, or
// those of package mesh, with the place.
var (
	ErrEmpty     = errors.New("no triangles")
	ErrTruncated = errors.New("file ends too early")
	ErrCount     = errors.New("count does not fit the length of the file")
	ErrSyntax    = errors.New("not as the format says")
	ErrFormat    = errors.New("file format not known")
)

// ParseError places a fault in a scan file. Text formats are placed by Line,
// binary ones by Offset; where neither applies, as for an empty file, both are
// unset.
type ParseError struct {
	File   string // as given; empty where data did not come from a file
	Line   int    // from 1; 0 = unset
	Offset int64  // bytes from the start of the file; -1 = unset
	Err    error
}

func (e *ParseError) Error() string {
	var b strings.Builder
	if e.File != "" {
		b.WriteString(plaintext.Line(e.File) + ": ")
	}
	switch {
	case e.Line > 0:
		fmt.Fprintf(&b, "line %d: ", e.Line)
	case e.Offset >= 0:
		fmt.Fprintf(&b, "byte %d: ", e.Offset)
	}
	return b.String() + plaintext.Line(e.Err.Error())
}

func (e *ParseError) Unwrap() error { return e.Err }

// wrap makes an error of a reason and of what was found and expected.
func wrap(reason error, format string, args ...any) error {
	return fmt.Errorf("%w: %s", reason, fmt.Sprintf(format, args...))
}

func atLine(line int, reason error, format string, args ...any) error {
	return &ParseError{Line: line, Offset: -1, Err: wrap(reason, format, args...)}
}

func atByte(offset int64, reason error, format string, args ...any) error {
	return &ParseError{Offset: offset, Err: wrap(reason, format, args...)}
}

func nowhere(reason error, format string, args ...any) error {
	return atByte(-1, reason, format, args...)
}
