package serve

import (
	"context"
	"crypto/rand"
	"errors"
	"io"
	"log"
	"net"
	"net/http"
	"os"
	"sync"
	"time"

	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
)

// Options are how a server is run.
type Options struct {
	// Version is that of the program, for the reports.
	Version string
	// Workers is the number of goroutines of an examination, 0 for one a processor.
	Workers int
	// Temp is the folder in which the private folder is made, that of the system where it is empty.
	Temp string
	// Language is that of the pages and reports, English where it is nil.
	Language *language.Language
	// MaxUpload is how many bytes may come at once, 1 GiB where it is 0.
	MaxUpload int64
	// Samples is how many samples an examination takes, [occlusion.DefaultSamples] where it is 0.
	Samples int
	// Idle is how long after its last page was closed the server ends by itself, unless it is at work;
	// never where it is 0.
	Idle time.Duration
}

// Server is one server with its case. It listens on this machine alone.
type Server struct {
	guard    guard
	listener net.Listener
	http     http.Server
	files    *folder
	session  *session
	stop     context.CancelFunc
	end      chan struct{} // closed when the person ends the program in the page
	endOnce  sync.Once

	uploading sync.Mutex // held by the upload that is coming
	uploads   int        // files that came, for their names
}

// Listen makes the private folder and listens on a free port of 127.0.0.1. Whoever calls it must
// call [Server.Close] in the end.
func Listen(o Options) (*Server, error) {
	if o.Temp == "" {
		o.Temp = os.TempDir()
	}
	if o.MaxUpload == 0 {
		o.MaxUpload = 1 << 30
	}
	if o.Samples == 0 {
		o.Samples = occlusion.DefaultSamples
	}
	if o.Language == nil {
		o.Language = language.English()
	}
	files, err := openFolder(o.Temp)
	if err != nil {
		if files != nil {
			err = errors.Join(err, files.close())
		}
		return nil, err
	}
	l, err := net.Listen("tcp4", "127.0.0.1:0")
	if err != nil {
		return nil, errors.Join(err, files.close())
	}
	ctx, stop := context.WithCancel(context.Background())
	s := &Server{listener: l, files: files, stop: stop, end: make(chan struct{}), session: newSession(ctx, files, o)}
	s.guard = guard{host: l.Addr().String(), key: rand.Text(), next: s.routes(o)}
	s.http = http.Server{
		Handler: &s.guard, ReadHeaderTimeout: 5 * time.Second, IdleTimeout: time.Minute, MaxHeaderBytes: 1 << 16,
		ErrorLog:    log.New(io.Discard, "", 0), // of connections that break
		BaseContext: func(net.Listener) context.Context { return ctx },
	}
	return s, nil
}

// Link is the address to open, with the secret.
func (s *Server) Link() string { return "http://" + s.guard.host + openPath + s.guard.key }

// Page writes a file in the private folder that leads a browser to the link, and returns its path: what
// stands on the command line of a browser, every user of the machine can read.
func (s *Server) Page() (string, error) {
	const name = "open.html"
	page := `<!DOCTYPE html><title>cusptrace</title><meta name="referrer" content="no-referrer"><meta http-equiv="refresh" content="0;url=` +
		s.Link() + `"><a href="` + s.Link() + `">cusptrace</a>`
	err := s.files.write(func() error { return os.WriteFile(s.files.path(name), []byte(page), 0o600) })
	return s.files.path(name), err
}

// Serve answers until the context is cancelled or the person ends the program in the page.
func (s *Server) Serve(ctx context.Context) error {
	failed := make(chan error, 1)
	go func() { failed <- s.http.Serve(s.listener) }()
	select {
	case err := <-failed:
		return err
	case <-ctx.Done():
	case <-s.session.idle():
	case <-s.end:
		s.stop()
		last, cancel := context.WithTimeout(ctx, time.Second) // the last page goes out
		defer cancel()
		_ = s.http.Shutdown(last) // what is left, Close closes
	}
	return nil
}

// Close ends everything and removes the private folder.
func (s *Server) Close() error {
	s.stop()
	err := s.http.Close()
	return errors.Join(err, ignoreClosed(s.listener.Close()), s.files.close())
}

func ignoreClosed(err error) error {
	if errors.Is(err, net.ErrClosed) {
		return nil
	}
	return err
}
