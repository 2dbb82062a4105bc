package main

import (
	"fmt"
	"math"
	"os"
	"strings"
)

// The layout of the picture, in its units.
const (
	field = 360.0 // side of the square of shares
	left  = 60.0  // of the square
	above = 20.0
	below = 56.0
	bars  = 70.0 // height of the bars that tell how many findings each dot stands for
)

// draw writes the reliability picture: what was said against what was true, with the range in
// which 95 % of perfect forecasters lie (normal approximation), and how many findings said so.
func (s *score) draw(path string) error {
	var b strings.Builder
	w, h := left+field+20, above+field+bars+below+16
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %g %g" width="%g" height="%g"`, w, h, w, h)
	fmt.Fprintln(&b, ` font-family="sans-serif" font-size="13">`)
	fmt.Fprintf(&b, "<title>Of findings that were said to stand in so many of ten mountings, how many did</title>\n")
	fmt.Fprintf(&b, `<rect width="%g" height="%g" fill="#fff"/>`+"\n", w, h)
	x := func(p float64) float64 { return left + field*p }
	y := func(p float64) float64 { return above + field*(1-p) }
	for i := 0; i <= 10; i += 2 {
		p := float64(i) / 10
		fmt.Fprintf(&b, `<path d="M%g %gH%gM%g %gV%g" stroke="#ddd" fill="none"/>`+"\n", x(0), y(p), x(1), x(p), y(0), y(1))
		fmt.Fprintf(&b, `<text x="%g" y="%g" text-anchor="end">%d</text>`+"\n", x(0)-8, y(p)+4, i)
		fmt.Fprintf(&b, `<text x="%g" y="%g" text-anchor="middle">%d</text>`+"\n", x(p), y(0)+18, i)
	}
	fmt.Fprintf(&b, `<text x="%g" y="%g" text-anchor="middle">said to stand, of 10</text>`+"\n", x(0.5), y(0)+38)
	fmt.Fprintf(&b, `<text transform="translate(18 %g) rotate(-90)" text-anchor="middle">did stand, of 10</text>`+"\n", y(0.5))
	fmt.Fprintf(&b, `<path d="M%g %gL%g %g" stroke="#666" stroke-dasharray="4 4"/>`+"\n", x(0), y(0), x(1), y(1))
	most := 0
	for _, k := range s.bins {
		most = max(most, k.n)
	}
	foot := above + field + below + bars
	for i, k := range s.bins {
		if k.n == 0 {
			continue
		}
		n := float64(k.n)
		p, t := k.p/n, k.true/n
		d := 1.96 * math.Sqrt(p*(1-p)/n)
		fmt.Fprintf(&b, `<path d="M%.1f %.1fV%.1f" stroke="#9bb" stroke-width="6"/>`+"\n", x(p), y(max(p-d, 0)), y(min(p+d, 1)))
		fmt.Fprintf(&b, `<circle cx="%.1f" cy="%.1f" r="5" fill="#0b5c63"/>`+"\n", x(p), y(t))
		tall := bars * n / float64(most)
		fmt.Fprintf(&b, `<rect x="%.1f" y="%.1f" width="%.1f" height="%.1f" fill="#9bb"/>`+"\n", x(float64(i)/10)+2, foot-tall, field/10-4, tall)
		fmt.Fprintf(&b, `<text x="%.1f" y="%.1f" text-anchor="middle" font-size="11">%d</text>`+"\n", x(float64(i)/10)+field/20, foot+12, k.n)
	}
	b.WriteString("</svg>\n")
	return os.WriteFile(path, []byte(b.String()), 0o644)
}
