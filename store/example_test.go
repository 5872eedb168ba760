package store_test

import (
	"context"
	"fmt"
	"log"
	"os"
	"path/filepath"
	"time"

	"meniscus/store"
)

// A reading is typed, corrected, and both rows stay.
func Example() {
	dir, err := os.MkdirTemp("", "store-example-")
	if err != nil {
		log.Fatal(err)
	}
	defer os.RemoveAll(dir)
	ctx := context.Background()
	s, err := store.Open(ctx, filepath.Join(dir, "bench.db"), time.Now)
	if err != nil {
		log.Fatal(err)
	}
	defer s.Close()

	by := store.By{Author: "R. Kessler"}
	record, err := s.Create(ctx, store.Record{Title: "Iron in moss control", Tags: []string{"iron"}}, by)
	if err != nil {
		log.Fatal(err)
	}
	run, err := s.AddRun(ctx, record.ID, store.Run{Name: "first", Kind: store.Sample, Unit: "mV"}, by)
	if err != nil {
		log.Fatal(err)
	}
	rows, err := s.Append(ctx, record.ID, run.No, by, store.Entry{Volume: "24,50", Value: "601"}, store.Entry{Volume: "24,60", Value: "166"})
	if err != nil {
		log.Fatal(err)
	}
	by.Why = "digits in the wrong order"
	if _, err := s.Append(ctx, record.ID, run.No, by, store.Entry{Replaces: rows[1].No, Volume: "24,60", Value: "616"}); err != nil {
		log.Fatal(err)
	}
	current, err := s.Readings(ctx, record.ID, run.No)
	if err != nil {
		log.Fatal(err)
	}
	for _, r := range current {
		fmt.Printf("%s mL, %s %s (%s)\n", r.Volume, r.Value, run.Unit, r.Why)
	}
	history, err := s.History(ctx, record.ID)
	fmt.Println(len(history), "rows", err)
	// Output:
	// 24,50 mL, 601 mV ()
	// 24,60 mL, 616 mV (digits in the wrong order)
	// 3 rows <nil>
}
