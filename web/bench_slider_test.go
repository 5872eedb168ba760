//go:build unix

package web_test

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/systeminfo"
	"github.com/chromedp/chromedp"

	"meniscus/internal/browser"
	"meniscus/web"
)

// BenchmarkSlider moves a slider of the Plan page in Chromium and says how long
// it takes until the new curve of 500 points is painted, from the event to the
// end of the frame that shows the answer, and where the time goes. Those times
// grow with whatever else the machine does; the processor time of a step, of
// server and browser, grows far less.
func BenchmarkSlider(b *testing.B) {
	served := &stopwatch{next: bench(b, web.Options{Loopback: true})}
	ctx, address := browser.Start(b, served)
	browser.Open(b, ctx, browser.Desktop, address+"/plan")
	browser.Run[bool](b, ctx, "waiting for the first verdict", chromedp.Poll[bool](`document.querySelector("#verdict").textContent !== ""`))
	served.list = nil
	before := spent(b, ctx)
	var steps []slideStep
	for b.Loop() {
		steps = append(steps, browser.Run[[]slideStep](b, ctx, "sliding", chromedp.Evaluate[[]slideStep](slide, chromedp.EvalAwaitPromise))...)
	}
	after := spent(b, ctx)
	var said strings.Builder
	line := func(name string, list []float64) {
		fmt.Fprintf(&said, "%-32s median %5.1f ms, 95th percentile %5.1f ms\n", name, quantile(list, 0.5), quantile(list, 0.95))
	}
	said.WriteString("\n")
	for _, stage := range []struct {
		name string
		took func(slideStep) float64
	}{
		{"slider to paint", func(s slideStep) float64 { return s.Painted }},
		{"event to request", func(s slideStep) float64 { return s.Asked }},
		{"request to answer", func(s slideStep) float64 { return s.Answered - s.Asked }},
		{"reading the answer", func(s slideStep) float64 { return s.Read - s.Answered }},
		{"drawing", func(s slideStep) float64 { return s.Drawn - s.Read }},
		{"waiting for a frame", func(s slideStep) float64 { return s.Frame - s.Drawn }},
		{"the frame", func(s slideStep) float64 { return s.Painted - s.Frame }},
	} {
		var list []float64
		for _, s := range steps {
			list = append(list, stage.took(s))
		}
		line(stage.name, list)
	}
	line("the server's part of the answer", served.list)
	said.WriteString("processor time of a step:")
	for _, k := range []string{"server", "renderer", "GPU", "browser", "utility"} {
		fmt.Fprintf(&said, " %s %.1f ms", k, 1e3*(after[k]-before[k])/float64(len(steps)))
	}
	b.Log(said.String())
	var painted []float64
	for _, s := range steps {
		painted = append(painted, s.Painted)
	}
	b.ReportMetric(quantile(painted, 0.5), "median-ms")
	b.ReportMetric(quantile(painted, 0.95), "p95-ms")
	b.ReportMetric(1e3*(after["server"]-before["server"])/float64(len(steps)), "server-cpu-ms")
	b.ReportMetric(1e3*(after["renderer"]-before["renderer"])/float64(len(steps)), "page-cpu-ms")
	b.ReportMetric(0, "ns/op")
}

// A slideStep is when, in ms after the event, each thing was done.
type slideStep struct{ Asked, Answered, Read, Drawn, Frame, Painted float64 }

const slide = `(async () => {
	const s = document.querySelector('#fields input[type=range]'), root = document.documentElement, out = [], ask = window.fetch;
	let from = 0, t = {};
	const now = () => performance.now() - from;
	const drawn = () => new Promise(done => { const o = new MutationObserver(() => { o.disconnect(); done() }); o.observe(root, {attributeFilter: ["data-shown"]}) });
	const frame = () => new Promise(requestAnimationFrame);
	window.fetch = async (...a) => {
		const mine = t;
		mine.Asked = now();
		const r = await ask(...a), read = r.json.bind(r);
		mine.Answered = now();
		r.json = async () => { const x = await read(); mine.Read = now(); return x };
		return r;
	};
	for (let i = 0; i < 200; i++) {
		await frame();
		t = {};
		const before = root.dataset.shown;
		from = performance.now();
		s.value = String(Number(s.min) + (Number(s.max) - Number(s.min)) * (0.3 + 0.4 * ((i * 7) % 40) / 40));
		s.dispatchEvent(new Event("input"));
		if (root.dataset.shown === before) await drawn();
		t.Drawn = now();
		await frame();
		t.Frame = now();
		await new Promise(r => setTimeout(r, 0));
		t.Painted = now();
		out.push(t);
	}
	window.fetch = ask;
	return out;
})()`

// A stopwatch takes down how long each prediction took.
type stopwatch struct {
	next http.Handler
	mu   sync.Mutex
	list []float64 // ms
}

func (s *stopwatch) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	from := time.Now()
	s.next.ServeHTTP(w, r)
	if r.URL.Path != "/api/predict" {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.list = append(s.list, time.Since(from).Seconds()*1e3)
}

// spent is the processor time so far in s: of this process, which is the
// server, and of each kind of process of the browser.
func spent(tb testing.TB, ctx context.Context) map[string]float64 {
	tb.Helper()
	out := map[string]float64{"server": used(tb)}
	r, err := chromedp.CallBrowser(ctx, systeminfo.GetProcessInfo, cdp.Empty{})
	if err != nil {
		tb.Fatal(err)
	}
	for _, p := range r.ProcessInfo {
		out[p.Type] += p.CPUTime
	}
	return out
}

func quantile(list []float64, p float64) float64 {
	list = slices.Sorted(slices.Values(list))
	return list[min(int(p*float64(len(list))), len(list)-1)]
}
