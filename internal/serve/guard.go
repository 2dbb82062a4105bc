package serve

import (
	"crypto/subtle"
	"net/http"
	"strings"
)

// openPath is where the link of the person who started the server leads.
const openPath = "/open/"

// policy is what the pages of the server may load and do: what comes from the server itself,
// no script or style within the page, no page around it.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; frame-src 'self'; " +
	"frame-ancestors 'none'; base-uri 'none'; form-action 'self'"

// reportPolicy is that of the report, which carries its scripts within: it runs in a sandbox, as a
// page of no origin, which can ask the server for nothing.
const reportPolicy = "sandbox allow-scripts allow-downloads; default-src 'none'; img-src data: blob:; style-src 'unsafe-inline'; " +
	"script-src 'unsafe-inline'; frame-ancestors 'self'; base-uri 'none'; form-action 'none'"

// guard lets through what the browser of the person with the link asks from a page of this
// server. Others are refused, in this order: names that an outside page was given for this
// machine (Host), those without the secret, pages of other origins, other ports of this machine
// among them, to which browsers send the cookie too.
type guard struct {
	host, key string // the only Host, and the secret
	next      http.Handler
	cross     http.CrossOriginProtection
}

// cookie is the name of the cookie; cookies know no ports, so that the name must.
func (g *guard) cookie() string { return "cusptrace" + strings.ReplaceAll(g.host, ":", "-") }

func (g *guard) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("Content-Security-Policy", policy)
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cache-Control", "no-store")
	if r.Host != g.host {
		http.Error(w, "this address is not served", http.StatusMisdirectedRequest)
		return
	}
	if key, ok := strings.CutPrefix(r.URL.Path, openPath); ok && r.Method == http.MethodGet {
		g.open(w, key)
		return
	}
	c, err := r.Cookie(g.cookie())
	if err != nil || !g.fits(c.Value) {
		http.Error(w, "open the link that cusptrace-serve printed", http.StatusForbidden)
		return
	}
	switch r.Header.Get("Sec-Fetch-Site") {
	case "", "none", "same-origin":
	default:
		http.Error(w, "asked by another page", http.StatusForbidden)
		return
	}
	if err := g.cross.Check(r); err != nil {
		http.Error(w, "asked by another page", http.StatusForbidden)
		return
	}
	g.next.ServeHTTP(w, r)
}

func (g *guard) fits(key string) bool {
	return subtle.ConstantTimeCompare([]byte(key), []byte(g.key)) == 1
}

// open turns the secret of the link into a cookie. The answer is a page that goes on by itself and no
// redirection, since browsers send a strict cookie only where the server's own page leads.
func (g *guard) open(w http.ResponseWriter, key string) {
	if !g.fits(key) {
		http.Error(w, "open the link that cusptrace-serve printed", http.StatusForbidden)
		return
	}
	http.SetCookie(w, &http.Cookie{Name: g.cookie(), Value: g.key, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode})
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_, _ = w.Write([]byte(`<!DOCTYPE html><title>cusptrace</title><meta http-equiv="refresh" content="0;url=/"><a href="/">cusptrace</a>`))
}
