package serve

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path"
	"path/filepath"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// Limits on a case that is opened: a zip can hold far more than it weighs.
const (
	maxEntries = 1000
	maxCase    = 1 << 18
	maxScan    = 1 << 30
)

func isZip(name string) (bool, error) {
	f, err := os.Open(name)
	if err != nil {
		return false, err
	}
	var head [4]byte
	n, err := io.ReadFull(f, head[:])
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		err = nil
	}
	is := string(head[:n]) == "PK\x03\x04" || string(head[:n]) == "PK\x05\x06" // with files, or empty
	return is, errors.Join(err, f.Close())
}

// content is a file of a saved case.
type content struct {
	name string // with slashes
	open func() (io.ReadCloser, error)
}

// contents lists the files of the case: its own, what it names, and the results where they are of the case. What
// they hold depends on these alone. The caller holds mu.
func (s *session) contents() ([]content, error) {
	text, err := s.caseText()
	if err != nil {
		return nil, err
	}
	out := []content{{caseName, func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(text)), nil }}}
	add := func(name string) {
		out = append(out, content{name, func() (io.ReadCloser, error) { return os.Open(s.files.path(filepath.FromSlash(name))) }})
	}
	for _, x := range s.scans {
		for _, name := range x.arch().Files() {
			add(name)
		}
	}
	var folders []string
	if s.done {
		folders = append(folders, resultsName)
	}
	if s.done && s.tried {
		add(trialCase)
		folders = append(folders, trialName, trialName+"/before", trialName+"/after")
	}
	for _, dir := range folders {
		entries, err := os.ReadDir(s.files.path(filepath.FromSlash(dir)))
		if err != nil {
			return nil, err
		}
		for _, e := range entries {
			if e.Name()[0] != '.' && !e.IsDir() { // no lock, and no folder that is there by itself
				add(path.Join(dir, e.Name()))
			}
		}
	}
	return out, nil
}

// writeZip writes the case as a zip. The caller holds mu.
func (s *session) writeZip(w io.Writer) error {
	list, err := s.contents()
	if err != nil {
		return err
	}
	z := zip.NewWriter(w)
	for _, c := range list {
		to, err := z.CreateHeader(&zip.FileHeader{Name: c.name, Method: zip.Deflate})
		if err != nil {
			return err
		}
		from, err := c.open()
		if err != nil {
			return err
		}
		_, err = io.Copy(to, from)
		if err := errors.Join(err, from.Close()); err != nil {
			return err
		}
	}
	return z.Close()
}

// parcel is the files of a case that came, by the names that whoever sent them gave: text, which never becomes a path.
type parcel map[string]func() (io.ReadCloser, error)

// openZip takes a case from a zip. The caller holds mu.
func (s *session) openZip(name string) (err error) {
	z, err := zip.OpenReader(name)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, z.Close()) }()
	if len(z.File) > maxEntries {
		return s.sentence("serve.zip.many", language.With{"most": maxEntries})
	}
	in := parcel{}
	for _, f := range z.File {
		in[f.Name] = f.Open
	}
	return s.openCase(in)
}

// openCase takes a case from its files: the case file and what that names, under names of the server's
// own. The caller holds mu.
func (s *session) openCase(in parcel) error {
	at := ""
	for name := range in {
		if path.Base(name) == caseName && (at == "" || len(name) < len(at) || len(name) == len(at) && name < at) {
			at = name
		}
	}
	if at == "" {
		return s.sentence("serve.zip.none", language.With{"file": caseName})
	}
	text, err := readEntry(in[at])
	if err != nil {
		return err
	}
	c, _, err := casefile.Parse(caseName, text)
	if err != nil {
		return err
	}
	arches := [2]*casefile.Arch{&c.Upper, &c.Lower}
	var scans []*scan
	for i, a := range arches {
		x := &scan{name: plainName(a.Scan), file: jaws[i].String() + extension(a.Scan)}
		if a.Labels != "" {
			x.labels, x.given = jaws[i].String()+".labels.json", true
		}
		for k, name := range a.Again {
			x.again = append(x.again, fmt.Sprintf("%s.again-%d%s", jaws[i], k+1, extension(name)))
		}
		own := x.arch().Files()
		for k, name := range a.Files() { // in the same order
			entry := in[path.Join(path.Dir(at), filepath.ToSlash(name))]
			if entry == nil {
				return fmt.Errorf("%s: %w", plainName(name), os.ErrNotExist)
			}
			if err := s.extract(entry, own[k]); err != nil {
				return err
			}
		}
		scans = append(scans, x)
	}
	s.forget()
	s.c, s.scans, s.unit, s.told = c, scans, c.Units, true
	c.Dir = ""
	return nil
}

func readEntry(open func() (io.ReadCloser, error)) ([]byte, error) {
	r, err := open()
	if err != nil {
		return nil, err
	}
	text, err := io.ReadAll(io.LimitReader(r, maxCase+1))
	return text, errors.Join(err, r.Close())
}

// extract stores a file of a parcel.
func (s *session) extract(open func() (io.ReadCloser, error), name string) error {
	r, err := open()
	if err != nil {
		return err
	}
	most := &io.LimitedReader{R: r, N: maxScan + 1}
	err = s.files.store(name, most)
	if most.N == 0 {
		err = errors.Join(err, s.sentence("serve.large", language.With{"mb": maxScan >> 20}))
	}
	return errors.Join(err, r.Close())
}
