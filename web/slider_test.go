package web_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"meniscus/internal/browser"
	"meniscus/web"
)

// A gate holds questions about curves back until it is opened, or refuses them.
type gate struct {
	next  http.Handler
	mu    sync.Mutex
	asked []string // bodies, in order
	fail  int      // so many of the next questions are refused
	open  chan struct{}
}

func (g *gate) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if r.URL.Path == "/api/predict" {
		body, _ := io.ReadAll(r.Body) // a body cut short is asked about as it is
		r.Body = io.NopCloser(bytes.NewReader(body))
		g.mu.Lock()
		g.asked = append(g.asked, string(body))
		fail := g.fail > 0
		g.fail--
		g.mu.Unlock()
		<-g.open
		if fail {
			http.Error(w, "down", http.StatusInternalServerError)
			return
		}
	}
	g.next.ServeHTTP(w, r)
}

func (g *gate) changes(t *testing.T) [][]string {
	t.Helper()
	g.mu.Lock()
	defer g.mu.Unlock()
	var out [][]string
	for _, body := range g.asked {
		var q struct {
			Changes []struct {
				Place []string
				Value string
			}
		}
		if err := json.Unmarshal([]byte(body), &q); err != nil {
			t.Fatal(err)
		}
		list := []string{}
		for _, c := range q.Changes {
			list = append(list, c.Place[len(c.Place)-1]+"="+c.Value)
		}
		out = append(out, list)
	}
	return out
}

const sliding = `(key, v) => {
	const s = document.getElementById("field-" + key).closest(".field").querySelector("input[type=range]");
	s.value = v;
	s.dispatchEvent(new Event("input"));
}`

// A hand faster than the bench: what it does while a question is on its way
// becomes one more question, and the older answer does not undo what is newer.
func TestSliderIsFasterThanTheBench(t *testing.T) {
	g := &gate{next: bench(t, web.Options{Loopback: true}), open: make(chan struct{})}
	ctx, address := browser.Start(t, g)
	browser.Open(t, ctx, browser.Desktop, address+"/plan")
	const entry = `document.getElementById("field-flask/volume")`
	browser.Run[bool](t, ctx, "noting what the entry says at each answer", chromedp.Evaluate[bool](`(() => {
		window.said = [];
		new MutationObserver(() => said.push(`+entry+`.value)).observe(document.documentElement, {attributeFilter: ["data-shown"]});
		for (const v of [40, 41, 42, 43.4]) (`+sliding+`)("flask/volume", v);
		return true;
	})()`))
	close(g.open)
	browser.Run[bool](t, ctx, "waiting for two answers", chromedp.Poll[bool](`said.length === 2`, chromedp.WithPollingTimeout(20*time.Second)))
	if got := fmt.Sprint(g.changes(t)); got != "[[volume=40.00] [volume=43.40]]" {
		t.Errorf("asked %s", got)
	}
	if got := browser.Run[string](t, ctx, "reading", chromedp.Evaluate[string](`said.join() + (document.getElementById("setup").value.includes("volume: 43.40 ± 0.05 mL") ? "" : ", not in the text")`)); got != "43.40,43.40" {
		t.Errorf("the entry said %s after the answers", got)
	}
	// 43.40 mL of 0.045 mol/L against 0.1013 mol/L, one to one, is 19.279 mL.
	if got := browser.Run[string](t, ctx, "reading the curve", chromedp.Evaluate[string](`document.querySelector("#curve").textContent.match(/equivalence [0-9.]+/)[0]`)); got != "equivalence 19.279" {
		t.Errorf("the curve says %s", got)
	}
}

// A question that nobody answered is not lost: it goes along with the next.
func TestSliderAsksAgainWhatWasNotAnswered(t *testing.T) {
	g := &gate{next: bench(t, web.Options{Loopback: true}), open: make(chan struct{}), fail: 1}
	close(g.open)
	ctx, address := browser.Start(t, g)
	browser.Open(t, ctx, browser.Desktop, address+"/plan")
	slide := func(key, value string) {
		browser.Run[bool](t, ctx, "sliding", chromedp.Evaluate[bool](`((`+sliding+`)("`+key+`", `+value+`), true)`))
	}
	slide("flask/volume", "40")
	browser.Run[bool](t, ctx, "waiting for the problem", chromedp.Poll[bool](`document.getElementById("problem").textContent.includes("status 500")`, chromedp.WithPollingTimeout(20*time.Second)))
	if got := browser.Run[string](t, ctx, "reading", chromedp.Evaluate[string](`document.getElementById("field-flask/volume").value`)); got != "40.00" {
		t.Errorf("the entry says %s", got)
	}
	slide("burette/contains/Ce^4+", "0.09")
	browser.Run[bool](t, ctx, "waiting for the text", chromedp.Poll[bool](`document.getElementById("problem").textContent === "" && ["volume: 40.00 ± 0.05 mL", "Ce^4+: 0.0900 ± 0.0002"].every(s => document.getElementById("setup").value.includes(s))`, chromedp.WithPollingTimeout(20*time.Second)))
	if got := fmt.Sprint(g.changes(t)); got != "[[volume=40.00] [volume=40.00 Ce^4+=0.0900]]" {
		t.Errorf("asked %s", got)
	}
}

// What is not shown is not asked for, and comes when it is wanted; the slope of
// a curve already drawn needs the bench again.
func TestColumnsComeWhenTheyAreWanted(t *testing.T) {
	g := &gate{next: bench(t, web.Options{Loopback: true}), open: make(chan struct{})}
	close(g.open)
	ctx, address := browser.Start(t, g)
	browser.Open(t, ctx, browser.Desktop, address+"/plan")
	browser.Run[bool](t, ctx, "sliding", chromedp.Evaluate[bool](`((`+sliding+`)("flask/volume", 40), true)`))
	wait := func(doing, condition string) {
		t.Helper()
		browser.Run[bool](t, ctx, doing, chromedp.Poll[bool](condition, chromedp.WithPollingTimeout(20*time.Second)))
	}
	wait("the curve", `document.getElementById("curve").textContent.includes("equivalence 17.7")`)
	browser.Run[bool](t, ctx, "asking for both", chromedp.Evaluate[bool](`(document.getElementById("show-slope").click(), document.getElementById("show-shares").click(), true)`))
	wait("the panels", `document.querySelector("#curve .slopeline")?.getAttribute("d").length > 1000 && document.querySelectorAll("#curve .share").length === 2 && document.getElementById("share-of").options.length === 2`)
	wait("the other element", `(() => {const s = document.getElementById("share-of"); s.value = "Ce"; s.dispatchEvent(new Event("change")); return document.getElementById("curve").textContent.includes("share of Ce")})()`)
	browser.Picture(t, ctx, "plan-panels")
}
