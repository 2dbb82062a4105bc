package archnet

import "math"

// The sizes of the neighbourhoods above which heights are seen, mm, and what divides them.
var neighbourhoods = [...]struct{ sigma, unit float64 }{{1.2, 0.5}, {4, 2}, {12, 4}}

const steepest = 3.0 // units beyond which a height above its neighbourhood is cut off

// channels is what the network sees: which pixels show the scan, their heights above the mean
// of three neighbourhoods, and how level the surface is. None depends on where the picture's
// zero lies.
func channels(height []float64, seen []bool) plane {
	p := newPlane(inputs, Size)
	at := func(i, j int) int { return (i+1)*(Size+2) + j + 1 }
	z, m := make([]float64, Size*Size), make([]float64, Size*Size)
	for i, s := range seen {
		if s {
			z[i], m[i] = height[i], 1
			p.channel(0)[at(i/Size, i%Size)] = 1
		}
	}
	for c, n := range neighbourhoods {
		mean, weight := blurred(z, n.sigma), blurred(m, n.sigma)
		for i, s := range seen {
			if s {
				v := (z[i] - mean[i]/max(weight[i], 1e-3)) / n.unit
				p.channel(c + 1)[at(i/Size, i%Size)] = float32(max(-steepest, min(steepest, v)))
			}
		}
	}
	for i, s := range seen {
		if !s {
			continue
		}
		var dx, dy float64
		if j := i % Size; j > 0 && j < Size-1 {
			dx = (z[i+1] - z[i-1]) / (2 * Pixel)
		}
		if k := i / Size; k > 0 && k < Size-1 {
			dy = (z[i+Size] - z[i-Size]) / (2 * Pixel)
		}
		p.channel(4)[at(i/Size, i%Size)] = float32(1 / math.Sqrt(1+float64(dx*dx)+float64(dy*dy)))
	}
	return p
}

// blurred sums a picture's surroundings with a normal distribution's weights; outside there
// are zeros.
func blurred(x []float64, sigma float64) []float64 {
	r := int(3*sigma/Pixel + 0.5)
	w := make([]float64, 2*r+1)
	sum := 0.0
	for i := range w {
		d := float64(i-r) * Pixel / sigma
		w[i] = bell(d)
		sum += w[i]
	}
	for i := range w {
		w[i] /= sum
	}
	rows, out := make([]float64, len(x)), make([]float64, len(x))
	for i := range Size {
		line := x[i*Size : (i+1)*Size]
		for j := range Size {
			s := 0.0
			for k := max(0, j-r); k <= min(Size-1, j+r); k++ {
				s += float64(w[k-j+r] * line[k])
			}
			rows[i*Size+j] = s
		}
	}
	for i := range Size {
		for k := max(0, i-r); k <= min(Size-1, i+r); k++ {
			f := w[k-i+r]
			for j := range Size {
				out[i*Size+j] += float64(f * rows[k*Size+j])
			}
		}
	}
	return out
}

// bell is e^(−d²/2), without math.Exp.
func bell(d float64) float64 {
	e := exponential(float32(-d * d / 2))
	return float64(e)
}
