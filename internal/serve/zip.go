package serve

import (
	"archive/zip"
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

// writeZip writes the case: its file, what it names, and the results where they are of the case. The
// bytes depend on these alone. The caller holds mu.
func (s *session) writeZip(w io.Writer) error {
	z := zip.NewWriter(w)
	add := func(name string, from io.Reader) error {
		to, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate})
		if err == nil {
			_, err = io.Copy(to, from)
		}
		return err
	}
	addFile := func(name, from string) error {
		f, err := os.Open(from)
		if err != nil {
			return err
		}
		return errors.Join(add(name, f), f.Close())
	}
	text, err := s.caseText()
	if err != nil {
		return err
	}
	to, err := z.CreateHeader(&zip.FileHeader{Name: caseName, Method: zip.Deflate})
	if err != nil {
		return err
	}
	if _, err := to.Write(text); err != nil {
		return err
	}
	for _, x := range s.scans {
		for _, name := range x.arch().Files() {
			if err := addFile(name, s.files.path(name)); err != nil {
				return err
			}
		}
	}
	var folders []string
	if s.done {
		folders = append(folders, resultsName)
	}
	if s.done && s.tried != nil {
		if err := addFile(trialCase, s.files.path(trialCase)); err != nil {
			return err
		}
		folders = append(folders, trialName, trialName+"/before", trialName+"/after")
	}
	for _, dir := range folders {
		entries, err := os.ReadDir(s.files.path(filepath.FromSlash(dir)))
		if err != nil {
			return err
		}
		for _, e := range entries {
			if e.Name()[0] == '.' || e.IsDir() {
				continue // a lock, or a folder that is there by itself
			}
			if err := addFile(path.Join(dir, e.Name()), filepath.Join(s.files.path(filepath.FromSlash(dir)), e.Name())); err != nil {
				return err
			}
		}
	}
	return z.Close()
}

// openCase takes a case from a zip: its case file and what that names, under names of the server's
// own. The caller holds mu.
func (s *session) openCase(name string) (err error) {
	z, err := zip.OpenReader(name)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, z.Close()) }()
	in := map[string]*zip.File{}
	at := ""
	for i, f := range z.File {
		if i == maxEntries {
			return errors.New(s.o.Language.Write(language.Say("serve.zip.many", language.With{"most": maxEntries}), 0))
		}
		in[f.Name] = f
		if path.Base(f.Name) == caseName && (at == "" || len(f.Name) < len(at)) {
			at = f.Name
		}
	}
	if at == "" {
		return errors.New(s.o.Language.Write(language.Say("serve.zip.none", language.With{"file": caseName}), 0))
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

func readEntry(f *zip.File) ([]byte, error) {
	r, err := f.Open()
	if err != nil {
		return nil, err
	}
	text, err := io.ReadAll(io.LimitReader(r, maxCase+1))
	return text, errors.Join(err, r.Close())
}

// extract stores a file of a zip.
func (s *session) extract(f *zip.File, name string) error {
	r, err := f.Open()
	if err != nil {
		return err
	}
	most := &io.LimitedReader{R: r, N: maxScan + 1}
	err = s.files.store(name, most)
	if most.N == 0 {
		err = errors.Join(err, errors.New(s.o.Language.Write(language.Say("serve.large", language.With{"mb": maxScan >> 20}), 0)))
	}
	return errors.Join(err, r.Close())
}
