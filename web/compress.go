package web

import (
	"compress/gzip"
	"io"
	"net/http"
	"strings"
	"sync"
)

var gzips = sync.Pool{New: func() any {
	z, _ := gzip.NewWriterLevel(io.Discard, gzip.BestSpeed) // the level is a valid one
	return z
}}

// compress packs pages and JSON for browsers that ask for it. Static files come
// packed already and say so; to this machine itself JSON goes as it is, which
// is faster.
func (s *Server) compress(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Add("Vary", "Accept-Encoding")
		if !acceptsGzip(r) || s.opt.Loopback && strings.HasPrefix(r.URL.Path, "/api/") {
			next.ServeHTTP(w, r)
			return
		}
		p := &packer{ResponseWriter: w}
		defer p.close()
		next.ServeHTTP(p, r)
	})
}

func acceptsGzip(r *http.Request) bool {
	return strings.Contains(r.Header.Get("Accept-Encoding"), "gzip")
}

// A packer is a response that is packed if its header allows.
type packer struct {
	http.ResponseWriter
	z       *gzip.Writer
	decided bool
}

func (p *packer) WriteHeader(status int) {
	if !p.decided {
		p.decided = true
		h := p.Header()
		kind := h.Get("Content-Type")
		text := strings.HasPrefix(kind, "text/") || strings.Contains(kind, "json") || strings.Contains(kind, "yaml")
		if text && h.Get("Content-Encoding") == "" && status != http.StatusNoContent && status != http.StatusNotModified {
			h.Set("Content-Encoding", "gzip")
			h.Del("Content-Length")
			p.z = gzips.Get().(*gzip.Writer)
			p.z.Reset(p.ResponseWriter)
		}
	}
	p.ResponseWriter.WriteHeader(status)
}

func (p *packer) Write(b []byte) (int, error) {
	if !p.decided {
		if p.Header().Get("Content-Type") == "" {
			p.Header().Set("Content-Type", http.DetectContentType(b))
		}
		p.WriteHeader(http.StatusOK)
	}
	if p.z != nil {
		return p.z.Write(b)
	}
	return p.ResponseWriter.Write(b)
}

// Unwrap lets http.ResponseController reach the connection.
func (p *packer) Unwrap() http.ResponseWriter { return p.ResponseWriter }

// Flush sends what was written so far, for answers that go on.
func (p *packer) Flush() {
	if p.z != nil {
		p.z.Flush()
	}
	if f, ok := p.ResponseWriter.(http.Flusher); ok {
		f.Flush()
	}
}

func (p *packer) close() {
	if p.z != nil {
		p.z.Close()
		gzips.Put(p.z)
	}
}
