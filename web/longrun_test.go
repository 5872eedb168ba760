package web_test

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"runtime"
	"strings"
	"testing"

	"meniscus/web"
)

// longFile is a file of n readings from 0 mL on, each 0.001 mL and 0.01 mV above
// the one before.
func longFile(n int) []byte {
	var b bytes.Buffer
	b.WriteString("volume (mL),potential (mV)\n")
	for i := range n {
		fmt.Fprintf(&b, "%d.%03d,%d.%02d\n", i/1000, i%1000, 300+i/100, i%100)
	}
	return b.Bytes()
}

// A file longer than the page lists is kept whole: every reading is in the store
// and in the export, the page says what it does not list and not draw, and the
// plan of the next addition says that it is for shorter runs.
func TestLongFileIsKeptWhole(t *testing.T) {
	const n = 12_345
	s := aStore(t)
	record := blankRecord(t, s)
	h := bench(t, web.Options{Store: s})
	w := hand(t, h, record, "long.csv", longFile(n))
	if w.Code != http.StatusSeeOther {
		t.Fatalf("%d: %s", w.Code, w.Body)
	}
	page := w.Header().Get("Location")
	body := get(t, h, page).Body.String()
	if !strings.Contains(body, "The newest 400 readings; 11945 before these are kept and not listed, and the curve draws ") || !strings.Contains(body, `<span class="n">12345</span>`) {
		t.Error("the page does not say what it leaves out")
	}

	d, err := s.Determination(t.Context(), record)
	if err != nil || len(d.Runs) != 1 || len(d.Runs[0].Readings) != n {
		t.Fatalf("%d runs, %v", len(d.Runs), err)
	}
	for i, q := range d.Runs[0].Readings {
		if want := fmt.Sprintf("%.12g %.12g", float64(i)/1000, 300+float64(i)/100); q.Volume+" "+q.Value != want {
			t.Fatalf("reading %d is %s %s, want %s", i, q.Volume, q.Value, want)
		}
	}
	var archive bytes.Buffer
	if err := s.Export(t.Context(), record, &archive); err != nil {
		t.Fatal(err)
	}
	if rows := exportedRows(t, archive.Bytes()); rows != n {
		t.Errorf("%d readings in the export, want %d", rows, n)
	}

	at := strings.LastIndex(page, "run=")
	var next struct {
		Last        int64
		Do, Refusal string
	}
	if err := json.Unmarshal(get(t, h, "/api/records/"+record+"/runs/"+page[at+4:]+"/next").Body.Bytes(), &next); err != nil {
		t.Fatal(err)
	}
	if next.Do != "" || next.Last != d.Runs[0].Last || !strings.Contains(next.Refusal, "more than 1000 readings") {
		t.Errorf("next: %+v, the newest row is %d", next, d.Runs[0].Last)
	}
}

// exportedRows counts the readings in the CSV files of the runs of an export.
func exportedRows(t *testing.T, archive []byte) (rows int) {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(archive), int64(len(archive)))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range z.File {
		if !strings.HasPrefix(f.Name, "runs/") {
			continue
		}
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		rows += strings.Count(string(text), "\n") - 1 // the header
	}
	return rows
}

// What the page of a long run allocates grows with the run by what the database
// hands over of each row, some 700 bytes and soon free again. Holding the readings
// of the run, and a row of the page for each, was 6,200 bytes a reading.
func TestLongRunIsNotHeld(t *testing.T) {
	s := aStore(t)
	h := bench(t, web.Options{Store: s})
	taken := func(n int) float64 {
		w := hand(t, h, blankRecord(t, s), "long.csv", longFile(n))
		if w.Code != http.StatusSeeOther {
			t.Fatalf("%d: %s", w.Code, w.Body)
		}
		target := w.Header().Get("Location")
		get(t, h, target) // templates and the like are made once
		start := allocated()
		if w := get(t, h, target); w.Code != http.StatusOK {
			t.Fatalf("%d: %s", w.Code, w.Body)
		}
		return allocated() - start
	}
	const short, long = 2_000, 12_000
	if row := (taken(long) - taken(short)) / (long - short); row > 1500 {
		t.Errorf("the page allocates %.0f bytes for each reading of a long run, want at most 1500", row)
	}
}

// allocated is what this process has allocated so far, bytes.
func allocated() float64 {
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return float64(m.TotalAlloc)
}
