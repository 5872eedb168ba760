//go:build unix

package web_test

import (
	"bytes"
	"net/http"
	"net/http/httptest"
	"syscall"
	"testing"
	"time"

	"meniscus/examples"
	"meniscus/web"
)

// BenchmarkPredict is what the server spends on a step of a slider: one number
// changed, and a curve of 500 points as the page asks for it.
func BenchmarkPredict(b *testing.B) {
	s := bench(b, web.Options{})
	body := []byte(`{"setup":` + quote(b, examples.Worked().Setup) + `,"changes":[{"place":["flask","volume"],"value":"51.2"}],"without":["slope","shares"]}`)
	before := used(b)
	for b.Loop() {
		r := httptest.NewRequest(http.MethodPost, "/api/predict", bytes.NewReader(body))
		r.Header.Set("Content-Type", "application/json")
		w := httptest.NewRecorder()
		s.ServeHTTP(w, r)
		if w.Code != http.StatusOK {
			b.Fatal(w.Body)
		}
	}
	b.ReportMetric(1e3*(used(b)-before)/float64(b.N), "cpu-ms/op")
}

// used is the processor time of this process so far, s. What else the machine
// does hardly changes it.
func used(tb testing.TB) float64 {
	tb.Helper()
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		tb.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano()).Seconds()
}
