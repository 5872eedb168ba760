package web_test

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	_ "modernc.org/sqlite" // the driver "sqlite"

	"meniscus/examples"
	"meniscus/internal/browser"
	"meniscus/store"
	"meniscus/web"
)

// blankRecord is a record of the worked example's setup without readings.
func blankRecord(t *testing.T, s *store.Store) string {
	t.Helper()
	e := examples.Worked()
	r, err := s.Create(t.Context(), store.Record{Title: e.Title, Setup: string(e.Setup)}, store.By{Author: "R. Kessler"})
	if err != nil {
		t.Fatal(err)
	}
	return r.ID
}

// typedRows is volume and value of every current reading of a record.
func typedRows(t *testing.T, s *store.Store, record string) string {
	t.Helper()
	d, err := s.Determination(t.Context(), record)
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	for _, r := range d.Runs {
		for _, q := range r.Readings {
			fmt.Fprintf(&b, "%s:%s ", q.Volume, q.Value)
		}
	}
	return b.String()
}

func waiter(t *testing.T, ctx context.Context) func(doing, condition string) {
	return func(doing, condition string) {
		t.Helper()
		browser.Run[bool](t, ctx, doing, chromedp.Poll[bool](condition, chromedp.WithPollingTimeout(30*time.Second)))
	}
}

const ticks = `document.querySelectorAll("#rows tbody tr:not(.waiting) .tick").length`

// Readings by keyboard alone: Tab, Enter, a decimal comma; a doubtful one is
// asked about while typing goes on, confirmed, and the last is undone.
func TestReadByKeyboard(t *testing.T) {
	s := aStore(t)
	record := blankRecord(t, s)
	ctx, address := browser.Start(t, bench(t, web.Options{Loopback: true, Store: s}))
	browser.Open(t, ctx, browser.Desktop, address+"/read?record="+record)
	wait := waiter(t, ctx)
	wait("the curve", `document.querySelector("#curve .model") !== null`)
	browser.Do(t, ctx, "giving a name", chromedp.Focus("#author"), chromedp.KeyEvent("R. Kessler"), chromedp.Focus("#volume"))
	enter := func(volume, value string, n int) {
		t.Helper()
		browser.Do(t, ctx, "typing", chromedp.KeyEvent(volume), chromedp.KeyEvent(kb.Tab), chromedp.KeyEvent(value), chromedp.KeyEvent(kb.Enter))
		wait("the point", fmt.Sprintf(`document.querySelectorAll("#curve .point").length === %d`, n))
	}
	enter("1,50", "405,7", 1)
	enter("3,00", "425,4", 2)
	enter("4.50", "398.0", 3)
	wait("the question", `document.getElementById("asks").textContent.includes("falls from 425,4 to 398.0, where the curve rises")`)
	enter("6.00", "446.7", 4)
	wait("the ticks", ticks+` === 4`)
	wait("what to add next", `document.getElementById("next").textContent.startsWith("Add ")`)
	if got, want := typedRows(t, s, record), "1,50:405,7 3,00:425,4 4.50:398.0 6.00:446.7 "; got != want {
		t.Errorf("kept %q, want %q: as typed", got, want)
	}
	browser.Do(t, ctx, "confirming", chromedp.Focus("#asks button"), chromedp.KeyEvent(kb.Enter))
	wait("no question", `document.querySelectorAll("#asks .ask").length === 0`)
	browser.Do(t, ctx, "undoing", chromedp.Focus("#undo"), chromedp.KeyEvent(kb.Enter))
	wait("three", ticks+` === 3 && document.querySelectorAll("#curve .point").length === 3`)
	browser.Do(t, ctx, "leaving one out", chromedp.Focus("#rows .act button"), chromedp.KeyEvent(kb.Enter), chromedp.Focus("#edit-why"), chromedp.KeyEvent("a bubble"), chromedp.KeyEvent(kb.Tab), chromedp.KeyEvent(kb.Tab), chromedp.KeyEvent(kb.Enter))
	wait("the cross", `document.querySelectorAll("#curve .point.out").length === 1`)
	history, err := s.History(t.Context(), record)
	if err != nil || len(history) != 7 {
		t.Errorf("%d rows in the history, want 4 typed, 1 confirmed, 1 undone, 1 left out; %v", len(history), err)
	}
}

// On a phone the entry and the curve come first and nothing runs over the edge.
func TestReadOnPhone(t *testing.T) {
	s := aStore(t)
	h := bench(t, web.Options{Loopback: true, Store: s})
	record := example(t, h)
	ctx, address := browser.Start(t, h)
	browser.Open(t, ctx, browser.Phone, address+"/read?record="+record)
	wait := waiter(t, ctx)
	wait("the points", `document.querySelectorAll("#curve .point").length > 20`)
	if w := browser.Run[int](t, ctx, "measuring", chromedp.Evaluate[int](`document.documentElement.scrollWidth`)); w > 390 {
		t.Errorf("the page is %d px wide on a phone of 390", w)
	}
	if !browser.Run[bool](t, ctx, "looking", chromedp.Evaluate[bool](`document.getElementById("value").getBoundingClientRect().bottom < 400 && document.getElementById("curve").getBoundingClientRect().top < 844 && document.getElementById("volume").inputMode === "decimal"`)) {
		t.Error("entry and curve do not come first")
	}
}

