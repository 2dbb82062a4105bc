package dentition_test

import (
	"fmt"
	"log"

	"github.com/cusptrace/cusptrace/pkg/dentition"
)

// A tooth by its code of ISO 3950: what it is, and how other notations write it.
func Example() {
	t, err := dentition.ParseTooth("16")
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(t, t.Jaw(), t.Side(), t.Type())
	fmt.Println(dentition.Universal.Format(t), dentition.Quadrant.Format(t))
	// Output:
	// 16 upper right first molar
	// 3 6┘
}
