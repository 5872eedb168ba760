package bench

import (
	"bytes"
	"context"
	"io"
	"path/filepath"
	"runtime"
	"strconv"
	"sync/atomic"
	"testing"
	"time"

	"meniscus/store"
)

const (
	manyRecords      = 2_000
	readingsInRecord = 60
)

// fullStore makes a store of many records, and returns its backup too.
func fullStore(b *testing.B) (*store.Store, []byte) {
	ctx, by := context.Background(), store.By{Author: "R. Kessler"}
	s, err := store.Open(ctx, filepath.Join(b.TempDir(), "bench.db"), time.Now)
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { s.Close() })
	first, err := s.Create(ctx, store.Record{Title: "Iron in moss control", Tags: []string{"iron"}, Setup: ironToFit}, by)
	if err != nil {
		b.Fatal(err)
	}
	entry := func(i int) store.Entry {
		return store.Entry{Volume: strconv.FormatFloat(float64(i)/2, 'f', 2, 64), Value: strconv.Itoa(400 + 10*i)}
	}
	if _, err := s.AddRunOf(ctx, first.ID, store.Run{Name: "1", Kind: store.Sample, Unit: "mV"}, by, readingsInRecord, entry); err != nil {
		b.Fatal(err)
	}
	for range manyRecords - 1 {
		if _, err := s.Duplicate(ctx, first.ID, true, by); err != nil {
			b.Fatal(err)
		}
	}
	var backup bytes.Buffer
	if err := s.Backup(ctx, &backup); err != nil {
		b.Fatal(err)
	}
	return s, backup.Bytes()
}

// highest runs f and returns the most memory that was in use above what was
// there before.
func highest(f func()) uint64 {
	var m runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&m)
	before, most := m.HeapAlloc, m.HeapAlloc
	var ended atomic.Bool
	seen := make(chan uint64)
	go func() {
		for !ended.Load() {
			runtime.ReadMemStats(&m)
			most = max(most, m.HeapAlloc)
			time.Sleep(5 * time.Millisecond)
		}
		seen <- most
	}()
	f()
	ended.Store(true)
	return <-seen - before
}

// BenchmarkBackup writes 2,000 records of 60 readings as one zip.
func BenchmarkBackup(b *testing.B) {
	s, backup := fullStore(b)
	var most uint64
	for b.Loop() {
		most = max(most, highest(func() {
			if err := s.Backup(context.Background(), io.Discard); err != nil {
				b.Fatal(err)
			}
		}))
	}
	b.ReportMetric(float64(len(backup))/1e6, "MB-zip")
	b.ReportMetric(float64(most)/1e6, "MB-at-most")
}

// BenchmarkRestore reads them into an empty store.
func BenchmarkRestore(b *testing.B) {
	_, backup := fullStore(b)
	var most uint64
	for b.Loop() {
		b.StopTimer()
		s, err := store.Open(context.Background(), filepath.Join(b.TempDir(), "restored.db"), time.Now)
		if err != nil {
			b.Fatal(err)
		}
		b.StartTimer()
		most = max(most, highest(func() {
			n, err := s.Restore(context.Background(), bytes.NewReader(backup), int64(len(backup)), nil)
			if err != nil || n != manyRecords {
				b.Fatalf("%d records restored: %v", n, err)
			}
		}))
		b.StopTimer()
		s.Close()
		b.StartTimer()
	}
	b.ReportMetric(float64(most)/1e6, "MB-at-most")
}
