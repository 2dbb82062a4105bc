// Command cusptrace-serve does the work of cusptrace in a page of the browser, on this
// machine alone. It is a program of its own, since it alone speaks HTTP.
package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"runtime"
	"runtime/debug"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"github.com/cusptrace/cusptrace/internal/serve"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	bad := true // until the arguments are understood
	var o serve.Options
	var noBrowser bool
	c := &cobra.Command{
		Use:   "cusptrace-serve",
		Short: "Examine two scans in a page of the browser, on this machine",
		Long: `cusptrace-serve opens a page in the browser in which two scans are dropped and
examined, and prints the link to it. The page is served to this machine alone; the
link holds a secret that keeps others out. Scans and results lie in a private
temporary folder, which goes when the program ends (Ctrl-C, End in the page, or ten minutes
after the last page was closed): save the case in the page to keep it. A saved case is a zip file; unpacked, cusptrace
examine reads its case.yaml and gives the same bytes.`,
		Example:       "  cusptrace-serve\n  cusptrace-serve --no-browser",
		Args:          cobra.NoArgs,
		SilenceErrors: true, SilenceUsage: true,
		RunE: func(c *cobra.Command, _ []string) error {
			bad = false
			return run(c.Context(), o, !noBrowser)
		},
	}
	c.Flags().BoolVar(&noBrowser, "no-browser", false, "only print the link, do not open it")
	c.Flags().IntVar(&o.Workers, "workers", 0, "`number` of processors to use, 0 for all; it never changes the results")
	err := c.ExecuteContext(ctx)
	switch {
	case err == nil || errors.Is(err, context.Canceled):
	case bad:
		fmt.Fprintf(os.Stderr, "cusptrace-serve: %v\nSee cusptrace-serve --help.\n", err)
		stop()
		os.Exit(2)
	default:
		fmt.Fprintf(os.Stderr, "cusptrace-serve: %v\n", err)
		stop()
		os.Exit(1)
	}
}

func run(ctx context.Context, o serve.Options, browse bool) error {
	o.Idle = 10 * time.Minute
	if info, ok := debug.ReadBuildInfo(); ok {
		o.Version = info.Main.Version
	}
	s, err := serve.Listen(o)
	if err != nil {
		return err
	}
	defer s.Close()
	if _, err := fmt.Println(s.Link()); err != nil && !browse { // started without a terminal there is nowhere to print
		return err
	}
	fmt.Fprintln(os.Stderr, "Open this link in a browser of this machine. Ctrl-C ends.")
	if browse {
		page, err := s.Page()
		if err != nil {
			return err
		}
		if err := openBrowser(page); err != nil {
			fmt.Fprintf(os.Stderr, "cusptrace-serve: no browser could be started (%v): open the link yourself\n", err)
		}
	}
	return s.Serve(ctx)
}

// openBrowser shows a page of this machine in the browser of the person.
func openBrowser(page string) error {
	c := exec.Command("xdg-open", page)
	switch runtime.GOOS {
	case "darwin":
		c = exec.Command("open", page)
	case "windows":
		c = exec.Command("rundll32", "url.dll,FileProtocolHandler", page)
	}
	if err := c.Start(); err != nil {
		return err
	}
	go func() { _ = c.Wait() }() // how it ends says nothing
	return nil
}
