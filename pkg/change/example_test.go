package change_test

import (
	"context"
	"fmt"

	"github.com/cusptrace/cusptrace/internal/testcase"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/change"
)

func Example() {
	a := testcase.New(8)
	labels := a.UpperLabels
	teeth, err := labels.Triangles(a.Upper)
	if err != nil {
		fmt.Println(err)
		return
	}
	scan := &casts.Scan{Mesh: a.Upper, Labels: labels, Teeth: teeth}
	crowns, err := change.Crowns(context.Background(), scan, scan)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%d crowns; %v from %.0f µm on: %.0f µm lost\n", len(crowns), crowns[0].Tooth, crowns[0].ProvableUm, crowns[0].Lost.DeepestUm)
	// Output: 14 crowns; 11 from 2 µm on: 0 µm lost
}
