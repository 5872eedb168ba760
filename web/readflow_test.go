package web_test

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"meniscus/internal/browser"
	"meniscus/store"
	"meniscus/web"
)

// readingPage opens the Read page of a record with a name given.
func readingPage(t *testing.T, l browser.Look, h http.Handler, record string) (ctx context.Context, address string) {
	t.Helper()
	ctx, address = browser.Start(t, h)
	browser.Open(t, ctx, l, address+"/read?record="+record)
	browser.Do(t, ctx, "giving a name", chromedp.Focus("#author"), chromedp.KeyEvent("R. Kessler"), chromedp.Focus("#volume"))
	return ctx, address
}

func typeReading(t *testing.T, ctx context.Context, volume, value string) {
	t.Helper()
	browser.Do(t, ctx, "typing", chromedp.Focus("#volume"), chromedp.KeyEvent(volume), chromedp.KeyEvent(kb.Tab), chromedp.KeyEvent(value), chromedp.KeyEvent(kb.Enter))
}

// Two columns of a spreadsheet with a header, its units and decimal commas,
// pasted where a volume is typed, become a run: 0,4057 V is 405.7 mV. What
// cannot be read is refused, and still stands there.
func TestPasteFromASpreadsheet(t *testing.T) {
	s := aStore(t)
	record := blankRecord(t, s)
	ctx, _ := readingPage(t, browser.Desktop, bench(t, web.Options{Loopback: true, Store: s}), record)
	paste := func(text string) {
		browser.Run[bool](t, ctx, "pasting", chromedp.Evaluate[bool](fmt.Sprintf(`(() => {
			const d = new DataTransfer();
			d.setData("text/plain", %q);
			const e = document.getElementById("volume");
			e.focus();
			return !e.dispatchEvent(new ClipboardEvent("paste", {clipboardData: d, bubbles: true, cancelable: true})) && document.getElementById("pasted").value !== ""})()`, text)))
		browser.Run[bool](t, ctx, "handing it in", chromedp.Evaluate[bool](`(setTimeout(() => document.getElementById("file-form").requestSubmit()), true)`))
	}
	paste("what\twas\nfound\there\n")
	soon(t, ctx, "the refusal", `document.getElementById("refused")?.textContent.includes("Nothing was kept")`)
	soon(t, ctx, "the text", `document.getElementById("pasted").value.includes("found\there")`)
	paste("V (mL)\tE (V)\n1,50\t0,4057\n3,00\t0,4254\n4,50\t0,4379\n")
	soon(t, ctx, "the run", `document.querySelectorAll("#curve .point").length === 3 && `+ticks+` === 3`)
	if got := typedRows(t, s, record); !strings.Contains(got, ":405.7 ") || !strings.Contains(got, ":437.9 ") {
		t.Errorf("kept %q", got)
	}
}

// A file dropped on the page becomes a run, and stays beside it byte for byte.
func TestDropOfAFile(t *testing.T) {
	s := aStore(t)
	record := blankRecord(t, s)
	ctx, _ := readingPage(t, browser.Desktop, bench(t, web.Options{Loopback: true, Store: s}), record)
	const text = "V/mL;E/mV\n1,5;405,7\n3,0;425,4\n"
	browser.Run[bool](t, ctx, "dropping", chromedp.Evaluate[bool](fmt.Sprintf(`(() => {
		const d = new DataTransfer();
		d.items.add(new File([%q], "monday.csv", {type: "text/csv"}));
		setTimeout(() => document.body.dispatchEvent(new DragEvent("drop", {dataTransfer: d, bubbles: true, cancelable: true})));
		return true})()`, text)))
	soon(t, ctx, "the run", `document.querySelector(".tabs [aria-current]")?.textContent.startsWith("monday") && document.querySelectorAll("#curve .point").length === 2`)
	files, err := s.Originals(t.Context(), record)
	if err != nil || len(files) != 1 {
		t.Fatalf("%v, %v", files, err)
	}
	if kept, err := s.Content(t.Context(), record, files[0].No); err != nil || string(kept) != text {
		t.Errorf("kept %q, %v", kept, err)
	}
}

// Of two pages at one run the second is told what the first added, keeps what
// was typed, and adds it when its reader says so.
func TestKeepMineToo(t *testing.T) {
	s := aStore(t)
	record := blankRecord(t, s)
	ctx, _ := readingPage(t, browser.Desktop, bench(t, web.Options{Loopback: true, Store: s}), record)
	wait := waiter(t, ctx)
	typeReading(t, ctx, "1.50", "405.7")
	wait("the tick", ticks+` === 1`)
	runs, err := s.Runs(t.Context(), record)
	if err != nil || len(runs) != 1 {
		t.Fatalf("%v, %v", runs, err)
	}
	if _, err := s.Append(t.Context(), record, runs[0].No, store.By{Author: "A. Other"}, store.Entry{Volume: "2.00", Value: "412.0"}); err != nil {
		t.Fatal(err)
	}
	typeReading(t, ctx, "3.00", "425.4")
	wait("both are seen", `document.getElementById("problem").textContent.includes("changed meanwhile") && document.querySelectorAll("#curve .point").length === 3`)
	wait("no tick for mine", ticks+` === 2 && document.querySelector("#rows tr.waiting").textContent.includes("425.4")`)
	browser.Do(t, ctx, "keeping mine too", chromedp.Click("#problem button"))
	wait("the tick", ticks+` === 3 && document.querySelectorAll("#rows tr.waiting").length === 0`)
	if got := typedRows(t, s, record); got != "1.50:405.7 2.00:412.0 3.00:425.4 " {
		t.Errorf("kept %q", got)
	}
}

