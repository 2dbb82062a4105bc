package archnet

// tiles convolves two rows with kernels of 3×3 by tiles of 2×2 pixels, with 16 products for four
// pixels instead of 36 (F(2×2, 3×3) of A. Lavin, S. Gray, Fast Algorithms for Convolutional
// Neural Networks, CVPR 2016, after S. Winograd).
type tiles struct {
	n     int          // tiles a row
	rows4 [4][]float32 // four rows of one channel, combined
	in    []float32    // of 16 places of a tile: of all channels: the transformed tiles
	out   []float32    // of 16 places: the transformed tiles of one channel of the result
}

func newTiles(l *layer, side int) *tiles {
	t := &tiles{n: side / 2, in: make([]float32, 16*l.in*side/2), out: make([]float32, 16*side/2)}
	for i := range t.rows4 {
		t.rows4[i] = make([]float32, side+2)
	}
	return t
}

// turn transforms a layer's kernels: for each of the 16 places of a tile, for each channel of the
// result, those of all channels.
func (l *layer) turn() {
	l.turned = make([]float32, 16*l.in*l.out)
	for o := range l.out {
		for c := range l.in {
			k := l.weight[(o*l.in+c)*9:][:9]
			var half [4][3]float64
			for j := range 3 {
				a, b, d := float64(k[j]), float64(k[3+j]), float64(k[6+j])
				half[0][j], half[1][j], half[2][j], half[3][j] = a, (a+b+d)/2, (a-b+d)/2, d
			}
			for i, h := range half {
				a, b, d := h[0], h[1], h[2]
				for j, v := range [4]float64{a, (a + b + d) / 2, (a - b + d) / 2, d} {
					l.turned[((4*i+j)*l.out+o)*l.in+c] = float32(v)
				}
			}
		}
	}
}

// rows computes the i-th two rows of a layer's result with the rectifier.
func (t *tiles) rows(l *layer, x, y *plane, i int) {
	for c := range l.in {
		t.transform(x.channel(c), c, l.in, i)
	}
	row := y.side + 2
	for o := range l.out {
		for p := range 16 {
			t.sum(t.out[p*t.n:][:t.n], t.in[p*l.in*t.n:][:l.in*t.n], l.turned[(p*l.out+o)*l.in:][:l.in])
		}
		dst := y.channel(o)
		t.back(dst[(2*i+1)*row+1:][:2*t.n], dst[(2*i+2)*row+1:][:2*t.n], l.bias[o])
	}
}

// transform takes four rows of a channel into their tiles.
func (t *tiles) transform(src []float32, c, channels, i int) {
	w := 2*t.n + 2
	a, b, d, e := src[2*i*w:][:w], src[(2*i+1)*w:][:w], src[(2*i+2)*w:][:w], src[(2*i+3)*w:][:w]
	r0, r1, r2, r3 := t.rows4[0][:w], t.rows4[1][:w], t.rows4[2][:w], t.rows4[3][:w]
	for j := range a {
		r0[j], r1[j], r2[j], r3[j] = a[j]-d[j], b[j]+d[j], d[j]-b[j], b[j]-e[j]
	}
	for k, r := range [4][]float32{r0, r1, r2, r3} {
		at := func(p int) []float32 { return t.in[((4*k+p)*channels+c)*t.n:][:t.n] }
		p0, p1, p2, p3 := at(0), at(1), at(2), at(3)
		for j := range p0 {
			q := r[2*j:][:4]
			p0[j], p1[j], p2[j], p3[j] = q[0]-q[2], q[1]+q[2], q[2]-q[1], q[1]-q[3]
		}
	}
}

// sum adds up the channels of one place, weighted.
func (t *tiles) sum(dst, src, w []float32) {
	clear(dst)
	n := len(dst)
	c := 0
	for ; c+4 <= len(w); c += 4 {
		a, b, d, e := src[c*n:][:n], src[(c+1)*n:][:n], src[(c+2)*n:][:n], src[(c+3)*n:][:n]
		wa, wb, wd, we := w[c], w[c+1], w[c+2], w[c+3]
		for j := range dst {
			dst[j] += (float32(wa*a[j]) + float32(wb*b[j])) + (float32(wd*d[j]) + float32(we*e[j]))
		}
	}
	for ; c < len(w); c++ {
		a, wa := src[c*n:][:n], w[c]
		for j := range dst {
			dst[j] += float32(wa * a[j])
		}
	}
}

// back takes the tiles of a channel into its two rows.
func (t *tiles) back(first, second []float32, bias float32) {
	n := t.n
	at := func(p int) []float32 { return t.out[p*n:][:n] }
	var m [16][]float32
	for p := range m {
		m[p] = at(p)
	}
	for j := range n {
		var up, down [4]float32
		for k := range 4 {
			a, b, d, e := m[k][j], m[4+k][j], m[8+k][j], m[12+k][j]
			up[k], down[k] = a+b+d, b-d-e
		}
		first[2*j] = max(up[0]+up[1]+up[2]+bias, 0)
		first[2*j+1] = max(up[1]-up[2]-up[3]+bias, 0)
		second[2*j] = max(down[0]+down[1]+down[2]+bias, 0)
		second[2*j+1] = max(down[1]-down[2]-down[3]+bias, 0)
	}
}
