// Package mutate damages the files of a case as hands, transfers and bad programs do: it
// knows what facets, headers, lines and numbers are, so that much of what it makes is read
// far before it is refused, or is read. The same random numbers give the same damage.
package mutate

import (
	"bytes"
	"encoding/binary"
	"math"
	"math/rand/v2"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// File damages the content of a file one to three times, as its name's ending asks.
func File(r *rand.Rand, name string, data []byte) []byte {
	out := bytes.Clone(data)
	for range 1 + r.IntN(3) {
		switch ext := strings.ToLower(filepath.Ext(name)); {
		case r.IntN(5) == 0:
			out = Bytes(r, out)
		case ext == ".stl":
			out = STL(r, out)
		case ext == ".ply":
			out = PLY(r, out)
		default:
			out = Text(r, out)
		}
	}
	return out
}

// Bytes damages a file of any kind: bits, pieces that are lost, doubled, exchanged or put
// in, and an end that comes too early.
func Bytes(r *rand.Rand, b []byte) []byte {
	if len(b) == 0 {
		return []byte{byte(r.Uint32())}
	}
	i := r.IntN(len(b))
	n := 1 + r.IntN(min(len(b)-i, 64))
	switch r.IntN(7) {
	case 0:
		b[i] ^= 1 << r.IntN(8)
	case 1:
		for k := range n {
			b[i+k] = byte(r.Uint32())
		}
	case 2:
		return slices.Delete(b, i, i+n)
	case 3:
		return slices.Insert(b, i, bytes.Clone(b[i:i+n])...)
	case 4:
		return b[:i]
	case 5:
		j := r.IntN(len(b) - n + 1)
		piece := bytes.Clone(b[i : i+n])
		copy(b[i:], b[j:j+n])
		copy(b[j:], piece)
	case 6:
		return slices.Insert(b, i, []byte(pick(r, marks))...)
	}
	return b
}

// marks are pieces of text with which programs have had trouble.
var marks = []string{"\x00", "\xff\xfe", "\ufeff", "\u202e", "\u2028", "\x1b[2J", "\r", "\n\n", "\t", "é", "𝟘",
	"%s%n", "../", "&a *a", "<!--", "\\", "\"", "'"}

// numbers are the numbers with which programs have had trouble.
var numbers = []string{"0", "-0", "-1", "1", "2147483647", "2147483648", "4294967296", "-9223372036854775808", "1e308", "1e309", "-1e-320",
	"nan", ".nan", "NaN", "inf", "-.inf", "0x10", "1_000", "1,5", "1e", "", "00012", "3.0000000000000001", "999999999999999999999999"}

func pick(r *rand.Rand, from []string) string { return from[r.IntN(len(from))] }

// Places and lengths in a binary STL file.
const (
	stlHeader = 84
	stlFacet  = 50
	stlCorner = 12 // of the first corner within a facet
)

// float is a coordinate of a kind that is easily got wrong.
func float(r *rand.Rand) float32 {
	return [...]float32{float32(math.NaN()), float32(math.Inf(1)), float32(math.Inf(-1)), 0, math.MaxFloat32, math.SmallestNonzeroFloat32,
		-1e-30, 1e6, -1e6, 1e3, float32(r.NormFloat64()), float32(20 * r.NormFloat64())}[r.IntN(12)]
}

// STL damages a binary STL file: its count, corners, and facets that are doubled, lost,
// turned over or taken elsewhere.
func STL(r *rand.Rand, b []byte) []byte {
	n := (len(b) - stlHeader) / stlFacet
	if n < 2 {
		return Bytes(r, b)
	}
	at := func(i int) []byte { return b[stlHeader+stlFacet*i:][:stlFacet] }
	i, j := r.IntN(n), r.IntN(n)
	recount := func() { binary.LittleEndian.PutUint32(b[stlHeader-4:], uint32((len(b)-stlHeader)/stlFacet)) }
	switch r.IntN(9) {
	case 0:
		binary.LittleEndian.PutUint32(b[stlHeader-4:], [...]uint32{0, 1, uint32(n) - 1, uint32(n) + 1, math.MaxInt32, math.MaxUint32}[r.IntN(6)])
	case 1:
		binary.LittleEndian.PutUint32(at(i)[stlCorner+4*r.IntN(9):], math.Float32bits(float(r)))
	case 2: // all corners from somewhere on
		scale := float(r)
		for k := i; k < n; k++ {
			for c := range 9 {
				p := at(k)[stlCorner+4*c:]
				binary.LittleEndian.PutUint32(p, math.Float32bits(scale*math.Float32frombits(binary.LittleEndian.Uint32(p))))
			}
		}
	case 3:
		b = append(b, bytes.Repeat(bytes.Clone(at(i)), 1+r.IntN(50))...)
		recount()
	case 4:
		b = slices.Delete(b, stlHeader+stlFacet*min(i, j), stlHeader+stlFacet*max(i, j))
		recount()
	case 5: // turned over
		for k := min(i, j); k < max(i, j); k++ {
			f := at(k)
			one := bytes.Clone(f[stlCorner : stlCorner+12])
			copy(f[stlCorner:], f[stlCorner+12:stlCorner+24])
			copy(f[stlCorner+12:], one)
		}
	case 6: // corners of one facet in another
		copy(at(i)[stlCorner+12*r.IntN(3):][:12], at(j)[stlCorner:])
	case 7: // a facet without area
		copy(at(i)[stlCorner:], at(i)[stlCorner+12:stlCorner+24])
	case 8:
		copy(b, "solid of a careless program")
	}
	return b
}

// PLY damages a PLY file: its header as a text, or what follows it.
func PLY(r *rand.Rand, b []byte) []byte {
	const end = "end_header\n"
	i := bytes.Index(b, []byte(end))
	if i < 0 || r.IntN(3) == 0 {
		return Bytes(r, b)
	}
	body := bytes.Clone(b[i:])
	if r.IntN(2) == 0 {
		return append(Text(r, bytes.Clone(b[:i])), body...)
	}
	if len(body) > len(end)+8 {
		p := body[len(end)+r.IntN(len(body)-len(end)-8):]
		switch r.IntN(3) {
		case 0:
			binary.LittleEndian.PutUint32(p, math.Float32bits(float(r)))
		case 1:
			binary.LittleEndian.PutUint32(p, r.Uint32())
		case 2:
			p[0] = byte(r.Uint32())
		}
	}
	return append(b[:i:i], body...)
}

var number = regexp.MustCompile(`-?[0-9]+(\.[0-9]+)?`)

// Text damages a text: numbers, words and lines that are changed, lost, doubled, exchanged
// or nested.
func Text(r *rand.Rand, b []byte) []byte {
	lines := strings.SplitAfter(string(b), "\n")
	i, j := r.IntN(len(lines)), r.IntN(len(lines))
	switch r.IntN(9) {
	case 0, 1, 2:
		if at := number.FindAllIndex(b, -1); len(at) > 0 {
			k := at[r.IntN(len(at))]
			return slices.Concat(b[:k[0]:k[0]], []byte(pick(r, numbers)), b[k[1]:])
		}
		return Bytes(r, b)
	case 3:
		lines[i] = strings.Replace(lines[i], ":", pick(r, []string{"", "::", ": [", ": {", ": &a ", ": *a ", ": !!str ", ":\n    "}), 1)
	case 4:
		lines = slices.Delete(lines, i, i+1)
	case 5:
		lines = slices.Insert(lines, j, lines[i])
	case 6:
		lines[i], lines[j] = lines[j], lines[i]
	case 7:
		lines[i] = strings.Repeat(pick(r, []string{" ", "[", "{", "- ", "\t", "a: "}), 1+r.IntN(40)) + lines[i]
	case 8:
		words := strings.Fields(string(b))
		if len(words) > 0 {
			lines[i] = strings.Replace(lines[i], " ", " "+words[r.IntN(len(words))], 1)
		}
	}
	return []byte(strings.Join(lines, ""))
}
