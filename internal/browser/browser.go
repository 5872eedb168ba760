// Package browser drives Chromium for end-to-end tests of the bench: it opens
// pages, looks for faults of accessibility, and takes pictures. It is for tests
// only.
package browser

import (
	"bytes"
	"context"
	_ "embed"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

//go:embed testdata/axe.min.js
var axe string

// A Look is a way to see a page.
type Look struct {
	Name          string
	Width, Height int64
	Theme, View   string // as the page's switches keep them
	Touch         bool
}

// The looks that every page must bear.
var (
	Desktop   = Look{Name: "desktop", Width: 1280, Height: 800, Theme: "light", View: "page"}
	Dark      = Look{Name: "dark", Width: 1280, Height: 800, Theme: "dark", View: "page"}
	Phone     = Look{Name: "phone", Width: 390, Height: 844, Theme: "light", View: "page", Touch: true}
	Projector = Look{Name: "projector", Width: 1920, Height: 1080, Theme: "light", View: "projector"}
)

// Looks lists them.
var Looks = []Look{Desktop, Dark, Phone, Projector}

// flags make Chromium start on a machine without a screen, as root too, and
// keep it from calling home.
var flags = []chromedp.ExecAllocatorOption{
	chromedp.NoFirstRun, chromedp.NoDefaultBrowserCheck, chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU,
	chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
	chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true),
	chromedp.Flag("disable-dev-shm-usage", true), chromedp.Flag("hide-scrollbars", true),
	chromedp.Flag("disable-extensions", true), chromedp.Flag("mute-audio", true),
}

// Start serves h on this machine and opens a browser for the test. It ends both
// when the test ends. Without Chromium the test fails: it is part of the check.
func Start(tb testing.TB, h http.Handler) (ctx context.Context, address string) {
	tb.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil {
		tb.Fatal("Chromium is not here; on Debian: apt-get install chromium")
	}
	server := httptest.NewServer(h)
	tb.Cleanup(server.Close)
	parent, cancel := context.WithTimeout(context.Background(), 3*time.Minute)
	tb.Cleanup(cancel)
	all, cancelAll := chromedp.NewExecAllocator(parent, append(flags, chromedp.ExecPath(path))...)
	tb.Cleanup(cancelAll)
	ctx, cancelTab := chromedp.NewContext(all)
	tb.Cleanup(cancelTab)
	return ctx, server.URL
}

// Open goes to a page in one look and waits until its script has drawn it.
func Open(tb testing.TB, ctx context.Context, l Look, url string) {
	tb.Helper()
	var opts []chromedp.EmulateViewportOption
	if l.Touch {
		opts = append(opts, chromedp.EmulateTouch, chromedp.EmulateMobile)
	}
	Do(tb, ctx, "opening "+url, chromedp.EmulateViewport(l.Width, l.Height, opts...), chromedp.Navigate(url))
	Run[bool](tb, ctx, "choosing the look", chromedp.Evaluate[bool](fmt.Sprintf(
		`localStorage.setItem("theme", %q); localStorage.setItem("view", %q); true`, l.Theme, l.View)))
	Do(tb, ctx, "opening "+url, chromedp.Navigate(url))
	Run[bool](tb, ctx, "waiting for the fonts", chromedp.Evaluate[bool](`document.fonts.ready.then(() => true)`, chromedp.EvalAwaitPromise))
}

// Paper shows the page as it is printed, in the same width.
func Paper(tb testing.TB, ctx context.Context) {
	tb.Helper()
	if _, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"}); err != nil {
		tb.Fatalf("showing the page as on paper: %v", err)
	}
}

// Do carries steps out and fails the test where one fails.
func Do(tb testing.TB, ctx context.Context, doing string, steps ...chromedp.Action[chromedp.Void]) {
	tb.Helper()
	if err := chromedp.Do(ctx, steps...); err != nil {
		tb.Fatalf("%s: %v", doing, err)
	}
}

// Run carries out a step that has a result.
func Run[T any](tb testing.TB, ctx context.Context, doing string, step chromedp.Action[T]) T {
	tb.Helper()
	x, err := chromedp.Run(ctx, step)
	if err != nil {
		tb.Fatalf("%s: %v", doing, err)
	}
	return x
}

// A finding is what axe-core says about a page.
type finding struct {
	ID, Impact, Help string
	Nodes            []struct {
		Target []json.RawMessage
		HTML   string
	}
}

// Accessible fails the test on serious and critical findings of axe-core.
func Accessible(tb testing.TB, ctx context.Context) {
	tb.Helper()
	Run[bool](tb, ctx, "loading axe-core", chromedp.Evaluate[bool](axe+";true"))
	list := Run[[]finding](tb, ctx, "running axe-core", chromedp.Evaluate[[]finding](
		`axe.run(document, {resultTypes: ["violations"]}).then(r => r.violations.map(v => ({ID: v.id, Impact: v.impact, Help: v.help, Nodes: v.nodes.map(n => ({Target: n.target, HTML: n.html}))})))`,
		chromedp.EvalAwaitPromise))
	for _, f := range list {
		if f.Impact != "serious" && f.Impact != "critical" {
			continue
		}
		var b strings.Builder
		for _, n := range f.Nodes {
			fmt.Fprintf(&b, "\n  %s: %s", n.Target, n.HTML)
		}
		tb.Errorf("%s (%s): %s%s", f.ID, f.Impact, f.Help, b.String())
	}
}

// A4 and Letter are the sizes of paper, width and height in inches.
var (
	A4     = [2]float64{210 / 25.4, 297 / 25.4}
	Letter = [2]float64{8.5, 11}
)

// Printed is the text of each page that the open page prints to, which pdftotext
// of poppler reads back. The PDF is kept as name.pdf where pictures are.
func Printed(tb testing.TB, ctx context.Context, paper [2]float64, name string) []string {
	tb.Helper()
	pdf := Run[[]byte](tb, ctx, "printing", chromedp.PrintToPDF(func(p *page.PrintToPDFParams) {
		p.PaperWidth, p.PaperHeight = paper[0], paper[1]
	}))
	keep(tb, name+".pdf", pdf)
	read := exec.CommandContext(ctx, "pdftotext", "-layout", "-", "-")
	read.Stdin = bytes.NewReader(pdf)
	text, err := read.Output()
	if err != nil {
		tb.Fatalf("reading the printed pages: %v", err)
	}
	return strings.Split(strings.TrimSuffix(string(text), "\f"), "\f")
}

// Picture takes the page as it is seen; into the folder that
// MENISCUS_PICTURES names, or nowhere.
func Picture(tb testing.TB, ctx context.Context, name string) {
	tb.Helper()
	png := Run[[]byte](tb, ctx, "taking a picture", chromedp.CaptureScreenshot())
	if len(png) == 0 {
		tb.Error("the picture is empty")
	}
	keep(tb, name+".png", png)
}

// keep writes a file for people to look at, if they want it.
func keep(tb testing.TB, name string, content []byte) {
	tb.Helper()
	dir := os.Getenv("MENISCUS_PICTURES")
	if dir == "" {
		return
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		tb.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name), content, 0o644); err != nil {
		tb.Fatal(err)
	}
}
