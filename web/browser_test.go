package web_test

import (
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"meniscus/internal/browser"
	"meniscus/web"
)

func bench(tb testing.TB, opt web.Options) *web.Server {
	tb.Helper()
	if opt.Report == nil {
		opt.Report = func(err error) { tb.Error(err) }
	}
	s, err := web.New(opt)
	if err != nil {
		tb.Fatal(err)
	}
	return s
}

// The Plan page by hand: a slider and a field change text and curve, the arrow
// keys move the meniscus, and a wrong setup is shown at its line and kept.
func TestPlanByHand(t *testing.T) {
	ctx, address := browser.Start(t, bench(t, web.Options{Loopback: true}))
	browser.Open(t, ctx, browser.Desktop, address+"/plan")
	wait := func(doing, condition string) {
		t.Helper()
		browser.Run[bool](t, ctx, doing, chromedp.Poll[bool](condition, chromedp.WithPollingTimeout(20*time.Second)))
	}
	const field = `document.getElementById("field-burette/contains/Ce^4+")`
	wait("the fields", field+` !== null`)

	// Half the titrant concentration, twice the equivalence volume: 50 mL of
	// 0.045 mol/L against 0.0500 mol/L, one to one, is 45 mL.
	browser.Run[bool](t, ctx, "typing a concentration", chromedp.Evaluate[bool](`(() => {const e = `+field+`; e.focus(); e.value = "0,0500"; e.dispatchEvent(new Event("input")); return true})()`))
	wait("the text follows", `document.getElementById("setup").value.includes("Ce^4+: 0,0500 ± 0.0002 mol/L (k=2)")`)
	wait("the curve follows", `document.getElementById("curve").textContent.includes("equivalence 45.0")`)
	if !browser.Run[bool](t, ctx, "reading the text", chromedp.Evaluate[bool](`document.getElementById("setup").value.includes("# a guess; the readings decide")`)) {
		t.Error("the comment is gone from the setup")
	}

	// Page up goes to the next landmark: from the start to half, then on to
	// equivalence.
	browser.Do(t, ctx, "moving the meniscus", chromedp.Focus(`[role=slider][aria-label="Volume added"]`), chromedp.KeyEvent(kb.Home), chromedp.KeyEvent(kb.PageUp), chromedp.KeyEvent(kb.PageUp))
	wait("the reading", `document.querySelector('[role=slider][aria-label="Volume added"]').getAttribute("aria-valuetext").startsWith("45.00 mL, ")`)
	wait("the words", `document.getElementById("says").textContent.includes("This is the equivalence point")`)

	browser.Run[bool](t, ctx, "writing a wrong line", chromedp.Evaluate[bool](`(() => {const e = document.getElementById("setup"); e.closest("details").open = true; e.focus(); e.value = e.value.replace("0,0500 ± 0.0002 mol/L (k=2)", "0.05"); e.dispatchEvent(new Event("input")); return true})()`))
	wait("the error", `document.getElementById("problem").textContent.startsWith("Line 13")`)
	if !browser.Run[bool](t, ctx, "reading the text", chromedp.Evaluate[bool](`document.getElementById("setup").value.includes("Ce^4+: 0.05\n")`)) {
		t.Error("what was typed is gone")
	}
}

// On a phone nothing runs over the edge.
func TestPhoneHasNoSideways(t *testing.T) {
	ctx, address := browser.Start(t, bench(t, web.Options{Loopback: true}))
	browser.Open(t, ctx, browser.Phone, address+"/plan")
	if w := browser.Run[int](t, ctx, "measuring", chromedp.Evaluate[int](`document.documentElement.scrollWidth`)); w > 390 {
		t.Errorf("the page is %d px wide on a phone of 390", w)
	}
	if h := browser.Run[float64](t, ctx, "measuring", chromedp.Evaluate[float64](`document.querySelector(".top").getBoundingClientRect().height`)); h > 80 {
		t.Errorf("the head of the page is %g px high, more than two lines", h)
	}
}

// Every page in every look, without serious findings. The list grows with the
// pages.
func TestPagesInEveryLook(t *testing.T) {
	h := bench(t, web.Options{Loopback: true, Store: aStore(t)})
	record := "?record=" + example(t, h)
	other := strings.TrimPrefix(record, "?record=") + "&id=" + example(t, h)
	ctx, address := browser.Start(t, h)
	for _, p := range []struct{ name, path string }{
		{"plan", "/plan"},
		{"explain", "/explain"},
		{"evaluate", "/evaluate" + record},
		{"prepare", "/prepare"},
		{"records", "/records"},
		{"record", "/records/" + strings.TrimPrefix(record, "?record=")},
		{"compare", "/compare?id=" + other},
		{"read", "/read" + record},
	} {
		for _, l := range browser.Looks {
			browser.Open(t, ctx, l, address+p.path)
			browser.Accessible(t, ctx)
			browser.Picture(t, ctx, p.name+"-"+l.Name)
		}
	}
}

