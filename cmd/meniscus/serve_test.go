package main

import (
	"bufio"
	"context"
	"io"
	"net/http"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// The bench answers, and ends when it is told to, with a browser's idle
// connection still open. There is no browser here, and nothing waits for one.
func TestServe(t *testing.T) {
	t.Setenv("DISPLAY", "")
	t.Setenv("WAYLAND_DISPLAY", "")
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	out, in := io.Pipe()
	a := &app{in: strings.NewReader(""), out: in, err: io.Discard}
	ended := make(chan error, 1)
	go func() {
		ended <- a.serve(ctx, serveOptions{listen: "127.0.0.1:0", database: filepath.Join(t.TempDir(), "bench.db")})
	}()
	lines := bufio.NewScanner(out)
	lines.Scan()
	_, address, ok := strings.Cut(lines.Text(), "the bench is at ")
	if !ok {
		t.Fatalf("printed %q", lines.Text())
	}
	go io.Copy(io.Discard, out)
	r, err := http.Get(address)
	if err != nil {
		t.Fatal(err)
	}
	body, err := io.ReadAll(r.Body)
	r.Body.Close()
	if err != nil || r.StatusCode != http.StatusOK || !strings.Contains(string(body), "moss-control granules") {
		t.Errorf("%d, %v", r.StatusCode, err)
	}
	stop()
	select {
	case err := <-ended:
		if err != nil {
			t.Error(err)
		}
	case <-time.After(30 * time.Second):
		t.Fatal("the bench does not end")
	}
}
