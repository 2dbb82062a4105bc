package report

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime/debug"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/report/internal/page"
)

// Origin is what a reader needs to repeat an examination: the program and the
// files it read, with their checksums. It holds no path but those that the case
// file says.
type Origin struct {
	Version string
	Inputs  []Input
}

// Input is a file that was read.
type Input struct {
	Role, Name, SHA256 string
}

// shown is the origin as the page takes it.
func (o *Origin) shown() *page.Origin {
	if o == nil {
		return nil
	}
	p := &page.Origin{Version: o.Version}
	for _, in := range o.Inputs {
		role := "role." + strings.ReplaceAll(in.Role, " ", "_")
		p.Inputs = append(p.Inputs, page.Input{Role: role, Name: in.Name, SHA256: in.SHA256})
	}
	return p
}

// NewOrigin reads the files of a case again and takes their SHA-256. caseFile is
// the path of the case file. The version is that of the running program.
func NewOrigin(caseFile string, c *casefile.Case) (*Origin, error) {
	o := &Origin{Version: "unknown"}
	if b, ok := debug.ReadBuildInfo(); ok && b.Main.Version != "" {
		o.Version = b.Main.Version
	}
	for _, in := range []struct{ role, name, path string }{
		{"case file", filepath.Base(caseFile), caseFile},
		{"upper scan", c.Upper.Scan, c.Path(c.Upper.Scan)},
		{"upper labels", c.Upper.Labels, c.Path(c.Upper.Labels)},
		{"lower scan", c.Lower.Scan, c.Path(c.Lower.Scan)},
		{"lower labels", c.Lower.Labels, c.Path(c.Lower.Labels)},
	} {
		if in.name == "" {
			continue
		}
		sum, err := checksum(in.path)
		if err != nil {
			return nil, fmt.Errorf("checksum of the %s: %w", in.role, err)
		}
		o.Inputs = append(o.Inputs, Input{in.role, in.name, sum})
	}
	return o, nil
}

func checksum(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}
