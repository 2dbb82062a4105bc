package report

import (
	"context"
	"fmt"
	"os"
	"testing"
	"time"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
)

func TestZZ(t *testing.T) {
	c, _, err := casefile.Read("/tmp/real.yaml")
	if err != nil { t.Fatal(err) }
	u, l, err := occlusion.Load(context.Background(), c)
	if err != nil { t.Fatal(err) }
	casts, err := occlusion.Assemble(context.Background(), c, u, l)
	if err != nil { t.Fatal(err) }
	f, err := occlusion.Examine(context.Background(), c, casts, occlusion.Options{})
	if err != nil { t.Fatal(err) }
	d, err := occlusion.NewDisplay(context.Background(), casts, f, 0)
	if err != nil { t.Fatal(err) }
	t0 := time.Now()
	p, err := drawStills(context.Background(), f, d, 0)
	if err != nil { t.Fatal(err) }
	fmt.Println(time.Since(t0))
	for i := range p {
		os.WriteFile("/tmp/h9/"+stillName(&stills[i]), p[i], 0o644)
		fmt.Println(stills[i].name, len(p[i]))
	}
}
