package curve_test

import (
	"bytes"
	"fmt"
	"runtime"
	"testing"

	"meniscus/curve"
)

// BenchmarkRead reads a million rows of CSV. live-MB is what the record keeps.
func BenchmarkRead(b *testing.B) {
	var text bytes.Buffer
	text.WriteString("V (mL),E (mV)\n")
	for i := range 1_000_000 {
		fmt.Fprintf(&text, "%d.%04d,%d.%d\n", i/10000, i%10000, 300+i/2000, i%10)
	}
	b.SetBytes(int64(text.Len()))
	b.ReportAllocs()
	var live runtime.MemStats
	for b.Loop() {
		rec, err := curve.Read(bytes.NewReader(text.Bytes()), "bench", curve.Options{})
		if err != nil {
			b.Fatal(err)
		}
		runtime.GC()
		runtime.ReadMemStats(&live)
		runtime.KeepAlive(rec)
	}
	b.ReportMetric(float64(live.HeapAlloc)/1e6, "live-MB")
	b.ReportMetric(float64(live.HeapSys)/1e6, "heap-MB")
}