// A bench that does not answer: what is typed is held and said to be, through a
// reload too, and is kept once when the bench, started anew, answers again.
func TestLostConnection(t *testing.T) {
	s := aStore(t)
	record := blankRecord(t, s)
	var bench1, bench2 http.Handler = bench(t, web.Options{Loopback: true, Store: s}), bench(t, web.Options{Loopback: true, Store: s})
	var down, anew atomic.Bool
	ctx, address := readingPage(t, browser.Phone, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		switch {
		case down.Load() && r.Method == http.MethodPost:
			panic(http.ErrAbortHandler)
		case anew.Load():
			bench2.ServeHTTP(w, r)
		default:
			bench1.ServeHTTP(w, r)
		}
	}), record)
	wait := waiter(t, ctx)
	typeReading(t, ctx, "1.50", "405.7")
	wait("the tick", ticks+` === 1`)
	down.Store(true)
	typeReading(t, ctx, "3.00", "425.4")
	typeReading(t, ctx, "4.50", "437.9")
	const held = `document.getElementById("problem").textContent.includes("does not answer") && document.querySelectorAll("#rows tr.waiting").length === 2 && document.querySelectorAll("#curve .point").length === 3`
	wait("it is said", held+` && `+ticks+` === 1`)
	anew.Store(true)
	browser.Do(t, ctx, "loading again", chromedp.Navigate(address+"/read?record="+record))
	wait("it is still held", held)
	down.Store(false)
	wait("the ticks", ticks+` === 3 && document.querySelectorAll("#rows tr.waiting").length === 0 && document.getElementById("problem").textContent === ""`)
	if got := typedRows(t, s, record); got != "1.50:405.7 3.00:425.4 4.50:437.9 " {
		t.Errorf("kept %q", got)
	}
}

// Several runs and a blank of one determination stand on tabs, with how many
// readings each has, and a blank says that it is one.
func TestRunsAndBlanks(t *testing.T) {
	s := aStore(t)
	record := blankRecord(t, s)
	ctx, _ := readingPage(t, browser.Desktop, bench(t, web.Options{Loopback: true, Store: s}), record)
	typeReading(t, ctx, "1.50", "405.7")
	waiter(t, ctx)("the tick", ticks+` === 1`)
	for i, kind := range []string{"sample", "blank"} {
		browser.Do(t, ctx, "asking for another run", chromedp.Click(".tabs .other"))
		browser.Run[bool](t, ctx, "beginning a run", chromedp.Evaluate[bool](fmt.Sprintf(`(() => {
			document.getElementById("run-kind").value = %q;
			setTimeout(() => document.getElementById("run-kind").form.requestSubmit());
			return document.activeElement.id === "run-name"})()`, kind)))
		soon(t, ctx, "its tab", fmt.Sprintf(`document.querySelectorAll(".tabs a:not(.other)").length === %d && document.querySelectorAll("#rows tbody tr").length === 0 && document.readyState === "complete"`, i+2))
		typeReading(t, ctx, "0.50", "390")
		soon(t, ctx, "the tick", ticks+` === 1`)
	}
	tabs := browser.Run[string](t, ctx, "reading the tabs", chromedp.Evaluate[string](`[...document.querySelectorAll(".tabs a:not(.other)")].map(a => a.textContent.trim()).join(", ")`))
	if tabs != "run 1 1, run 2 1, blank 3 1" {
		t.Errorf("tabs: %s", tabs)
	}
}

// A reading typed before there is a name is not lost: the page asks for the
// name, and Enter there keeps what stands.
func TestNameIsAskedFor(t *testing.T) {
	s := aStore(t)
	record := blankRecord(t, s)
	ctx, address := browser.Start(t, bench(t, web.Options{Loopback: true, Store: s}))
	browser.Open(t, ctx, browser.Desktop, address+"/read?record="+record)
	wait := waiter(t, ctx)
	browser.Run[bool](t, ctx, "forgetting the name", chromedp.Evaluate[bool](`(document.getElementById("author").value = "", true)`))
	typeReading(t, ctx, "1.50", "405.7")
	wait("the name is asked for", `document.activeElement.id === "author" && document.getElementById("problem").textContent.includes("Your name first")`)
	browser.Do(t, ctx, "giving it", chromedp.KeyEvent("R. Kessler"), chromedp.KeyEvent(kb.Enter))
	wait("the tick", ticks+` === 1 && document.getElementById("problem").textContent === ""`)
	if got := typedRows(t, s, record); got != "1.50:405.7 " {
		t.Errorf("kept %q", got)
	}
}
