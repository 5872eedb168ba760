package web_test

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"meniscus/internal/browser"
	"meniscus/store"
	"meniscus/web"
)

// aStore is an empty store of its own.
func aStore(tb testing.TB) *store.Store {
	tb.Helper()
	s, err := store.Open(tb.Context(), filepath.Join(tb.TempDir(), "bench.db"), time.Now)
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() {
		if err := s.Close(); err != nil {
			tb.Error(err)
		}
	})
	return s
}

// ask sends a request as a page of the bench would and returns what came back.
func ask(tb testing.TB, h http.Handler, method, path string, form url.Values) (int, http.Header, string) {
	tb.Helper()
	var body io.Reader
	if form != nil {
		body = strings.NewReader(form.Encode())
	}
	r := httptest.NewRequestWithContext(tb.Context(), method, "http://127.0.0.1:7480"+path, body)
	if form != nil {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Sec-Fetch-Site", "same-origin")
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w.Code, w.Header(), w.Body.String()
}

// example makes the worked example a record and returns its id.
func example(tb testing.TB, h http.Handler) string {
	tb.Helper()
	code, head, text := ask(tb, h, "POST", "/records/example", url.Values{"author": {"R. Kessler"}})
	to, err := url.Parse(head.Get("Location"))
	if code != http.StatusSeeOther || err != nil {
		tb.Fatalf("the worked example: %d %s %v", code, text, err)
	}
	return to.Query().Get("record")
}

// The worked example was made with 22.0070 mL and 11.934 % iron (see
// examples/granules/make.py); the page must say so within its uncertainty, and
// its report must be that of the command line.
func TestEvaluatePage(t *testing.T) {
	s := aStore(t)
	h := bench(t, web.Options{Loopback: true, Store: s})
	code, _, text := ask(t, h, "GET", "/evaluate", nil)
	if code != http.StatusOK || !strings.Contains(text, "Begin with the worked example") {
		t.Errorf("without records: %d", code)
	}
	id := example(t, h)
	code, _, text = ask(t, h, "GET", "/evaluate?record="+id, nil)
	if code != http.StatusOK {
		t.Fatalf("%d %s", code, text)
	}
	for _, want := range []string{"11.939 ± 0.034 %", "22.0069", "Methods side by side", "it needs readings of pH", "Keep this result"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	for _, not := range []string{"<style", " style=", "onclick", "<script>"} {
		if strings.Contains(text, not) {
			t.Errorf("the page holds %q, which its own policy refuses", not)
		}
	}
	for format, sign := range map[string]string{"json": `"meniscus.evaluation/1"`, "csv": "volume", "html": "<!doctype html>", "text": "w(Fe)"} {
		code, head, text := ask(t, h, "GET", "/evaluate/report/"+format+"?record="+id, nil)
		if code != http.StatusOK || !strings.Contains(text, sign) || !strings.HasPrefix(head.Get("Content-Disposition"), `attachment; filename="iron-in-moss-control-granules`) {
			t.Errorf("report as %s: %d %v", format, code, head)
		}
	}
	if code, _, _ := ask(t, h, "GET", "/evaluate/report/docx?record="+id, nil); code != http.StatusNotFound {
		t.Errorf("a report that there is not: %d", code)
	}
	if code, _, _ := ask(t, h, "GET", "/evaluate?record=nosuch", nil); code != http.StatusNotFound {
		t.Errorf("a record that there is not: %d", code)
	}
}

// A reading is left out with a reason that is kept, and comes back; without a
// reason, or for another run, nothing changes.
func TestLeaveOutWithAReason(t *testing.T) {
	s := aStore(t)
	h := bench(t, web.Options{Loopback: true, Store: s})
	id := example(t, h)
	d, err := s.Determination(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	run, first := d.Runs[0].Run.No, d.Runs[0].Readings[0]
	form := func(do, why string) url.Values {
		return url.Values{"record": {id}, "run": {number(run)}, "reading": {number(first.No)}, "do": {do}, "why": {why}, "author": {"R. Kessler"}}
	}
	if code, _, text := ask(t, h, "POST", "/evaluate/readings", form("out", " ")); code != http.StatusBadRequest || !strings.Contains(text, "with a reason and a name") {
		t.Errorf("left out without a reason: %d %s", code, text)
	}
	if code, _, text := ask(t, h, "POST", "/evaluate/readings", form("out", "a bubble in the tip")); code != http.StatusSeeOther {
		t.Fatalf("left out: %d %s", code, text)
	}
	d, _ = s.Determination(t.Context(), id)
	now := d.Runs[0].Readings[0]
	if now.State != store.LeftOut || now.Why != "a bubble in the tip" || now.Volume != first.Volume || now.Author != "R. Kessler" {
		t.Errorf("the reading is %+v", now)
	}
	_, _, text := ask(t, h, "GET", "/evaluate?record="+id, nil)
	if !strings.Contains(text, "a bubble in the tip") || !strings.Contains(text, "50 readings") && !strings.Contains(text, "50 ") {
		t.Error("the page does not show what was left out")
	}
	// A second tab still knows the first row: it is told, and nothing is lost.
	if code, _, _ := ask(t, h, "POST", "/evaluate/readings", form("out", "again")); code != http.StatusConflict {
		t.Errorf("an old row left out again: %d", code)
	}
	back := form("in", "it was no bubble")
	back.Set("reading", number(now.No))
	if code, _, _ := ask(t, h, "POST", "/evaluate/readings", back); code != http.StatusSeeOther {
		t.Error("it does not come back")
	}
	d, _ = s.Determination(t.Context(), id)
	if got := d.Runs[0].Readings[0]; got.State != store.Kept || len(d.Runs[0].Readings) != 51 {
		t.Errorf("after it came back: %+v", got)
	}
}

func number(n int64) string { return strconv.FormatInt(n, 10) }

// A kept result says whether it is of what is there now.
func TestKeepAResult(t *testing.T) {
	s := aStore(t)
	h := bench(t, web.Options{Loopback: true, Store: s})
	id := example(t, h)
	if code, _, _ := ask(t, h, "POST", "/evaluate/archive", url.Values{"record": {id}, "author": {""}}); code != http.StatusBadRequest {
		t.Errorf("kept by nobody: %d", code)
	}
	if code, _, text := ask(t, h, "POST", "/evaluate/archive", url.Values{"record": {id}, "author": {"R. Kessler"}}); code != http.StatusSeeOther {
		t.Fatalf("%d %s", code, text)
	}
	list, err := s.Results(t.Context(), id)
	if err != nil || len(list) != 1 || !strings.Contains(list[0].JSON, `"meniscus.evaluation/1"`) {
		t.Fatalf("%+v, %v", list, err)
	}
	if _, _, text := ask(t, h, "GET", "/evaluate?record="+id, nil); !strings.Contains(text, "from what is here now") {
		t.Error("the kept result is not shown as that of now")
	}
	rec, _ := s.Record(t.Context(), id)
	rec.Setup = strings.Replace(rec.Setup, "0.1013", "0.1014", 1)
	if _, err := s.Save(t.Context(), rec, store.By{Author: "R. Kessler", Why: "the label says so"}); err != nil {
		t.Fatal(err)
	}
	if _, _, text := ask(t, h, "GET", "/evaluate?record="+id, nil); !strings.Contains(text, "from an earlier state") || !strings.Contains(text, "have changed since") {
		t.Error("the page does not say that the setup has changed")
	}
}

// A setup that is wrong, and readings that make no curve, are said on the page.
func TestEvaluateSaysWhatIsWrong(t *testing.T) {
	s := aStore(t)
	h := bench(t, web.Options{Loopback: true, Store: s})
	by := store.By{Author: "R. Kessler"}
	rec, err := s.Create(t.Context(), store.Record{Title: "<script>alert(1)</script>", Setup: "flask: {volume: 50}\n"}, by)
	if err != nil {
		t.Fatal(err)
	}
	code, _, text := ask(t, h, "GET", "/evaluate?record="+rec.ID, nil)
	if code != http.StatusOK || !strings.Contains(text, "cannot be used yet") || strings.Contains(text, "<script>alert") {
		t.Errorf("a wrong setup: %d", code)
	}
	run, err := s.AddRun(t.Context(), rec.ID, store.Run{Name: "1", Kind: store.Sample, Unit: "mV"}, by)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Append(t.Context(), rec.ID, run.No, by, store.Entry{Volume: "O.5", Value: "<b>4</b>"}); err != nil {
		t.Fatal(err)
	}
	code, _, text = ask(t, h, "GET", "/evaluate?record="+rec.ID, nil)
	if code != http.StatusOK || strings.Contains(text, "<b>4</b>") {
		t.Errorf("readings that are none: %d", code)
	}
	if code, _, _ := ask(t, h, "GET", "/evaluate/report/json?record="+rec.ID, nil); code != http.StatusBadRequest {
		t.Errorf("a report of a wrong setup: %d", code)
	}
}

// drag draws over the figure that is seen, from one volume to another. The first
// reading of the worked example is at 1.5 mL and the last at 46 mL.
func drag(t *testing.T, ctx context.Context, from, to float64) (chosen string) {
	t.Helper()
	browser.Run[bool](t, ctx, "dragging", chromedp.Evaluate[bool](fmt.Sprintf(`(() => {
		const svg = [...document.querySelectorAll("#report .figure svg")].find(s => s.getBoundingClientRect().width > 0);
		const r = svg.getBoundingClientRect(), w = svg.viewBox.baseVal.width;
		const cs = [...svg.querySelectorAll("circle")].map(c => Number(c.getAttribute("cx"))), from = Math.min(...cs), to = Math.max(...cs);
		const x = v => r.left + (from + (v - 1.5) / 44.5 * (to - from)) / w * r.width;
		svg.setPointerCapture = () => {};
		const send = (kind, v) => svg.dispatchEvent(new PointerEvent(kind, {clientX: x(v), clientY: r.top + 50, pointerType: "mouse", pointerId: 1, bubbles: true, cancelable: true}));
		send("pointerdown", %[1]g); send("pointermove", (%[1]g + %[2]g) / 2); send("pointerup", %[2]g);
		return true})()`, from, to)))
	return browser.Run[string](t, ctx, "reading the choice", chromedp.Evaluate[string](`[...document.querySelectorAll("tr[data-volume]")].filter(r => r.querySelector("input").checked).map(r => r.dataset.volume).join(" ")`))
}

// Dragging over the figure chooses the readings below it; the reason is asked
// for and kept, the evaluation follows, and those left out still count in the
// scale of the figure, on a projector too.
func TestEvaluateByHand(t *testing.T) {
	s := aStore(t)
	h := bench(t, web.Options{Loopback: true, Store: s})
	id := example(t, h)
	ctx, address := browser.Start(t, h)
	browser.Open(t, ctx, browser.Desktop, address+"/evaluate?record="+id)
	if chosen := drag(t, ctx, 43, 46.5); chosen != "44 46" {
		t.Errorf("chosen are the readings at %q mL, want 44 46", chosen)
	}
	if !browser.Run[bool](t, ctx, "giving the reason", chromedp.Evaluate[bool](`(() => {
		const d = document.querySelector("details.taken");
		if (!d.open || document.activeElement.name !== "why") return false;
		d.querySelector("input[name=why]").value = "the burette ran dry";
		d.querySelector("input[name=author]").value = "R. Kessler";
		return true})()`)) {
		t.Error("the reason is not asked for")
	}
	browser.Do(t, ctx, "leaving them out", chromedp.Click(`details.taken button[value=out]`), chromedp.WaitVisible(`details.taken`), chromedp.WaitReady(`tr.out`))
	browser.Run[bool](t, ctx, "the page that follows", chromedp.Poll[bool](`document.querySelectorAll("tr.out").length === 2 && document.getElementById("sentence").textContent.includes("49 readings")`, chromedp.WithPollingTimeout(20*time.Second)))
	browser.Accessible(t, ctx)
	d, err := s.Determination(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	for _, q := range d.Runs[0].Readings {
		if out := q.Volume == "44" || q.Volume == "46"; out != (q.State == store.LeftOut) || out && (q.Why != "the burette ran dry" || q.Author != "R. Kessler") {
			t.Errorf("the reading at %s mL is %+v", q.Volume, q)
		}
	}
	for _, l := range []browser.Look{browser.Desktop, browser.Projector} {
		browser.Open(t, ctx, l, address+"/evaluate?record="+id)
		if chosen := drag(t, ctx, 39, 43); chosen != "40 42" {
			t.Errorf("%s: after two were left out the readings at %q mL are chosen, want 40 42", l.Name, chosen)
		}
	}
}

// In every look the page says in a sentence what the readings come to, and the
// whole curve with its residuals stands on the first screen; its budget has bars.
func TestEvaluateBeginsWithTheCurve(t *testing.T) {
	s := aStore(t)
	h := bench(t, web.Options{Loopback: true, Store: s})
	id := example(t, h)
	ctx, address := browser.Start(t, h)
	for _, l := range browser.Looks {
		browser.Open(t, ctx, l, address+"/evaluate?record="+id)
		if !browser.Run[bool](t, ctx, "looking", chromedp.Evaluate[bool](`(() => {
			const shown = [...document.querySelectorAll("#report .figure svg")].filter(s => s.getBoundingClientRect().width > 0);
			const r = shown[0].getBoundingClientRect(), result = document.querySelector("#report .result").getBoundingClientRect();
			return shown.length === 1 && r.top >= 0 && r.bottom <= innerHeight && r.bottom <= result.top && document.documentElement.scrollWidth <= innerWidth})()`)) {
			t.Errorf("%s: the curve does not stand first and whole", l.Name)
		}
		if !browser.Run[bool](t, ctx, "looking", chromedp.Evaluate[bool](`(() => {
			const bars = [...document.querySelectorAll("#report .run .bar svg")].filter(s => s.getBoundingClientRect().width > 40);
			return bars.length >= 4 && document.getElementById("sentence").textContent.startsWith("w(Fe) = 11.939 ± 0.034 %")})()`)) {
			t.Errorf("%s: no sentence, or no bars", l.Name)
		}
		browser.Picture(t, ctx, "evaluate-first-"+l.Name)
	}
}
