package serve_test

import (
	"bytes"
	"context"
	"io"
	"mime/multipart"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/internal/serve"
)

// browser asks a server as the browser with the link does.
type browser struct {
	t      testing.TB
	s      *serve.Server
	base   string
	cookie *http.Cookie
	temp   string
	stop   context.CancelFunc
	done   chan error
}

// start runs a server and opens its link.
func start(t testing.TB, o serve.Options) *browser {
	t.Helper()
	if o.Temp == "" {
		o.Temp = t.TempDir()
	}
	s, err := serve.Listen(o)
	require.NoError(t, err)
	ctx, stop := context.WithCancel(context.Background())
	b := &browser{t: t, s: s, temp: o.Temp, stop: stop, done: make(chan error, 1)}
	go func() { b.done <- s.Serve(ctx) }()
	t.Cleanup(func() {
		stop()
		require.NoError(t, s.Close())
	})
	link, err := url.Parse(s.Link())
	require.NoError(t, err)
	b.base = "http://" + link.Host
	r := b.ask("GET", link.Path, nil, nil)
	require.Equal(t, http.StatusOK, r.StatusCode)
	for _, c := range r.Cookies() {
		b.cookie = c
	}
	require.NotNil(t, b.cookie)
	return b
}

// ask sends one request and returns the answer, read whole. Redirections are not followed.
func (b *browser) ask(method, path string, body io.Reader, change func(*http.Request)) *http.Response {
	b.t.Helper()
	r, err := http.NewRequest(method, b.base+path, body)
	require.NoError(b.t, err)
	if b.cookie != nil {
		r.AddCookie(b.cookie)
	}
	if change != nil {
		change(r)
	}
	c := http.Client{Timeout: time.Minute, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	out, err := c.Do(r)
	require.NoError(b.t, err)
	all, err := io.ReadAll(out.Body)
	require.NoError(b.t, err)
	require.NoError(b.t, out.Body.Close())
	out.Body = io.NopCloser(bytes.NewReader(all))
	return out
}

// page is the page as it stands.
func (b *browser) page() string {
	b.t.Helper()
	r := b.ask("GET", "/", nil, nil)
	require.Equal(b.t, http.StatusOK, r.StatusCode)
	text, err := io.ReadAll(r.Body)
	require.NoError(b.t, err)
	return string(text)
}

var revision = regexp.MustCompile(`data-rev="(\d+)" data-stage="(\w+)"`)

// stage waits until nothing is computed and returns the revision and the stage of the page.
func (b *browser) stage() (rev, stage string) {
	b.t.Helper()
	for until := time.Now().Add(5 * time.Minute); time.Now().Before(until); time.Sleep(20 * time.Millisecond) {
		m := revision.FindStringSubmatch(b.page())
		require.NotNil(b.t, m)
		if m[2] != "working" {
			return m[1], m[2]
		}
	}
	b.t.Fatal("it does not end")
	return "", ""
}

// press sends the form of the case with a button.
func (b *browser) press(do string, with ...string) *http.Response {
	b.t.Helper()
	rev, _ := b.stage()
	return b.send(rev, do, with...)
}

func (b *browser) send(rev, do string, with ...string) *http.Response {
	b.t.Helper()
	form := url.Values{"rev": {rev}, "do": {do}}
	for i := 0; i+1 < len(with); i += 2 {
		form.Set(with[i], with[i+1])
	}
	return b.ask("POST", "/case", strings.NewReader(form.Encode()), func(r *http.Request) {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Sec-Fetch-Site", "same-origin")
	})
}

// give uploads files, with names as a client may choose them.
func (b *browser) give(files ...[2]string) *http.Response {
	b.t.Helper()
	return b.giveAs("scan", files...)
}

// giveAs uploads files under the name of a field.
func (b *browser) giveAs(field string, files ...[2]string) *http.Response {
	b.t.Helper()
	rev, _ := b.stage()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	require.NoError(b.t, w.WriteField("rev", rev))
	for _, f := range files {
		p, err := w.CreateFormFile(field, f[0])
		require.NoError(b.t, err)
		_, err = io.WriteString(p, f[1])
		require.NoError(b.t, err)
	}
	require.NoError(b.t, w.Close())
	return b.ask("POST", "/scans", &body, func(r *http.Request) {
		r.Header.Set("Content-Type", w.FormDataContentType())
		r.Header.Set("Sec-Fetch-Site", "same-origin")
	})
}

func TestBoundToThisMachine(t *testing.T) {
	b := start(t, serve.Options{})
	host, port, err := net.SplitHostPort(strings.TrimPrefix(b.base, "http://"))
	require.NoError(t, err)
	require.Equal(t, "127.0.0.1", host)
	require.NotEqual(t, "0", port)
	// Another address of the loopback network is not answered.
	if c, err := net.DialTimeout("tcp", net.JoinHostPort("127.0.0.2", port), time.Second); err == nil {
		require.NoError(t, c.Close())
		t.Fatal("127.0.0.2 is answered too")
	}
	other := start(t, serve.Options{})
	require.NotEqual(t, b.base, other.base)
	require.NotEqual(t, b.cookie.Name, other.cookie.Name, "two servers share no cookie, though cookies know no ports")
	require.NotEqual(t, b.cookie.Value, other.cookie.Value)
}

func TestCookie(t *testing.T) {
	b := start(t, serve.Options{})
	require.True(t, b.cookie.HttpOnly)
	require.Equal(t, http.SameSiteStrictMode, b.cookie.SameSite)
	require.Equal(t, "/", b.cookie.Path)
	require.Empty(t, b.cookie.Domain)
	require.True(t, strings.HasSuffix(b.s.Link(), "/open/"+b.cookie.Value))
	require.GreaterOrEqual(t, len(b.cookie.Value), 26, "128 bits in base 32")
}

// What the guards refuse, for every address that the server has.
func TestGuards(t *testing.T) {
	b := start(t, serve.Options{})
	port := b.base[strings.LastIndex(b.base, ":")+1:]
	header := func(k, v string) func(*http.Request) { return func(r *http.Request) { r.Header.Set(k, v) } }
	host := func(h string) func(*http.Request) { return func(r *http.Request) { r.Host = h } }
	for _, c := range []struct {
		what   string
		change func(*http.Request)
		post   bool // only where something is changed
		status int
	}{
		{"without cookie", func(r *http.Request) { r.Header.Del("Cookie") }, false, 403},
		{"wrong cookie", func(r *http.Request) { r.Header.Set("Cookie", b.cookie.Name+"=GUESS") }, false, 403},
		{"outside name", host("evil.example"), false, 421},
		{"outside name with the port", host("evil.example:" + port), false, 421},
		{"localhost", host("localhost:" + port), false, 421},
		{"no port", host("127.0.0.1"), false, 421},
		{"another port", header("Sec-Fetch-Site", "same-site"), false, 403},
		{"another site", header("Sec-Fetch-Site", "cross-site"), false, 403},
		{"an old browser, from another site", header("Origin", "http://evil.example"), true, 403},
		{"an old browser, from another port", header("Origin", "http://127.0.0.1:1"), true, 403},
		{"a sandbox", header("Origin", "null"), true, 403},
	} {
		for _, a := range []string{"GET /", "GET /page.js", "GET /casts", "GET /casts.js", "GET /events",
			"GET /report.html", "GET /trial.html", "GET /trial-after.html", "GET /case.zip", "GET /case.json", "GET /case/1/0",
			"POST /case", "POST /scans", "POST /end"} {
			method, path, _ := strings.Cut(a, " ")
			if c.post && method == "GET" {
				continue
			}
			r := b.ask(method, path, nil, c.change)
			require.Equal(t, c.status, r.StatusCode, "%s: %s", a, c.what)
		}
	}
	require.Equal(t, 421, b.ask("GET", "/open/"+b.cookie.Value, nil, host("evil.example")).StatusCode)
	for _, key := range []string{"", "GUESS", b.cookie.Value + "A", b.cookie.Value[1:]} {
		r := b.ask("GET", "/open/"+key, nil, func(r *http.Request) { r.Header.Del("Cookie") })
		require.Equal(t, 403, r.StatusCode, key)
		require.Empty(t, r.Cookies())
	}
	require.Equal(t, 405, b.ask("OPTIONS", "/case", nil, nil).StatusCode)
	require.Equal(t, 405, b.ask("DELETE", "/case", nil, nil).StatusCode)
	_, stage := b.stage()
	require.Equal(t, "scans", stage, "it still answers")
}

func TestHeaders(t *testing.T) {
	b := start(t, serve.Options{})
	for _, path := range []string{"/", "/page.css", "/nowhere", "/open/" + b.cookie.Value} {
		h := b.ask("GET", path, nil, nil).Header
		policy := h.Get("Content-Security-Policy")
		for _, s := range []string{"default-src 'none'", "script-src 'self';", "style-src 'self';",
			"frame-ancestors 'none'", "base-uri 'none'", "form-action 'self'"} {
			require.Contains(t, policy, s, path)
		}
		require.NotContains(t, policy, "unsafe")
		require.Equal(t, "nosniff", h.Get("X-Content-Type-Options"))
		require.Equal(t, "no-store", h.Get("Cache-Control"))
		require.Equal(t, "no-referrer", h.Get("Referrer-Policy"))
		require.Equal(t, "same-origin", h.Get("Cross-Origin-Opener-Policy"))
		require.Equal(t, "same-origin", h.Get("Cross-Origin-Resource-Policy"))
		for k := range h {
			require.False(t, strings.HasPrefix(k, "Access-Control"), k)
		}
	}
}

// Nothing that a client says becomes a path.
func TestNoPathFromTheClient(t *testing.T) {
	b := start(t, serve.Options{})
	secret := filepath.Join(b.temp, "secret.txt")
	require.NoError(t, os.WriteFile(secret, []byte("secret"), 0o600))
	for _, path := range []string{"/../secret.txt", "/%2e%2e/secret.txt", "/..%2fsecret.txt",
		"/report.html/../../secret.txt", "/case.yaml", "/results/report.html"} {
		r := b.ask("GET", path, nil, nil)
		require.NotEqual(t, 200, r.StatusCode, path)
	}
	r := b.give([2]string{"../../evil.stl", "solid x"})
	require.Equal(t, http.StatusSeeOther, r.StatusCode)
	r = b.give([2]string{`C:\temp\` + "\x00\x1b[31m<script>.ply", "ply"})
	require.Equal(t, http.StatusSeeOther, r.StatusCode)
	// Names within a folder are only compared with those that its case file has.
	for _, name := range []string{"../../secret.txt", secret} {
		text := "upper: {scan: " + name + "}\nlower: {scan: lower.stl}\nunits: mm\n"
		for _, at := range []string{"case.yaml", "../../case.yaml", "/etc/case.yaml"} {
			b.giveAs("folder", [2]string{at, text}, [2]string{"upload-1.stl", "ply"})
			require.Contains(t, b.page(), "secret.txt: file does not exist")
		}
	}
	b.giveAs("folder", [2]string{"upper.stl", "x"})
	require.Contains(t, b.page(), "No case.yaml is in it")
	for _, path := range []string{"/case.json", "/case/1/0", "/case/1/../../secret.txt", "/case/0/-1", "/case/x/y"} {
		require.NotEqual(t, 200, b.ask("GET", path, nil, nil).StatusCode, path)
	}
	_, stage := b.stage()
	require.Equal(t, "scans", stage, "they are no scans")
	page := b.page()
	require.NotContains(t, page, "<script>.ply")
	require.NotContains(t, page, "\x1b")
	require.NotContains(t, page, b.temp, "no place on this machine is told")
	entries, err := os.ReadDir(b.temp)
	require.NoError(t, err)
	require.Len(t, entries, 2, "the private folder and the secret")
	require.NoFileExists(t, filepath.Join(b.temp, "..", "evil.stl"))
}

func TestUploadsAreLimited(t *testing.T) {
	b := start(t, serve.Options{MaxUpload: 1000})
	r := b.give([2]string{"a.stl", strings.Repeat("x", 5000)})
	require.Equal(t, http.StatusRequestEntityTooLarge, r.StatusCode)
	require.Equal(t, 1, count(t, b), "nothing but the lock is left")
	r = b.give([2]string{"a.stl", "1"}, [2]string{"b.stl", "2"}, [2]string{"c.stl", "3"})
	require.Equal(t, http.StatusSeeOther, r.StatusCode)
	require.Contains(t, b.page(), "one upper and one lower scan")
	require.Equal(t, 1, count(t, b))
}

// private is the private folder.
func private(t testing.TB, b *browser) string {
	t.Helper()
	found, err := filepath.Glob(filepath.Join(b.temp, "cusptrace-serve-*"))
	require.NoError(t, err)
	require.Len(t, found, 1)
	return found[0]
}

func count(t testing.TB, b *browser) int {
	t.Helper()
	entries, err := os.ReadDir(private(t, b))
	require.NoError(t, err)
	return len(entries)
}

func TestFolderIsPrivateAndGoes(t *testing.T) {
	temp := t.TempDir()
	b := start(t, serve.Options{Temp: temp})
	info, err := os.Stat(private(t, b))
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o700), info.Mode().Perm())
	page, err := b.s.Page()
	require.NoError(t, err)
	require.NotContains(t, page, b.cookie.Value, "what stands on a command line, everybody can read")
	require.NoError(t, b.s.Close())
	require.NoError(t, b.s.Close(), "twice is once")
	entries, err := os.ReadDir(temp)
	require.NoError(t, err)
	require.Empty(t, entries)
}

// What a killed program left goes at the next start; what is in use, or is not ours, stays.
func TestFoldersOfKilledProgramsGo(t *testing.T) {
	temp := t.TempDir()
	left := filepath.Join(temp, "cusptrace-serve-left")
	require.NoError(t, os.Mkdir(left, 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(left, "upper.stl"), []byte("scan"), 0o600))
	open := filepath.Join(temp, "cusptrace-serve-open")
	require.NoError(t, os.Mkdir(open, 0o755))
	require.NoError(t, os.Chmod(open, 0o755))
	outside := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(outside, "keep"), nil, 0o600))
	require.NoError(t, os.Symlink(outside, filepath.Join(temp, "cusptrace-serve-link")))
	first := start(t, serve.Options{Temp: temp})
	start(t, serve.Options{Temp: temp})
	require.NoDirExists(t, left)
	require.DirExists(t, open)
	require.FileExists(t, filepath.Join(outside, "keep"))
	_, stage := first.stage()
	require.Equal(t, "scans", stage)
	found, err := filepath.Glob(filepath.Join(temp, "cusptrace-serve-*"))
	require.NoError(t, err)
	require.Len(t, found, 4, "two in use, one open to others, one link")
}

func TestEndInThePage(t *testing.T) {
	b := start(t, serve.Options{})
	r := b.ask("POST", "/end", nil, func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "same-origin") })
	require.Equal(t, 200, r.StatusCode)
	require.NoError(t, <-b.done)
}

// fieldValue finds what a field of the form holds.
func fieldValue(name string) *regexp.Regexp {
	return regexp.MustCompile(`name="` + name + `" value="([^"]+)"`)
}
