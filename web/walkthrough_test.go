package web_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"meniscus/internal/browser"
	"meniscus/web"
)

// TestWalkthrough carries out what docs/walkthrough.md tells a newcomer to do, in
// a browser and on an empty bench. Its indented lines are the script:
//
//	open PATH            goes to a page
//	fill "LABEL" TEXT    types into the field of that label; ; ends a row of a table
//	press KEY            Enter or Tab, where the cursor is
//	type TEXT            types where the cursor is
//	click TEXT           on a button or link, by its words
//	see TEXT             waits until the page says it
func TestWalkthrough(t *testing.T) {
	data, err := os.ReadFile(filepath.Join("..", "docs", "walkthrough.md"))
	if err != nil {
		t.Fatal(err)
	}
	ctx, address := browser.Start(t, bench(t, web.Options{Loopback: true, Store: aStore(t)}))
	browser.Open(t, ctx, browser.Desktop, address+"/")
	steps := 0
	for line := range strings.Lines(string(data)) {
		line = strings.TrimRight(line, "\n")
		step, ok := strings.CutPrefix(line, "    ")
		if !ok || strings.HasPrefix(step, "$") || strings.HasPrefix(step, " ") {
			continue
		}
		steps++
		walk(t, ctx, address, step)
	}
	if steps < 20 {
		t.Errorf("the walk has %d steps", steps)
	}
}

func walk(t *testing.T, ctx context.Context, address, step string) {
	t.Helper()
	verb, rest, _ := strings.Cut(step, " ")
	switch verb {
	case "open":
		browser.Do(t, ctx, step, chromedp.Navigate(address+rest))
	case "fill":
		label, text, ok := strings.Cut(strings.TrimPrefix(rest, `"`), `" `)
		if !ok {
			t.Fatalf("%s: fill \"LABEL\" TEXT is meant", step)
		}
		if strings.Contains(text, "; ") {
			text = strings.ReplaceAll(strings.ReplaceAll(text, "; ", "\n"), " ", "\t")
		}
		soon(t, ctx, step, fmt.Sprintf(`(() => {
			const l = [...document.querySelectorAll("label")].find(l => l.textContent.trim() === %q && (document.getElementById(l.htmlFor) ?? l.querySelector("input,textarea,select"))?.getClientRects().length);
			const e = l && (document.getElementById(l.htmlFor) ?? l.querySelector("input,textarea,select"));
			if (!e) return false;
			e.focus(); e.value = %q; e.dispatchEvent(new Event("input", {bubbles: true})); e.dispatchEvent(new Event("change", {bubbles: true})); return true})()`, label, text))
	case "press":
		key := map[string]string{"Enter": kb.Enter, "Tab": kb.Tab}[rest]
		if key == "" {
			t.Fatalf("%s: Enter or Tab is meant", step)
		}
		browser.Do(t, ctx, step, chromedp.KeyEvent(key))
	case "type":
		browser.Do(t, ctx, step, chromedp.KeyEvent(rest))
	case "click":
		soon(t, ctx, step, fmt.Sprintf(`(() => {
			const e = [...document.querySelectorAll("button, a, summary")].find(e => e.textContent.trim() === %q && e.getClientRects().length);
			if (!e) return false;
			setTimeout(() => e.click()); return true})()`, rest))
		time.Sleep(50 * time.Millisecond) // the click leaves this page or not
	case "see":
		soon(t, ctx, step, fmt.Sprintf(`(document.body?.innerText ?? "").includes(%q)`, rest))
	default:
		t.Fatalf("%s: there is no such step", step)
	}
}

// soon waits until a condition holds, over the loading of a new page too.
func soon(t *testing.T, ctx context.Context, step, condition string) {
	t.Helper()
	var err error
	for range 150 {
		var ok bool
		if ok, err = chromedp.Run(ctx, chromedp.Evaluate[bool](condition)); err == nil && ok {
			return
		}
		time.Sleep(100 * time.Millisecond)
	}
	text, _ := chromedp.Run(ctx, chromedp.Evaluate[string](`document.body.innerText`))
	t.Fatalf("%s: not so after 15 s (%v); the page says:\n%.1500s", step, err, text)
}
