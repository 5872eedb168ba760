package web_test

import (
	"bytes"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"slices"
	"testing"

	"github.com/chromedp/chromedp"

	"meniscus/examples"
	"meniscus/internal/browser"
	"meniscus/web"
)

// BenchmarkPredict is what the server spends on a curve of 500 points.
func BenchmarkPredict(b *testing.B) {
	s := bench(b, web.Options{})
	body := []byte(`{"setup":` + quote(b, examples.Worked().Setup) + `}`)
	for b.Loop() {
		r := httptest.NewRequest(http.MethodPost, "/api/predict", bytes.NewReader(body))
		r.Header.Set("Content-Type", "application/json")
		w := httptest.NewRecorder()
		s.ServeHTTP(w, r)
		if w.Code != http.StatusOK {
			b.Fatal(w.Body)
		}
	}
}

// BenchmarkSlider moves a slider of the Plan page in Chromium and reports how
// long it takes until the new curve is painted: from the event to the frame
// that shows the answer, in ms.
func BenchmarkSlider(b *testing.B) {
	ctx, address := browser.Start(b, bench(b, web.Options{Loopback: true}))
	browser.Open(b, ctx, browser.Desktop, address+"/plan")
	times := []float64{}
	for b.Loop() {
		times = append(times, browser.Run[[]float64](b, ctx, "sliding", chromedp.Evaluate[[]float64](slide, chromedp.EvalAwaitPromise))...)
	}
	slices.Sort(times)
	b.ReportMetric(times[len(times)/2], "median-ms")
	b.ReportMetric(times[len(times)*95/100], "p95-ms")
	b.ReportMetric(0, "ns/op")
}

const slide = `(async () => {
	const s = document.querySelector('#fields input[type=range]'), root = document.documentElement, out = [];
	const drawn = () => new Promise(done => { const o = new MutationObserver(() => { o.disconnect(); done() }); o.observe(root, {attributeFilter: ["data-shown"]}) });
	const frame = () => new Promise(requestAnimationFrame);
	for (let i = 0; i < 40; i++) {
		await frame();
		const before = root.dataset.shown, from = performance.now();
		s.value = String(Number(s.min) + (Number(s.max) - Number(s.min)) * (0.3 + 0.4 * ((i * 7) % 40) / 40));
		s.dispatchEvent(new Event("input"));
		if (root.dataset.shown === before) await drawn();
		await new Promise(r => requestAnimationFrame(() => setTimeout(r, 0)));
		out.push(performance.now() - from);
	}
	return out;
})()`

func quote(tb testing.TB, text []byte) string {
	tb.Helper()
	out, err := json.Marshal(string(text))
	if err != nil {
		tb.Fatal(err)
	}
	return string(out)
}
