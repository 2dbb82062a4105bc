package language_test

import (
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// tooth is a tooth as a sentence names it; packages of the project have such types.
type tooth dentition.ToothID

func (t tooth) In(n dentition.Notation) string { return n.Format(dentition.ToothID(t)) }

// A sentence keeps what it speaks of, so that it can be written in any language and
// with any notation of teeth.
func Example() {
	s := language.Say("arch.width", language.With{"right": tooth(16), "left": tooth(26), "mm": 50.04})
	fmt.Println(s)
	fmt.Println(s.In(dentition.Universal))
	// Output:
	// 16–26: 50.0 mm
	// 3–14: 50.0 mm
}
