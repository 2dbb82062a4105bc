package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
)

// programs runs the peers' programs.
type programs struct {
	ctx                        context.Context
	tmp, upper, lower, queries string
	reps                       int
	done                       map[string][]result // by program and work
}

// result is a line that a program prints.
type result map[string]any

func (r result) text(key string) string { s, _ := r[key].(string); return s }

// number is NaN where there is none, except for options that were not used.
func (r result) number(key string) float64 {
	x, ok := r[key].(float64)
	if !ok && key == "nearest_points" {
		return 0
	}
	if !ok {
		return math.NaN()
	}
	return x
}

func (r result) numbers(key string) (out []float64) {
	list, _ := r[key].([]any)
	for _, x := range list {
		f, ok := x.(float64)
		if !ok {
			f = math.NaN()
		}
		out = append(out, f)
	}
	return out
}

// build makes the programs with the optimisation that serves them best.
func (p *programs) build(sources string) error {
	p.done = map[string][]result{}
	cmd := exec.CommandContext(p.ctx, "make", "-s", "-C", sources, "BIN="+p.tmp, filepath.Join(p.tmp, "cgal_o3"),
		filepath.Join(p.tmp, "fcl_o3"))
	cmd.Stderr = os.Stderr
	if err := cmd.Run(); err != nil {
		return fmt.Errorf("the peers' programs do not build (Debian: g++, make, libcgal-dev, libfcl-dev): %w", err)
	}
	return nil
}

// find is the first result with the given name that keep accepts.
func (p *programs) find(lib, work, name string, keep func(result) bool) (result, error) {
	all, err := p.run(lib, work)
	if err != nil {
		return nil, err
	}
	for _, r := range all {
		if r.text("work") == name && keep(r) {
			return r, nil
		}
	}
	return nil, fmt.Errorf("%s told nothing of %s", lib, name)
}

func (p *programs) run(lib, work string) ([]result, error) {
	key := lib + " " + work
	if r, ok := p.done[key]; ok {
		return r, nil
	}
	cmd := exec.CommandContext(p.ctx, filepath.Join(p.tmp, lib+"_o3"), "--work", work, "--name", "arch180k",
		"--upper", p.upper, "--lower", p.lower, "--queries", p.queries, "--reps", strconv.Itoa(p.reps), "--poses", "61")
	cmd.Stderr = os.Stderr
	raw, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("%s %s: %w", lib, work, err)
	}
	var out []result
	for lines := bufio.NewScanner(bytes.NewReader(raw)); lines.Scan(); {
		var r result
		if err := json.Unmarshal(lines.Bytes(), &r); err != nil {
			return nil, fmt.Errorf("%s %s: %w", lib, work, err)
		}
		out = append(out, r)
	}
	p.done[key] = out
	return out, nil
}

// closings is the mean time of FCL's bisections, in ms, and the angles in rad.
func (p *programs) closings() (ms float64, angles []float64, err error) {
	all, err := p.run("fcl", "w4")
	if err != nil {
		return 0, nil, err
	}
	for _, r := range all {
		if r.text("method") == "bisection on collide()" {
			ms += r.number("ms")
			angles = append(angles, r.number("contact_deg")*math.Pi/180)
		}
	}
	if len(angles) == 0 {
		return 0, nil, errors.New("fcl told nothing of closings")
	}
	return ms / float64(len(angles)), angles, nil
}

func largestDifference(a, b []float64) float64 {
	if len(a) != len(b) {
		return math.Inf(1)
	}
	d := 0.0
	for i := range a {
		d = max(d, math.Abs(a[i]-b[i]))
	}
	return d
}
