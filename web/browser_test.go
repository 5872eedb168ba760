package web_test

import (
	"testing"

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

// Every page in every look, without serious findings. The list grows with the
// pages.
func TestPagesInEveryLook(t *testing.T) {
	ctx, address := browser.Start(t, bench(t, web.Options{Loopback: true}))
	for _, p := range []struct{ name, path string }{
		{"plan", "/plan"},
	} {
		for _, l := range browser.Looks {
			browser.Open(t, ctx, l, address+p.path)
			browser.Accessible(t, ctx)
			browser.Picture(t, ctx, p.name+"-"+l.Name)
		}
	}
}
