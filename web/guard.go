package web

import (
	"net"
	"net/http"
	"net/url"
	"strings"
)

// maxBody is how much a page takes in a request, and a setup file has far less.
const maxBody = 1 << 20

// maxFile is how much is taken of a file of readings.
const maxFile = 64 << 20

// larger lists the actions that take more than maxBody, by their path.
var larger = map[string]int64{
	"/read/file":       maxFile + maxBody,
	"/records/import":  1 << 30,
	"/records/restore": 4 << 30,
}

// limitOf is how much the action at a path takes.
func limitOf(path string) int64 {
	if n, ok := larger[path]; ok {
		return n
	}
	return maxBody
}

// guard wraps everything: headers, the host asked for, cross-site posts and
// the size of what is sent.
func (s *Server) guard(next http.Handler) http.Handler {
	cross := http.NewCrossOriginProtection()
	cross.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.fail(w, r, &statusError{http.StatusForbidden, "The request came from another site, so nothing was done."})
	}))
	inner := cross.Handler(s.compress(next))
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		secure(w.Header())
		if s.opt.Loopback && !localHost(r.Host) {
			s.fail(w, r, &statusError{http.StatusMisdirectedRequest, "This bench answers to localhost only."})
			return
		}
		r.Body = http.MaxBytesReader(w, r.Body, limitOf(r.URL.Path))
		inner.ServeHTTP(w, r)
	})
}

// policy lets a page use what came with it and nothing else.
const policy = "default-src 'self'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; " +
	"object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"

func secure(h http.Header) {
	h.Set("Content-Security-Policy", policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("X-Frame-Options", "DENY")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Permissions-Policy", "camera=(), geolocation=(), microphone=()")
}

// localHost says whether a Host header names this machine.
func localHost(host string) bool {
	if name, _, err := net.SplitHostPort(host); err == nil {
		host = name
	}
	host = strings.Trim(host, "[]")
	if strings.EqualFold(host, "localhost") {
		return true
	}
	ip := net.ParseIP(host)
	return ip != nil && ip.IsLoopback()
}

// escapePath is where a reader wanted to go, for the page of the password.
func escapePath(r *http.Request) string {
	if r.Method != http.MethodGet {
		return url.QueryEscape("/")
	}
	return url.QueryEscape(r.URL.RequestURI())
}