// A bench whose disk cannot be written shows no tick and keeps what was typed;
// an answer that is lost does not keep a reading twice.
func TestTickOnlyAfterCommit(t *testing.T) {
	s := aStore(t)
	record := blankRecord(t, s)
	inner := bench(t, web.Options{Loopback: true, Store: s})
	var lose atomic.Bool
	ctx, address := browser.Start(t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method == http.MethodPost && lose.CompareAndSwap(true, false) {
			inner.ServeHTTP(discard{http.Header{}}, r)
			panic(http.ErrAbortHandler)
		}
		inner.ServeHTTP(w, r)
	}))
	browser.Open(t, ctx, browser.Desktop, address+"/read?record="+record)
	wait := waiter(t, ctx)
	enter := func(volume, value string) {
		browser.Do(t, ctx, "typing", chromedp.Focus("#volume"), chromedp.KeyEvent(volume), chromedp.KeyEvent(kb.Tab), chromedp.KeyEvent(value), chromedp.KeyEvent(kb.Enter))
	}
	browser.Do(t, ctx, "giving a name", chromedp.Focus("#author"), chromedp.KeyEvent("R. Kessler"))
	enter("1.50", "405.7")
	wait("the first tick", ticks+` === 1`)

	other, err := sql.Open("sqlite", "file:"+s.Target()+"?_txlock=immediate")
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	tx, err := other.BeginTx(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	enter("3.00", "425.4")
	wait("the reason", `document.getElementById("problem").textContent.includes("held by another program")`)
	wait("no tick, the point and the text", ticks+` === 1 && document.querySelectorAll("#curve .point").length === 2 && document.querySelector("#rows tr.waiting").textContent.includes("425.4")`)
	if err := tx.Rollback(); err != nil {
		t.Fatal(err)
	}
	lose.Store(true)
	browser.Do(t, ctx, "trying again", chromedp.Click("#problem button"))
	wait("the tick", ticks+` === 2 && document.querySelectorAll("#rows tr.waiting").length === 0`)
	if got := typedRows(t, s, record); got != "1.50:405.7 3.00:425.4 " {
		t.Errorf("kept %q", got)
	}
}

type discard struct{ h http.Header }

func (d discard) Header() http.Header         { return d.h }
func (d discard) Write(p []byte) (int, error) { return len(p), nil }
func (d discard) WriteHeader(int)             {}

// Of two pages that add to one run the second is told, with the rows it lacks.
func TestTwoPagesAtOneRun(t *testing.T) {
	s := aStore(t)
	record := blankRecord(t, s)
	h := bench(t, web.Options{Loopback: true, Store: s})
	send := func(run, last int64, value string) (int, map[string]json.RawMessage) {
		t.Helper()
		body := fmt.Sprintf(`{"author":"R. Kessler","last":%d,"readings":[{"volume":"1","value":%q}]}`, last, value)
		r, _ := http.NewRequest(http.MethodPost, fmt.Sprintf("http://127.0.0.1:7480/api/records/%s/runs/%d/readings", record, run), strings.NewReader(body))
		r.Header.Set("Content-Type", "application/json")
		w := postRequest(h, r)
		out := map[string]json.RawMessage{}
		if err := json.Unmarshal(w.Body.Bytes(), &out); err != nil {
			t.Fatalf("%d: %s", w.Code, w.Body)
		}
		return w.Code, out
	}
	code, first := send(0, 0, "405")
	if code != http.StatusOK {
		t.Fatalf("%d: %v", code, first)
	}
	var now struct{ Run, Last int64 }
	json.Unmarshal(first["run"], &now.Run)
	json.Unmarshal(first["last"], &now.Last)
	if code, out := send(now.Run, 0, "406"); code != http.StatusConflict || !strings.Contains(string(out["current"]), `"value":"405"`) {
		t.Errorf("%d: %s", code, out["current"])
	}
	if code, _ := send(now.Run, now.Last, "406"); code != http.StatusOK {
		t.Errorf("with the newest row: %d", code)
	}
	if got := typedRows(t, s, record); got != "1:405 1:406 " {
		t.Errorf("kept %q", got)
	}
}

// Without scripts a form does it; without a name nothing is lost.
func TestReadForm(t *testing.T) {
	s := aStore(t)
	record := blankRecord(t, s)
	h := bench(t, web.Options{Loopback: true, Store: s})
	f := func(pairs ...string) (int, string) {
		r := httptestPost("/read", form(append([]string{"record", record, "run", "0", "last", "0", "volume", "1,5", "value", "<b>4O5"}, pairs...)...))
		w := postRequest(h, r)
		return w.Code, w.Body.String()
	}
	if code, body := f(); code != http.StatusBadRequest || !strings.Contains(body, `value="&lt;b&gt;4O5"`) {
		t.Errorf("without a name: %d, and what was typed is gone", code)
	}
	if code, body := f("author", "R. Kessler"); code != http.StatusSeeOther {
		t.Fatalf("%d: %s", code, body)
	}
	if code, body := f("author", "R. Kessler"); code != http.StatusConflict || !strings.Contains(body, `value="1,5"`) {
		t.Errorf("sent twice: %d", code)
	}
	if got := typedRows(t, s, record); got != "1,5:<b>4O5 " {
		t.Errorf("kept %q", got)
	}
	if body := get(t, bench(t, web.Options{Store: s}), "/read?record="+record).Body.String(); strings.Contains(body, "<b>4O5") {
		t.Error("a cell stands in the page as HTML")
	}
}
