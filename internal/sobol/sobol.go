// Package sobol has scrambled Sobol sequences: points that fill the unit cube more evenly
// than random ones, so that shares and means of fewer samples are as good.
package sobol

import "math/bits"

// MaxDims is the most dimensions of a sequence.
const MaxDims = 64

// size is the bits of a coordinate.
const size = 32

// Sequence is a Sobol sequence with Owen's nested uniform scrambling (A. B. Owen 1995,
// "Randomly permuted (t,m,s)-nets and (t,s)-sequences"): every bit of a coordinate is flipped
// or not by a hash of the seed, the dimension and the bits before it. Point i depends on
// the seed and i alone. A Sequence never changes and is safe for any number of readers.
type Sequence struct {
	directions [][size]uint32
	seeds      []uint64
}

// New makes the sequence of some dimensions, at most [MaxDims]; more panic.
func New(dims int, seed uint64) *Sequence {
	s := plain(dims)
	for k := range s.directions {
		s.seeds = append(s.seeds, Mix(seed+uint64(k)*0x9e3779b97f4a7c15))
	}
	return s
}

// plain is the sequence without scrambling.
func plain(dims int) *Sequence {
	if dims < 0 || dims > MaxDims {
		panic("sobol: dimensions beyond the table")
	}
	s := &Sequence{directions: make([][size]uint32, dims)}
	for k := range s.directions {
		s.directions[k] = directions(k)
	}
	return s
}

// directions is the direction numbers of a dimension, by the recurrence of Joe and Kuo.
func directions(dim int) (v [size]uint32) {
	if dim == 0 {
		for i := range v {
			v[i] = 1 << (size - 1 - i)
		}
		return v
	}
	p := &table[dim-1]
	d := int(p.degree)
	for i := range v {
		if i < d {
			v[i] = p.first[i] << (size - 1 - i)
			continue
		}
		v[i] = v[i-d] ^ v[i-d]>>p.degree
		for k := 1; k < d; k++ {
			if p.inner>>(d-1-k)&1 != 0 {
				v[i] ^= v[i-k]
			}
		}
	}
	return v
}

// Dims is the number of dimensions.
func (s *Sequence) Dims() int { return len(s.directions) }

// Point puts point i into dst, whose length is at most that of the dimensions:
// coordinates above 0 and below 1.
func (s *Sequence) Point(i uint32, dst []float64) {
	for k := range dst {
		x := s.bits(i, k)
		if s.seeds != nil {
			x = scramble(x, s.seeds[k])
		}
		dst[k] = (float64(x) + 0.5) / (1 << size)
	}
}

// bits is coordinate k of point i in the order of Gray codes.
func (s *Sequence) bits(i uint32, k int) (x uint32) {
	for gray := i ^ i>>1; gray != 0; gray &= gray - 1 {
		x ^= s.directions[k][bits.TrailingZeros32(gray)]
	}
	return x
}

// scramble flips each bit by a hash of those above it.
func scramble(x uint32, seed uint64) uint32 {
	out := uint32(0)
	for k := range size {
		above := uint64(x) >> (size - k) // the k bits before
		flip := uint32(Mix(seed^(1<<k|above))) & 1
		bit := x >> (size - 1 - k) & 1
		out = out<<1 | bit ^ flip
	}
	return out
}

// Mix is a hash of a number: the finaliser of splitmix64 (Steele, Lea and Flood 2014,
// OOPSLA, "Fast splittable pseudorandom number generators").
func Mix(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}
