package meshfile

import (
	"encoding/binary"
	"math"
)

// plySource reads the records that follow a PLY header, from text or bytes.
type plySource interface {
	fits(plyElement) error           // whether so many records can be left
	begin() error                    // starts a record
	number(plyType) (float64, error) // reads a value
	skip(t plyType, n int) error     // passes over n values
	most(plyType) int                // how many values can be left
	done() error                     // ends a record
	end() error                      // ends the file
	fault(error) error               // places a fault at what was read last
}

// plyText is a text file: one record a line.
type plyText struct{ *text }

func (s *plyText) fits(e plyElement) error {
	// A value takes two bytes at least, with the space or line end after it.
	if need := 2*int64(e.count)*int64(len(e.props)) - 1; need > int64(len(s.rest)) {
		return atLine(e.line, ErrCount, "%d records of element %q take %d bytes at least, but only %d follow", e.count, e.name, need, len(s.rest))
	}
	return nil
}

func (s *plyText) begin() error {
	for s.next() {
		for _, c := range s.cur {
			if c > ' ' {
				return nil
			}
		}
	}
	return atLine(s.line, ErrTruncated, "fewer records than the header says")
}

func (s *plyText) number(plyType) (float64, error) { return s.text.number(s.field()) }

func (s *plyText) skip(_ plyType, n int) error {
	for range n {
		if s.field() == nil {
			return atLine(s.line, ErrTruncated, "fewer values than the header says")
		}
	}
	return nil
}

func (s *plyText) most(plyType) int { return (len(s.cur) + 1) / 2 }

func (s *plyText) done() error {
	if w := s.field(); w != nil {
		return atLine(s.line, ErrSyntax, "found %s after the last value that the header names", quote(w))
	}
	return nil
}

func (s *plyText) end() error {
	if w := s.word(); w != nil {
		return atLine(s.line, ErrCount, "found %s after the last record that the header counts", quote(w))
	}
	return nil
}

func (s *plyText) fault(err error) error {
	return &ParseError{Line: s.line, Offset: -1, Err: err}
}

// plyBinary is a binary file in either byte order.
type plyBinary struct {
	data  []byte
	pos   int // next byte
	last  int // first byte of the value read last
	order binary.ByteOrder
}

func (s *plyBinary) left() int { return len(s.data) - s.pos }

func (s *plyBinary) fits(e plyElement) error {
	if need := int64(e.count) * int64(e.leastBytes()); need > int64(s.left()) {
		return atByte(int64(s.pos), ErrCount, "%d records of element %q take %d bytes at least, but only %d follow",
			e.count, e.name, need, s.left())
	}
	return nil
}

func (s *plyBinary) begin() error { return nil }

func (s *plyBinary) number(t plyType) (float64, error) {
	n := t.size()
	if n > s.left() {
		return 0, atByte(int64(s.pos), ErrTruncated, "expected a value of %d bytes, %d are left", n, s.left())
	}
	b := s.data[s.pos : s.pos+n]
	s.last = s.pos
	s.pos += n
	switch t {
	case plyInt8:
		return float64(int8(b[0])), nil
	case plyUint8:
		return float64(b[0]), nil
	case plyInt16:
		return float64(int16(s.order.Uint16(b))), nil
	case plyUint16:
		return float64(s.order.Uint16(b)), nil
	case plyInt32:
		return float64(int32(s.order.Uint32(b))), nil
	case plyUint32:
		return float64(s.order.Uint32(b)), nil
	case plyFloat32:
		return float64(math.Float32frombits(s.order.Uint32(b))), nil
	default:
		return math.Float64frombits(s.order.Uint64(b)), nil
	}
}

func (s *plyBinary) skip(t plyType, n int) error {
	if n > s.left()/t.size() {
		return atByte(int64(s.pos), ErrTruncated, "expected %d values of %d bytes, %d bytes are left", n, t.size(), s.left())
	}
	s.pos += n * t.size()
	return nil
}

func (s *plyBinary) most(t plyType) int { return s.left() / t.size() }

func (s *plyBinary) done() error { return nil }

// end passes over a line end, which some programs write after the last record.
func (s *plyBinary) end() error {
	for i := s.pos; i < len(s.data); i++ {
		if c := s.data[i]; c != '\r' && c != '\n' {
			return atByte(int64(s.pos), ErrCount, "found %d bytes after the last record that the header counts", s.left())
		}
	}
	return nil
}

func (s *plyBinary) fault(err error) error {
	return &ParseError{Offset: int64(s.last), Err: err}
}
