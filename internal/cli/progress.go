package cli

import (
	"fmt"
	"io"
	"os"
	"strings"
	"sync"

	"golang.org/x/term"
)

// progress is a line on a terminal that says how far a computation is; elsewhere
// it shows nothing.
type progress struct {
	w       io.Writer // nil where nothing is shown
	mu      sync.Mutex
	written string
}

// newProgress returns a progress line for w, which is empty as yet.
func newProgress(w io.Writer) *progress {
	if f, ok := w.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		return &progress{w: w}
	}
	return &progress{}
}

// progressCells is the width of the bar in letters.
const progressCells = 30

// show says that done of total positions are computed. It may be called from
// several goroutines.
func (p *progress) show(done, total int) { p.bar("positions", done, total) }

// sampled says that done of total samples are examined.
func (p *progress) sampled(done, total int) { p.bar("samples", done, total) }

func (p *progress) bar(what string, done, total int) {
	if p.w == nil || total <= 0 {
		return
	}
	full := done * progressCells / total
	line := fmt.Sprintf("%s [%s%s] %d/%d", what, strings.Repeat("=", full), strings.Repeat(" ", progressCells-full), done, total)
	p.mu.Lock()
	defer p.mu.Unlock()
	p.write(line)
}

// clear takes the line away.
func (p *progress) clear() {
	if p.w == nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.write("")
}

// write replaces the line by another. A terminal that cannot be written to is no
// reason to stop.
func (p *progress) write(line string) {
	if line == p.written {
		return
	}
	rest := max(0, len(p.written)-len(line))
	end := ""
	if line == "" {
		end = "\r"
	}
	_, _ = fmt.Fprint(p.w, "\r"+line+strings.Repeat(" ", rest)+end)
	p.written = line
}
