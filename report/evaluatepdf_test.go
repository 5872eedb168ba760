package report

import (
	"bytes"
	"errors"
	"io"
	"math"
	"strings"
	"testing"
	"time"

	"meniscus/assay"
	"meniscus/curve"
	"meniscus/report/figure"
)

// written is all text of the pages, without blanks.
func written(pages ...*sheet) string {
	var b strings.Builder
	for _, p := range pages {
		for _, m := range p.marks {
			if t, ok := m.(figure.Text); ok {
				for _, r := range t.Runs {
					b.WriteString(r.Text)
				}
			}
		}
	}
	return unspaced(b.String())
}

func unspaced(s string) string { return strings.Join(strings.Fields(s), "") }

// inside fails where a mark leaves the page, or two pieces of the body run
// into the foot.
func inside(t *testing.T, name string, s *setter) {
	t.Helper()
	for i, p := range s.pages {
		for _, m := range p.marks {
			b := m.Bounds()
			if b.Left < sideMargin-1 || b.Right > s.paper.Width-sideMargin+1 || b.Top < topMargin-3 || b.Bottom > s.paper.Height-footMargin+3 {
				t.Errorf("%s, page %d: %+v leaves the page (%+v)", name, i+1, b, m)
				break
			}
		}
		for _, f := range p.figures {
			if f.y+f.fig.Height*f.scale > s.paper.Height-footMargin {
				t.Errorf("%s, page %d: the figure leaves the page", name, i+1)
			}
		}
	}
}

func TestPagesHoldAll(t *testing.T) {
	empty := curve.Curve{}
	nan := readings(1)
	for i := range nan.Readings {
		nan.Readings[i].Value = math.NaN()
	}
	for name, d := range unhoped(t, empty, nan) {
		for _, d.Paper = range Papers {
			s, err := setEvaluation(d)
			if err != nil {
				t.Errorf("%s: %v", name, err)
				continue
			}
			inside(t, name, s)
			all := written(s.pages...)
			for _, e := range d.Evaluations {
				for _, g := range refusals(e) {
					if !strings.Contains(all, unspaced(typeset(g.text))) {
						t.Errorf("%s does not say %q", name, g.text)
					}
				}
				for _, text := range typesetAll(doubts(e)) {
					if !strings.Contains(all, unspaced(text)) {
						t.Errorf("%s does not say %q", name, text)
					}
				}
			}
			if !strings.Contains(all, unspaced(clean(d.Title))) {
				t.Errorf("%s: the title is not in full", name)
			}
			if err := writePDF(io.Discard, d); err != nil {
				t.Errorf("%s: %v", name, err)
			}
		}
	}
}

// The first page has what is asked for: the result with U and k, the methods,
// what u is made of, and room for a name.
func TestFrontPage(t *testing.T) {
	d := document(t, ironSetup, readings(1))
	s, err := setEvaluation(d)
	if err != nil {
		t.Fatal(err)
	}
	front := written(s.pages[0])
	for _, want := range []string{
		"w(Fe) = " + expanded(d.Evaluations[0].Contents[0]), "expanded uncertainty U with k = ", "Whole-curve regression (used)",
		"What u of w(Fe) is made of", "carried out by", "checked by", "c(Fe²⁺)", "concentration of titrant Ce⁴⁺", "Methods that refuse", "Ve/mL",
	} {
		if !strings.Contains(front, unspaced(want)) {
			t.Errorf("the front does not say %q", want)
		}
	}
	if len(s.pages[0].figures) != 1 {
		t.Errorf("%d figures", len(s.pages[0].figures))
	}
	if behind := written(s.pages[1:]...); !strings.Contains(behind, unspaced("Readings as found")) || !strings.Contains(behind, "n(Ce⁴⁺)=") {
		t.Error("the readings or the working are missing behind")
	}
}

// Several runs: what they say together, then a front for each.
func TestPagesOfRuns(t *testing.T) {
	d := document(t, ironSetup, readings(1), readings(2), readings(3))
	var runs []assay.Run
	for i, e := range d.Evaluations {
		runs = append(runs, assay.Run{Name: []string{"one", "two", "three"}[i], Evaluation: e})
	}
	d.Determination = assay.Combine(runs, d.Evaluations[0].Setup, nil, 0)
	s, err := setEvaluation(d)
	if err != nil {
		t.Fatal(err)
	}
	inside(t, "runs", s)
	first := written(s.pages[0])
	for _, want := range []string{"Mean of the runs: w(Fe) = ", "Replicates of w(Fe)", "by Student's t", "three"} {
		if !strings.Contains(first, unspaced(want)) {
			t.Errorf("the summary does not say %q", want)
		}
	}
	fronts := 0
	for _, p := range s.pages {
		fronts += len(p.figures)
	}
	if fronts != 3 {
		t.Errorf("%d fronts for 3 runs", fronts)
	}
}

// The same document gives the same bytes, with the fonts in it, dated as the
// caller says.
func TestPDFBytes(t *testing.T) {
	d := document(t, ironSetup, readings(1))
	d.Date = time.Date(2026, 3, 14, 0, 0, 0, 0, time.UTC)
	var a, b bytes.Buffer
	for _, w := range []io.Writer{&a, &b} {
		if err := writePDF(w, d); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("not the same bytes twice")
	}
	for _, want := range []string{"%PDF-", "/FontFile2", "/ToUnicode", "D:20260314000000", "595.28 841.89"} {
		if !bytes.Contains(a.Bytes(), []byte(want)) {
			t.Errorf("the PDF has no %q", want)
		}
	}
	if bytes.Contains(a.Bytes(), []byte("Helvetica")) {
		t.Error("a font is not in the PDF")
	}
	full := errors.New("disk full")
	if err := writePDF(brokenWriter{full}, d); !errors.Is(err, full) {
		t.Errorf("error %v", err)
	}
	if err := writeXLSX(brokenWriter{full}, d); !errors.Is(err, full) {
		t.Errorf("error %v", err)
	}
}

type brokenWriter struct{ err error }

func (b brokenWriter) Write([]byte) (int, error) { return 0, b.err }
