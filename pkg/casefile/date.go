package casefile

import (
	"errors"
	"fmt"
	"time"
)

// Date is a day of the calendar as ISO 8601 writes it, YYYY-MM-DD; empty where none is
// given.
type Date string

// ErrDate says that a text is not a date.
var ErrDate = errors.New("not a date")

// check says what is wrong with a date.
func (d Date) check() error {
	if _, err := time.Parse(time.DateOnly, string(d)); err != nil {
		return fmt.Errorf("%w: %q, must be year-month-day such as 2026-03-17, a day of the calendar", ErrDate, short(string(d)))
	}
	return nil
}
