//go:build unix

package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"meniscus/internal/pgserver"
	"meniscus/store"
	"meniscus/web"
)

// Two benches on one PostgreSQL server see each other's records, and neither
// overwrites what the other has changed.
func TestTwoBenchesOnOneServer(t *testing.T) {
	server, err := pgserver.Start()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := server.Stop(); err != nil {
			t.Error(err)
		}
	})
	target := server.Database(t)
	var benches [2]*web.Server
	for i := range benches {
		s, err := store.Open(t.Context(), target, time.Now)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() {
			if err := s.Close(); err != nil {
				t.Error(err)
			}
		})
		benches[i] = bench(t, web.Options{Loopback: true, Store: s})
	}
	id := example(t, benches[0])
	code, _, text := ask(t, benches[1], "GET", "/evaluate?record="+id, nil)
	if code != http.StatusOK || !strings.Contains(text, "11.939 ± 0.034 %") {
		t.Fatalf("the other bench shows %d", code)
	}
	// Both leave the same reading out; the second is told of the first.
	s, err := store.Open(t.Context(), target, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	d, err := s.Determination(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	form := url.Values{
		"record": {id}, "run": {number(d.Runs[0].Run.No)}, "reading": {number(d.Runs[0].Readings[3].No)},
		"do": {"out"}, "why": {"a bubble"}, "author": {"R. Kessler"},
	}
	for i, want := range []int{http.StatusSeeOther, http.StatusConflict} {
		if code, _, text := ask(t, benches[i], "POST", "/evaluate/readings", form); code != want {
			t.Errorf("bench %d: %d %s", i+1, code, text)
		}
	}
	if _, _, text := ask(t, benches[1], "GET", "/evaluate?record="+id, nil); !strings.Contains(text, "left out: a bubble, R. Kessler") {
		t.Error("the other bench does not show what was left out")
	}
}
