// Package faults says what is wrong in an input file and where.
package faults

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/cusptrace/cusptrace/internal/plaintext"
)

// Most is the number of faults that [Join] shows in full.
const Most = 20

// Fault is one mistake in an input file.
type Fault struct {
	// File is the file as it was named; empty where there is none.
	File string
	// Line and Column count from 1; 0 is not known.
	Line, Column int
	// Key is the place inside the file's structure, such as
	// settings.right.condylar_inclination_deg or labels[17]; it may be empty.
	Key string
	// Err says what was found and what would do.
	Err error
}

// Error is "file:line:column: key: what is wrong", without what is not known, in one line.
func (f *Fault) Error() string {
	var b strings.Builder
	b.WriteString(plaintext.Line(f.File))
	for _, n := range []int{f.Line, f.Column} {
		if n == 0 {
			break
		}
		if b.Len() > 0 {
			b.WriteByte(':')
		} else {
			b.WriteString("line ")
		}
		b.WriteString(strconv.Itoa(n))
	}
	if b.Len() > 0 {
		b.WriteString(": ")
	}
	if f.Key != "" {
		b.WriteString(plaintext.Line(f.Key))
		b.WriteString(": ")
	}
	b.WriteString(plaintext.Line(f.Err.Error()))
	return b.String()
}

// Unwrap is the cause.
func (f *Fault) Unwrap() error { return f.Err }

// In reports whether err is, or holds, a mistake in an input file.
func In(err error) bool {
	var f *Fault
	return errors.As(err, &f)
}

// Join is one error for all faults, one a line, in order of file, line, column
// and key; nil where there are none. Beyond [Most] it shows the first and says
// how many were left out, which unlisted adds to. The slice is not changed.
func Join(all []*Fault, unlisted int) error {
	if len(all) == 0 {
		return nil
	}
	sorted := slices.Clone(all)
	slices.SortStableFunc(sorted, func(a, b *Fault) int {
		return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column), cmp.Compare(a.Key, b.Key))
	})
	var errs []error
	for _, f := range sorted[:min(len(sorted), Most)] {
		errs = append(errs, f)
	}
	if more := max(0, len(sorted)-Most) + unlisted; more > 0 {
		errs = append(errs, fmt.Errorf("and %d more", more))
	}
	return errors.Join(errs...)
}
