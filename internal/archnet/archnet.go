// Package archnet tells, from a picture of the heights of a dental arch seen along the
// occlusal direction, which spots of it are teeth, of which kind, and where the middle of
// their crown lies.
//
// It is a small convolutional network (a U-Net: O. Ronneberger, P. Fischer, T. Brox, MICCAI
// 2015) in plain Go. Its weights were trained on drawn arches only (the folder train has the
// programs): crowns of handbook sizes with wide random ranges, gingiva, palate, cheeks and
// what scanning leaves; no scan of a person was used for training.
package archnet

import (
	"context"
	_ "embed"
	"encoding/binary"
	"errors"
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/internal/par"
)

// The picture's size.
const (
	Size  = 160 // pixels a side
	Pixel = 0.5 // mm a pixel
)

// Kinds of a spot: 0 none, 1 to 8 an upper tooth counted from the midline, 9 to 16 a lower one.
const Kinds = 17

const (
	inputs  = 5
	outputs = Kinds + 2
	reach   = 5.0 // mm: the unit of the offsets
)

// widths are the channels of the levels; each level halves the picture.
var widths = [...]int{16, 32, 64, 96, 128}

//go:embed weights.bin
var packed []byte

// Net is the network, ready to read pictures. It is not changed by reading: goroutines may
// share it.
type Net struct {
	down, up [][2]layer
	last     layer
}

// layer is a convolution of 3×3 (of 1×1 the last) with the rectifier after it (not the last).
type layer struct {
	in, out, side int
	weight, bias  []float32
	turned        []float32 // of 3×3: the kernels transformed, see [tiles]
}

// New unpacks the network: half-precision weights, layer by layer, each followed by its biases.
func New() (*Net, error) {
	r := reader{packed}
	n := &Net{}
	in := inputs
	for _, w := range widths {
		n.down = append(n.down, [2]layer{r.layer(in, w, 3), r.layer(w, w, 3)})
		in = w
	}
	for i := range len(widths) - 1 {
		w := widths[i]
		n.up = append(n.up, [2]layer{r.layer(w+widths[i+1], w, 3), r.layer(w, w, 3)})
	}
	n.last = r.layer(widths[0], outputs, 1)
	if r.b == nil || len(r.b) != 0 {
		return nil, errors.New("archnet: the embedded weights have another length than the network")
	}
	return n, nil
}

type reader struct{ b []byte }

func (r *reader) layer(in, out, side int) layer {
	l := layer{in: in, out: out, side: side, weight: make([]float32, in*out*side*side), bias: make([]float32, out)}
	r.halves(l.weight)
	r.halves(l.bias)
	if side == 3 {
		l.turn()
	}
	return l
}

func (r *reader) halves(dst []float32) {
	if len(r.b) < 2*len(dst) {
		r.b = nil
		return
	}
	for i := range dst {
		dst[i] = half(binary.LittleEndian.Uint16(r.b[2*i:]))
	}
	r.b = r.b[2*len(dst):]
}

// half widens a number of IEEE 754 binary16; the weights have no infinities.
func half(h uint16) float32 {
	sign, exponent, fraction := uint32(h>>15)<<31, uint32(h>>10&31), uint32(h&1023)
	if exponent == 0 {
		v := float32(fraction) / (1 << 24)
		if sign != 0 {
			return -v
		}
		return v
	}
	return math.Float32frombits(sign | (exponent+112)<<23 | fraction<<13)
}

// Reading is what the network makes of a picture, for each of its Size×Size pixels.
type Reading struct {
	// Kind holds the shares of the Kinds, pixel by pixel; those of a pixel add up to 1.
	Kind [][Kinds]float32
	// Offset points from the pixel to the middle of its tooth as it is seen, mm; it has
	// no meaning where there is no tooth.
	Offset [][2]float32
}

// Read reads a picture of heights, mm towards the viewer, row by row (rows grow backwards in
// the mouth where its direction is known, columns to the right hand of who looks); seen says
// which pixels show the scan. It looks for cancellation between layers.
func (n *Net) Read(ctx context.Context, height []float64, seen []bool, workers int) (*Reading, error) {
	if len(height) != Size*Size || len(seen) != Size*Size {
		return nil, fmt.Errorf("archnet: a picture has %d×%d pixels", Size, Size)
	}
	x := channels(height, seen)
	var kept []plane
	for i, l := range n.down {
		if i > 0 {
			x = x.pooled()
		}
		for _, c := range l {
			var err error
			if x, err = c.apply(ctx, x, workers); err != nil {
				return nil, err
			}
		}
		kept = append(kept, x)
	}
	for i := len(n.up) - 1; i >= 0; i-- {
		x = join(kept[i], x)
		for _, c := range n.up[i] {
			var err error
			if x, err = c.apply(ctx, x, workers); err != nil {
				return nil, err
			}
		}
	}
	y, err := n.last.apply(ctx, x, workers)
	if err != nil {
		return nil, err
	}
	return y.reading(), nil
}

