package serve_test

import (
	"bufio"
	"context"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/internal/serve"
)

// TestMain serves instead of testing where the environment says so: a program that can be killed.
func TestMain(m *testing.M) {
	if temp := os.Getenv("CUSPTRACE_TEST_SERVE"); temp != "" {
		s, err := serve.Listen(serve.Options{Temp: temp})
		if err != nil {
			fmt.Println(err)
			os.Exit(1)
		}
		fmt.Println(s.Link())
		if err := s.Serve(context.Background()); err != nil {
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// A program that is killed while it examines leaves its folder; the next start removes it and works.
func TestKilledWhileExamining(t *testing.T) {
	temp := t.TempDir()
	c := exec.Command(os.Args[0])
	c.Env = append(os.Environ(), "CUSPTRACE_TEST_SERVE="+temp)
	out, err := c.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, c.Start())
	link, err := bufio.NewReader(out).ReadString('\n')
	require.NoError(t, err)
	link = strings.TrimSpace(link)
	base, _, _ := strings.Cut(link, "/open/")
	b := &browser{t: t, base: base}
	for _, k := range b.ask("GET", strings.TrimPrefix(link, base), nil, nil).Cookies() {
		b.cookie = k
	}
	b.give([2]string{"small.zip", zipOf(t, smallCase(t))})
	rev, stage := b.stage()
	require.Equal(t, "case", stage)
	b.send(rev, "examine")
	require.Equal(t, "working", revision.FindStringSubmatch(b.page())[2])
	require.NoError(t, c.Process.Kill())
	require.Error(t, c.Wait())
	left, err := filepath.Glob(filepath.Join(temp, "cusptrace-serve-*", "upper.*"))
	require.NoError(t, err)
	require.NotEmpty(t, left, "the killed program could remove nothing")

	next := start(t, serve.Options{Temp: temp})
	entries, err := os.ReadDir(temp)
	require.NoError(t, err)
	require.Len(t, entries, 1, "only the folder of the one that runs")
	next.give([2]string{"small.zip", zipOf(t, smallCase(t))})
	_, stage = next.stage()
	require.Equal(t, "case", stage, "it works")
}

// Cases one after the other: what is held does not grow, in memory or in the folder. With ten it stays at 2.4 MB. The first of them
// is begun from two tabs, which are closed while it runs.
func TestManyCases(t *testing.T) {
	b := start(t, serve.Options{Samples: 1})
	packed := zipOf(t, smallCase(t))
	var held [3]uint64
	for i := range held {
		b.give([2]string{"small.zip", packed})
		if i == 0 {
			examineFromTwoTabs(t, b)
		} else {
			b.press("examine")
		}
		_, stage := b.stage()
		require.Equal(t, "report", stage)
		b.press("new")
		b.stage()
		require.Equal(t, 1, count(t, b), "nothing but the lock")
		runtime.GC()
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		held[i] = m.HeapAlloc
	}
	t.Logf("held after each case, MB: %.1f to %.1f", float64(held[0])/1e6, float64(held[2])/1e6)
	require.Less(t, held[2], held[1]+2<<20, "%v", held)
}

// examineFromTwoTabs begins a case, which every tab shows, which is begun once, and which outlives its pages.
func examineFromTwoTabs(t *testing.T, b *browser) {
	t.Helper()
	rev, _ := b.stage()
	// Both tabs press the same button of the same page.
	one, two := b.send(rev, "examine"), b.send(rev, "examine")
	require.Equal(t, "/", one.Header.Get("Location"))
	require.Equal(t, "/?stale", two.Header.Get("Location"))
	ctx, leave := context.WithCancel(context.Background())
	r, err := http.NewRequestWithContext(ctx, "GET", b.base+"/events", nil)
	require.NoError(t, err)
	r.AddCookie(b.cookie)
	answer, err := http.DefaultClient.Do(r)
	require.NoError(t, err)
	line, err := bufio.NewReader(answer.Body).ReadString('\n')
	require.NoError(t, err)
	require.True(t, strings.HasPrefix(line, "data: {"), line)
	leave() // the tab is closed while it runs
	_ = answer.Body.Close()
	last, stage := b.stage()
	require.Equal(t, "report", stage)
	b.send(rev, "examine")
	b.send(rev, "new")
	now, stage := b.stage()
	require.Equal(t, "report", stage, "the back button shows an old page, whose buttons do nothing")
	require.Equal(t, last, now)
}

// It ends by itself after the last page was closed, not while one is open.
func TestIdle(t *testing.T) {
	b := start(t, serve.Options{Idle: 300 * time.Millisecond})
	ctx, leave := context.WithCancel(context.Background())
	r, err := http.NewRequestWithContext(ctx, "GET", b.base+"/events", nil)
	require.NoError(t, err)
	r.AddCookie(b.cookie)
	answer, err := http.DefaultClient.Do(r)
	require.NoError(t, err)
	select {
	case <-b.done:
		t.Fatal("it ended under an open page")
	case <-time.After(time.Second):
	}
	leave()
	_ = answer.Body.Close()
	select {
	case err := <-b.done:
		require.NoError(t, err)
	case <-time.After(20 * time.Second):
		t.Fatal("it does not end")
	}
}
