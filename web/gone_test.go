package web_test

import (
	"context"
	"errors"
	"net/http"
	"strings"
	"testing"

	"meniscus/web"
)

// A gone browser takes nothing any more, and counts the statuses it is sent.
type gone struct {
	http.ResponseWriter
	head     http.Header
	statuses []int
}

func (g *gone) Header() http.Header         { return g.head }
func (g *gone) WriteHeader(status int)      { g.statuses = append(g.statuses, status) }
func (g *gone) Write(p []byte) (int, error) { return 0, errors.New("broken pipe") }

// A browser that has gone before its answer came is sent one status: a second
// one is a complaint in the log of the bench.
func TestOneStatusToAGoneBrowser(t *testing.T) {
	h := bench(t, web.Options{})
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, "http://127.0.0.1/api/predict", strings.NewReader(`{"setup":"ratio: 1 to 1\n"}`))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/json")
	w := &gone{head: http.Header{}}
	h.ServeHTTP(w, r)
	if len(w.statuses) != 1 || w.statuses[0] != http.StatusOK {
		t.Errorf("statuses %v, want 200 once", w.statuses)
	}
}