// plane is channels of numbers with a border of zeros one pixel wide.
type plane struct {
	channels, side int
	v              []float32
}

func newPlane(channels, side int) plane {
	return plane{channels, side, make([]float32, channels*(side+2)*(side+2))}
}

func (p *plane) channel(c int) []float32 {
	n := (p.side + 2) * (p.side + 2)
	return p.v[c*n : (c+1)*n]
}

// apply convolves. Products are rounded before they are added, so that processors with
// fused operations give the same.
func (l *layer) apply(ctx context.Context, x plane, workers int) (plane, error) {
	y := newPlane(l.out, x.side)
	if l.side == 3 {
		// Two rows at a time, each by one goroutine.
		err := par.Chunks(ctx, x.side/2, 2, workers, func(_, lo, hi int) error {
			w := newTiles(l, x.side)
			for i := lo; i < hi; i++ {
				w.rows(l, &x, &y, i)
			}
			return nil
		})
		return y, err
	}
	n, row := x.side, x.side+2
	err := par.Chunks(ctx, l.out, 4, workers, func(_, lo, hi int) error {
		for o := lo; o < hi; o++ {
			dst := y.channel(o)
			for i := range n {
				line := dst[(i+1)*row+1:][:n]
				for j := range line {
					line[j] = l.bias[o]
				}
			}
			for c := range l.in {
				src := x.channel(c)
				w := l.weight[o*l.in+c]
				for i := 1; i <= n; i++ {
					a, d := src[i*row+1:][:n], dst[i*row+1:][:n]
					for j := range d {
						d[j] += float32(w * a[j])
					}
				}
			}
		}
		return nil
	})
	return y, err
}

// pooled halves a picture: each pixel is the greatest of four.
func (p *plane) pooled() plane {
	q := newPlane(p.channels, p.side/2)
	row, small := p.side+2, q.side+2
	for c := range p.channels {
		src, dst := p.channel(c), q.channel(c)
		for i := range q.side {
			a, b := src[(2*i+1)*row+1:], src[(2*i+2)*row+1:]
			d := dst[(i+1)*small+1:][:q.side]
			for j := range d {
				d[j] = max(a[2*j], a[2*j+1], b[2*j], b[2*j+1])
			}
		}
	}
	return q
}

// join puts the channels of a picture of half the size, every pixel four times, after those of p.
func join(p, half plane) plane {
	y := newPlane(p.channels+half.channels, p.side)
	copy(y.v, p.v)
	row, small := p.side+2, half.side+2
	for c := range half.channels {
		src, dst := half.channel(c), y.channel(p.channels+c)
		for i := range p.side {
			d, s := dst[(i+1)*row+1:][:p.side], src[(i/2+1)*small+1:]
			for j := range d {
				d[j] = s[j/2]
			}
		}
	}
	return y
}

func (p *plane) reading() *Reading {
	n := p.side
	r := &Reading{Kind: make([][Kinds]float32, n*n), Offset: make([][2]float32, n*n)}
	for i := range n {
		for j := range n {
			at := (i+1)*(n+2) + j + 1
			k := &r.Kind[i*n+j]
			top, sum := float32(math.Inf(-1)), float32(0)
			for c := range Kinds {
				top = max(top, p.channel(c)[at])
			}
			for c := range Kinds {
				k[c] = exponential(p.channel(c)[at] - top)
				sum += k[c]
			}
			for c := range Kinds {
				k[c] /= sum
			}
			r.Offset[i*n+j] = [2]float32{reach * p.channel(Kinds)[at], reach * p.channel(Kinds + 1)[at]}
		}
	}
	return r
}

// exponential is e to the power of x ≤ 0, the same on every processor: math.Exp differs
// in the last digit. x = k·ln 2 + r, and a polynomial for e^r on |r| ≤ ln 2/2.
func exponential(x float32) float32 {
	if x < -80 {
		return 0
	}
	t := float64(x)
	k := math.Floor(t*math.Log2E + 0.5)
	r := t - k*math.Ln2
	// Taylor's series; its rest is below 1e-8.
	e := 1.0
	for i := 9; i > 0; i-- {
		e = 1 + float64(float64(r*e)/float64(i))
	}
	return float32(math.Ldexp(e, int(k)))
}
