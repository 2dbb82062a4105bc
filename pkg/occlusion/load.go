package occlusion

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"

	"github.com/cusptrace/cusptrace/internal/faults"
	"github.com/cusptrace/cusptrace/internal/inputfile"
	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/inspect"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
)

// Load reads the scans and labels of a case. Mistakes in the files are faults
// that name file and place.
func Load(ctx context.Context, c *casefile.Case) (upper, lower *casts.Scan, err error) {
	if err := ctx.Err(); err != nil {
		return nil, nil, err
	}
	err = par.BothErr(func() (err error) {
		upper, err = loadScan(ctx, c, c.Upper, dentition.Upper)
		return err
	}, func() (err error) {
		lower, err = loadScan(ctx, c, c.Lower, dentition.Lower)
		return err
	})
	return upper, lower, err
}

func loadScan(ctx context.Context, c *casefile.Case, a casefile.Arch, jaw dentition.Jaw) (*casts.Scan, error) {
	path := c.Path(a.Scan)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	sum := sha256.New()
	raw, err := meshfile.ReadFile(path, meshfile.ReadOptions{Unit: c.Units, Tee: sum})
	if err != nil {
		return nil, faultIn(path, err)
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	m, _ := mesh.Weld(raw, 0)
	if err := inspect.CheckArch(m, c.Units); err != nil {
		return nil, faultIn(path, err)
	}
	s := &casts.Scan{Mesh: m, Merged: raw.NumVertices() - m.NumVertices()}
	roles := [2]findings.InputRole{findings.UpperScan, findings.UpperLabels}
	if jaw == dentition.Lower {
		roles = [2]findings.InputRole{findings.LowerScan, findings.LowerLabels}
	}
	add := func(role findings.InputRole, name string, sum hash.Hash) {
		s.Inputs = append(s.Inputs, findings.Input{Role: role, File: name, SHA256: hex.EncodeToString(sum.Sum(nil))})
	}
	add(roles[0], a.Scan, sum)
	if err := loadAgain(c, a, jaw, s); err != nil {
		return nil, err
	}
	if a.Labels == "" {
		return s, ctx.Err()
	}
	path = c.Path(a.Labels)
	f, _, err := inputfile.Open(path)
	if err != nil {
		return nil, faultIn(path, err)
	}
	defer f.Close()
	sum.Reset()
	if s.Labels, err = dentition.ReadLabels(path, io.TeeReader(f, sum), jaw, m.NumVertices()); err != nil {
		return nil, faultIn(path, err)
	}
	add(roles[1], a.Labels, sum)
	if s.Teeth, err = s.Labels.Triangles(m); err != nil {
		return nil, faultIn(path, err)
	}
	return s, ctx.Err()
}

// loadAgain reads the further scans of an arch.
func loadAgain(c *casefile.Case, a casefile.Arch, jaw dentition.Jaw, s *casts.Scan) error {
	role := findings.UpperAgain
	if jaw == dentition.Lower {
		role = findings.LowerAgain
	}
	for _, name := range a.Again {
		path, sum := c.Path(name), sha256.New()
		raw, err := meshfile.ReadFile(path, meshfile.ReadOptions{Unit: c.Units, Tee: sum})
		if err != nil {
			return faultIn(path, err)
		}
		m, _ := mesh.Weld(raw, 0)
		if err := inspect.CheckArch(m, c.Units); err != nil {
			return faultIn(path, err)
		}
		in := findings.Input{Role: role, File: name, SHA256: hex.EncodeToString(sum.Sum(nil))}
		for _, other := range s.Inputs {
			if other.SHA256 == in.SHA256 {
				return faultIn(path, fmt.Errorf("the same bytes as %s: a copy says nothing of how scans differ; name a scan that was "+
					"made anew, or none", other.File))
			}
		}
		s.Again, s.Inputs = append(s.Again, casts.Again{Mesh: m, File: path}), append(s.Inputs, in)
	}
	return nil
}

// faultIn makes err a fault of an input file, unless it is one.
func faultIn(path string, err error) error {
	var parse *meshfile.ParseError
	if faults.In(err) || errors.As(err, &parse) {
		return err
	}
	return &faults.Fault{File: path, Err: err}
}