// The Explain page by arrow keys: the working follows the meniscus, and before
// a room one equation stands at a time.
func TestExplainByKeys(t *testing.T) {
	ctx, address := browser.Start(t, bench(t, web.Options{Loopback: true}))
	browser.Open(t, ctx, browser.Desktop, address+"/explain")
	wait := func(doing, condition string) {
		t.Helper()
		browser.Run[bool](t, ctx, doing, chromedp.Poll[bool](condition, chromedp.WithPollingTimeout(20*time.Second)))
	}
	const working = `document.getElementById("working")`
	wait("the working at half", working+`.textContent.includes("half")`)
	first := browser.Run[string](t, ctx, "reading the working", chromedp.Evaluate[string](working+`.textContent`))

	browser.Do(t, ctx, "going to the next point", chromedp.KeyEvent(kb.ArrowRight))
	wait("the working at equivalence", working+`.textContent.includes("equivalence") && document.getElementById("says").textContent.includes("This is the equivalence point")`)
	if second := browser.Run[string](t, ctx, "reading the working", chromedp.Evaluate[string](working+`.textContent`)); second == first {
		t.Error("the working is the same at another volume")
	}
	wait("mathematics set with its own font", `[...document.fonts].some((f) => f.family.includes("Meniscus Math") && f.status === "loaded")`)

	browser.Do(t, ctx, "going back", chromedp.KeyEvent(kb.ArrowLeft))
	wait("half again", working+`.textContent.includes("half") && !`+working+`.classList.contains("stale")`)

	const seen = `[...` + working + `.querySelectorAll(".step")].filter((e) => e.getClientRects().length > 0)`
	browser.Run[bool](t, ctx, "before a room", chromedp.Evaluate[bool](`(document.getElementById("projector").click(), true)`))
	wait("one equation", seen+`.length === 1 && `+seen+`[0].textContent.includes("textbook")`)
	browser.Run[bool](t, ctx, "keeping it", chromedp.Evaluate[bool](`(window.kept = `+seen+`[0].textContent, true)`))
	browser.Do(t, ctx, "going down", chromedp.KeyEvent(kb.ArrowDown))
	wait("the next equation", seen+`.length === 1 && `+seen+`[0].textContent !== window.kept`)
	browser.Picture(t, ctx, "explain-room")
	colour := browser.Run[string](t, ctx, "reading the colour", chromedp.Evaluate[string](`document.querySelector(".vessel .content").getAttribute("fill")`))
	for range 4 {
		browser.Do(t, ctx, "stepping on", chromedp.KeyEvent(kb.ArrowRight))
	}
	wait("the end told once it rests", `document.getElementById("told").textContent.startsWith(document.getElementById("added").textContent)`)
	browser.Do(t, ctx, "going to the end", chromedp.KeyEvent(kb.End))
	wait("the end", `document.getElementById("says").textContent.includes("twice the equivalence volume")`)
	browser.Do(t, ctx, "going to the start", chromedp.KeyEvent(kb.Home))
	wait("the start", `document.getElementById("added").textContent === "At 0 mL" || document.getElementById("added").textContent === "At 0.00 mL"`)
	browser.Do(t, ctx, "going to the end again", chromedp.KeyEvent(kb.End))
	wait("another colour", `document.querySelector(".vessel .content").getAttribute("fill") !== "`+colour+`"`)
	if w := browser.Run[bool](t, ctx, "measuring", chromedp.Evaluate[bool](`document.documentElement.scrollWidth <= innerWidth`)); !w {
		t.Error("before a room the page runs over the edge")
	}
}

// What takes part stands as bars, each by one name, and neither the sodium nor
// the buffer beside it; what is colourless is not painted white. The slider says
// where it is by itself, so nothing says it a second time.
func TestExplainFlask(t *testing.T) {
	ctx, address := browser.Start(t, bench(t, web.Options{Loopback: true}))
	for _, c := range []struct {
		example, bars string
		clear         bool
	}{
		{"acetic-acid", "CH3COOH CH3COO−", true},
		{"chloride", "Cl− AgCl(s) Ag+", false},
		{"calcium-edta", "Ca2+ CaY2− HY3− Y4− NaY3−", true},
		{"iron-cerium", "Fe3+ Fe2+ Ce4+ Ce3+", false},
	} {
		browser.Open(t, ctx, browser.Dark, address+"/explain?example="+c.example)
		soon(t, ctx, "the working", `document.getElementById("working").textContent !== ""`)
		bars := browser.Run[string](t, ctx, "reading the bars", chromedp.Evaluate[string](`[...document.querySelectorAll("#amounts th")].map((e) => e.textContent).join(" ")`))
		if bars != c.bars {
			t.Errorf("%s: bars of %q, want %q", c.example, bars, c.bars)
		}
		if fill := browser.Run[string](t, ctx, "reading the colour", chromedp.Evaluate[string](`getComputedStyle(document.querySelector(".vessel .content")).fill`)); (fill == "rgb(34, 49, 58)") != c.clear {
			t.Errorf("%s: the flask is filled with %s", c.example, fill)
		}
	}
	browser.Do(t, ctx, "sliding", chromedp.Focus(`[role=slider][aria-label="Volume added"]`), chromedp.KeyEvent(kb.PageUp))
	time.Sleep(time.Second)
	if said := browser.Run[string](t, ctx, "listening", chromedp.Evaluate[string](`[...document.querySelectorAll("main [aria-live], main [role=status], main [role=alert]")].map((e) => e.textContent.trim()).join("")`)); said != "" {
		t.Errorf("beside the slider a screen reader hears %q", said)
	}
}
