package premature

import (
	"context"
	"errors"
	"math"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/staircase"
	"github.com/cusptrace/cusptrace/pkg/settle"
)

// A lower cast that stands off where it should is told by where it locks: pressed together,
// casts whose teeth fit come back from a shift and a turn alike, which a staircase alone does
// not tell apart, since a shift brings other slopes into contact than would meet without it.

// gains is how many lower teeth more must meet together where the casts lock than as given,
// where no motion is granted,
// for their way there to explain what the given relation showed; our choice.
const gains = 3

// Of what is told of a displacement: shifts from this, mm, and turns that move the molars or
// the incisors by it against the middle; our choice, somewhat more than scans can tell.
const (
	toldMM  = 0.05
	halfMM  = 25.0 // from the middle of an arch to its ends
	toldDeg = toldMM / halfMM * 180 / math.Pi
)

// leaves says whether a staircase leaves open that the casts stand off their place: it reads as a
// turn or as nothing, or as a high tooth above so few teeth that enough more can meet. Where hardly
// any pair meets within a millimetre, nothing can be read, and the place may still be found.
func (s *stairs) leaves() bool {
	switch s.Shape {
	case findings.ShapeUnknown, findings.ShapeUneven:
		return true
	case findings.ShapeHigh:
		return s.Motion != (staircase.Motion{}) || s.Plain+gains <= s.Teeth
	}
	return s.Motion != (staircase.Motion{})
}

// displaced is how the lower cast stood off the place in which the casts lock, and the
// staircase and its reading there; nil where that explains nothing.
func displaced(ctx context.Context, e *frames.Setup, given *stairs, seat *findings.Seat) (*findings.Displacement, *stairs, error) {
	c := e.Casts
	if !labelled(c) || !given.leaves() {
		return nil, nil, nil
	}
	if seat == nil {
		s, err := settle.Settle(ctx, c.Upper, c.Scanned, settle.Options{How: casefile.SettleSeat, DoubtUm: math.Inf(1)})
		switch {
		case errors.Is(err, settle.ErrSettle), errors.Is(err, casts.ErrApart):
			return nil, nil, nil
		case err != nil:
			return nil, nil, err
		}
		seat = s.Seat
	}
	if seat == nil || !seat.Locked {
		return nil, nil, nil
	}
	m, err := c.Scanned.Mesh().Transform(seat.Pose.Apply)
	if err != nil {
		return nil, nil, err
	}
	arch, err := c.Scanned.Moved(m, nil)
	if err != nil {
		return nil, nil, err
	}
	closer, err := contact.NewCloser(ctx, c.Upper.Arch, arch, contact.Options{})
	if err != nil {
		return nil, nil, err
	}
	steps := climb(c, closer, &casts.Cast{Arch: arch, Jaw: dentition.Lower, Teeth: c.Scanned.Teeth, ByPart: c.Scanned.ByPart})
	r := staircase.Read(kinematics.Pose{}, steps, e.Case.Thresholds.ScanDoubtUm/1000)
	if r.Shape != findings.ShapeLevel && r.Shape != findings.ShapeHigh || r.Motion != (staircase.Motion{}) ||
		r.Within < given.Plain+gains || r.Within < given.Within {
		return nil, nil, nil
	}
	d := &findings.Displacement{
		ShiftMM: findings.Vec{-seat.ShiftMM[0], -seat.ShiftMM[1], -seat.ShiftMM[2]},
		RollDeg: seat.TurnDeg[1], PitchDeg: seat.TurnDeg[0], YawDeg: -seat.TurnDeg[2],
	}
	d.Text = displacedWords(d)
	if d.Text.Empty() {
		return nil, nil, nil
	}
	return d, &stairs{steps, r, seat.Pose.Pose}, nil
}

// displacedWords say how a lower cast stands; empty where it is less than is told.
func displacedWords(d *findings.Displacement) findings.Sentence {
	var out []findings.Sentence
	add := func(unit string, size, least float64, plus, minus string) {
		switch {
		case size >= least:
			out = append(out, language.Say(plus, language.With{unit: size}))
		case -size >= least:
			out = append(out, language.Say(minus, language.With{unit: -size}))
		}
	}
	add("mm", d.ShiftMM[1], toldMM, "displaced.back", "displaced.forward")
	add("mm", d.ShiftMM[0], toldMM, "displaced.left", "displaced.right")
	add("mm", d.ShiftMM[2], toldMM, "displaced.high", "displaced.low")
	add("deg", d.RollDeg, toldDeg, "tilt.up.left", "tilt.up.right")
	add("deg", d.PitchDeg, toldDeg, "tilt.up.front", "tilt.up.back")
	add("deg", d.YawDeg, toldDeg, "displaced.turned.left", "displaced.turned.right")
	if len(out) == 0 {
		return findings.Sentence{}
	}
	return language.Join(language.And(out))
}
