package web_test

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"meniscus/internal/browser"
	"meniscus/web"
)

// On a desktop and before a room the entry, the whole curve, the newest readings
// and what to add next stand on the first screen.
func TestReadOnOneScreen(t *testing.T) {
	h := bench(t, web.Options{Loopback: true, Store: aStore(t)})
	record := example(t, h)
	ctx, address := browser.Start(t, h)
	for _, l := range []browser.Look{browser.Desktop, browser.Projector} {
		browser.Open(t, ctx, l, address+"/read?record="+record)
		wait := waiter(t, ctx)
		wait("what to do next", `document.getElementById("next").textContent.startsWith("Stop here.")`)
		for _, part := range []string{"#volume", "#curve svg", "#rows tbody tr:nth-child(4)", "#next strong"} {
			if !browser.Run[bool](t, ctx, "looking", chromedp.Evaluate[bool](`(() => {
				const r = document.querySelector("`+part+`").getBoundingClientRect();
				return r.width > 0 && r.top >= 0 && r.bottom <= innerHeight && r.right <= innerWidth})()`)) {
				t.Errorf("%s: %s is not on the first screen", l.Name, part)
			}
		}
		if first := browser.Run[string](t, ctx, "reading the list", chromedp.Evaluate[string](`document.querySelector("#rows tbody td").textContent`)); first != "46" {
			t.Errorf("%s: the first reading of the list is at %s mL, want the newest", l.Name, first)
		}
		if w := browser.Run[float64](t, ctx, "measuring", chromedp.Evaluate[float64](`document.querySelector("#curve svg").getBoundingClientRect().width / innerWidth`)); w < 0.45 {
			t.Errorf("%s: the curve takes %.0f %% of the width", l.Name, 100*w)
		}
	}
}

// With the number pad of a phone open, half of its height is left: the fields,
// what to add and the curve stand in it. A pad without a minus sign does not keep
// anybody from a negative potential. A name that is known takes no field.
func TestReadAboveTheNumberPad(t *testing.T) {
	s := aStore(t)
	record := blankRecord(t, s)
	ctx, address := browser.Start(t, bench(t, web.Options{Loopback: true, Store: s}))
	pad := browser.Phone
	pad.Height = 844 - 336 // a number pad of common phones, with its bar
	browser.Open(t, ctx, pad, address+"/read?record="+record)
	wait := waiter(t, ctx)
	browser.Do(t, ctx, "giving a name", chromedp.Focus("#author"), chromedp.KeyEvent("R. Kessler"), chromedp.Click("#volume"))
	wait("no field for the name", `document.getElementById("who").hidden && document.getElementById("as").textContent.includes("R. Kessler")`)
	browser.Do(t, ctx, "typing", chromedp.KeyEvent("1.50"), chromedp.Focus("#value"), chromedp.KeyEvent("15"), chromedp.Click(".sign"))
	wait("the sign, and the cursor still in the field", `document.getElementById("value").value === "-15" && document.activeElement.id === "value"`)
	browser.Do(t, ctx, "and back", chromedp.Click(".sign"), chromedp.Click(".sign"), chromedp.KeyEvent(kb.Enter))
	wait("the tick", ticks+` === 1`)
	wait("what to add", `document.getElementById("next").textContent !== ""`)
	if got := typedRows(t, s, record); got != "1.50:-15 " {
		t.Errorf("kept %q", got)
	}
	for _, part := range []string{"#volume", "#value", "#next strong", "#curve svg"} {
		if !browser.Run[bool](t, ctx, "looking", chromedp.Evaluate[bool](`(() => {
			const r = document.querySelector("`+part+`").getBoundingClientRect();
			return r.width > 0 && r.top >= 0 && r.bottom <= innerHeight})()`)) {
			t.Errorf("%s is not above the number pad", part)
		}
	}
	browser.Picture(t, ctx, "read-pad")
	browser.Do(t, ctx, "loading again", chromedp.Navigate(address+"/read?record="+record))
	wait("the name is still known", `document.getElementById("author").value === "R. Kessler" && document.getElementById("who").hidden`)
}

// Without scripts the readings stand there, the newest first, and the page says
// what is lacking.
func TestReadWithoutScripts(t *testing.T) {
	h := bench(t, web.Options{Loopback: true, Store: aStore(t)})
	record := example(t, h)
	_, _, body := ask(t, h, "GET", "/read?record="+record, nil)
	if !strings.Contains(body, "<noscript>") || !strings.Contains(body, "readings are kept all the same") {
		t.Error("the page does not say what is lacking")
	}
	newest, oldest := strings.Index(body, "<td>1225.4</td>"), strings.Index(body, "<td>405.7</td>")
	if newest < 0 || oldest < newest {
		t.Errorf("the newest reading stands at %d, the oldest at %d", newest, oldest)
	}
	if !strings.Contains(body, `readings <span class="n">51</span>`) {
		t.Error("the tab of the run does not say how many readings it has")
	}
}
