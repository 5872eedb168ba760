package working

import (
	"encoding/xml"
	"math"
	"strings"
	"testing"
)

func volume(x float64, text string) Symbol {
	return Symbol{Letter: "V", Meaning: "a volume", Value: Said(x, text, "mL")}
}

func TestExpressions(t *testing.T) {
	e := Symbol{Letter: "E", Degree: true, Prime: true, Of: "Fe^3+/Fe^2+", Value: Said(0.68, "0.680", "V")}
	s := Symbol{Letter: "S", Value: Said(0.05916, "0.05916", "V")}
	a := Symbol{Letter: "[", Of: "SO4^2-", Value: Said(-2e-3, "-2.0e-3", "mol/L")}
	for _, c := range []struct {
		expr               Expr
		text, filled, tex  string
		value              float64
		filledFractionBars int
	}{
		{Less(e, Times(s, Lg(Over(Count(3), Count(4))))), "E°′(Fe³⁺/Fe²⁺) − S · lg(3 / 4)", "0.680 V − 0.05916 V · lg(3 / 4)", `E^{\circ\prime}(\mathrm{Fe^{3+}/Fe^{2+}}) - S \cdot \lg\left(\frac{3}{4}\right)`, 0.68 - 0.05916*math.Log10(0.75), 1},
		{Over(Add(e, Times(Count(5), e)), Count(6)), "(E°′(Fe³⁺/Fe²⁺) + 5 · E°′(Fe³⁺/Fe²⁺)) / 6", "(0.680 V + 5 · 0.680 V) / 6", `\frac{E^{\circ\prime}(\mathrm{Fe^{3+}/Fe^{2+}}) + 5 \cdot E^{\circ\prime}(\mathrm{Fe^{3+}/Fe^{2+}})}{6}`, 0.68, 1},
		{Times(Less(s, a), a), "(S − [SO₄²⁻]) · [SO₄²⁻]", "(0.05916 V − (−2.0 × 10⁻³ mol/L)) · (−2.0 × 10⁻³ mol/L)", `\left(S - [\mathrm{SO_{4}^{2-}}]\right) \cdot [\mathrm{SO_{4}^{2-}}]`, (0.05916 + 2e-3) * -2e-3, 0},
		{Power{a, Count(2)}, "[SO₄²⁻]²", "(−2.0 × 10⁻³ mol/L)²", `{[\mathrm{SO_{4}^{2-}}]}^{2}`, 4e-6, 0},
		{TenTo(Sum{{Expr: s, Minus: true}}), "10^(−S)", "10^(−0.05916 V)", `{10}^{ - S}`, math.Pow(10, -0.05916), 0},
		{Sum{{Expr: a, Minus: true}}, "−[SO₄²⁻]", "−(−2.0 × 10⁻³ mol/L)", ` - [\mathrm{SO_{4}^{2-}}]`, 2e-3, 0},
		{Root(Times(s, s)), "√(S · S)", "√(0.05916 V · 0.05916 V)", `\sqrt{S \cdot S}`, 0.05916, 0},
		{Over(a, Times(s, s)), "[SO₄²⁻] / (S · S)", "(−2.0 × 10⁻³ mol/L) / (0.05916 V · 0.05916 V)", `\frac{[\mathrm{SO_{4}^{2-}}]}{S \cdot S}`, -2e-3 / 0.05916 / 0.05916, 1},
	} {
		if got := textExpr(c.expr); got != c.text {
			t.Errorf("text %q, want %q", got, c.text)
		}
		if got := textExpr(Fill(c.expr)); got != c.filled {
			t.Errorf("filled %q, want %q", got, c.filled)
		}
		if got := latexExpr(c.expr); got != c.tex {
			t.Errorf("LaTeX %q, want %q", got, c.tex)
		}
		if got, err := Eval(c.expr); err != nil || math.Abs(got-c.value) > 1e-15 {
			t.Errorf("%s: %v %v, want %v", c.text, got, err, c.value)
		}
		if got := strings.Count(mathML(Fill(c.expr)), "<mfrac>"); got != c.filledFractionBars {
			t.Errorf("%s: %d fractions in MathML, want %d", c.text, got, c.filledFractionBars)
		}
	}
}

func TestNumbers(t *testing.T) {
	for _, c := range []struct {
		n    Number
		want string
	}{
		{Decimals(3).Number(2.5, "mmol"), "2.500 mmol"},
		{Decimals(2).Number(-0.001, "mL"), "0.00 mL"},
		{Decimals(2).Number(-12.3, "mV"), "−12.30 mV"},
		{Figures(3).Number(1.2345e-10, "mol^2/L^2"), "1.23 × 10⁻¹⁰ mol²/L²"},
		{Figures(3).Number(0.0012345, "mol/L"), "0.00123 mol/L"},
		{Figures(4).Number(1000, "1"), "1000"},
		{Figures(4).Number(9999.6, "1"), "1.000 × 10⁴"},
		{Figures(1).Number(1e-14, "1"), "10⁻¹⁴"},
		{Shortest(0.1, "mol/L"), "0.1 mol/L"},
	} {
		if got := c.n.String(); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

func TestCheckFindsWhatIsMissing(t *testing.T) {
	x, bare := volume(2, "2"), volume(2, "2")
	bare.Value.Unit = ""
	silent := volume(2, "2")
	silent.Meaning = ""
	twice := volume(2, "2")
	twice.Meaning = "another volume"
	for _, c := range []struct {
		name, want string
		blocks     []Block
	}{
		{"sound", "", []Block{Step{Quantity: x, Formula: Times(Count(2), Count(1))}}},
		{"no unit", "number 2 has no unit", []Block{Step{Quantity: bare}}},
		{"no meaning", "symbol V is not explained", []Block{Step{Quantity: silent}}},
		{"two meanings", `symbol V means "a volume" and "another volume"`, []Block{Step{Quantity: x}, Step{Quantity: twice}}},
		{"another value", "the formula gives 3, shown is 2", []Block{Step{Quantity: x, Formula: Count(3)}}},
		{"no number", "is none", []Block{P("@", Decimals(1).Number(math.NaN(), "V"))}},
		{"infinite", "is none", []Block{P("@", Decimals(1).Number(math.Inf(1), "V"))}},
	} {
		d := &Document{Sections: []Section{{Title: "s", Blocks: c.blocks}}}
		d.Explain()
		errs := d.Check()
		if c.want == "" {
			if len(errs) > 0 {
				t.Errorf("%s: %v", c.name, errs)
			}
			continue
		}
		if len(errs) == 0 || !strings.Contains(errs[0].Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.name, errs, c.want)
		}
	}
	d := &Document{Sections: []Section{{Blocks: []Block{Step{Quantity: x}}}}}
	if errs := d.Check(); len(errs) == 0 || !strings.Contains(errs[0].Error(), "used before it is explained") {
		t.Errorf("without Explain: %v", errs)
	}
}

func whole() *Document {
	v := volume(25, "25.00")
	d := &Document{Title: "Iron & 5 % of _it_ <here>", Lead: P("With {SO4^2-}."), Sections: []Section{{Title: "Start", Blocks: []Block{
		P("{Fe^2+ + Ce^4+ = Fe^3+ + Ce^3+} with @ & more", v),
		Reaction{P("It runs"), "Fe^2+ + Ce^4+ = Fe^3+ + Ce^3+"},
		Display{P("Balance"), Relation{v, "≈", Over(Figures(3).Number(2.5e-7, "mL"), Count(2))}},
		Step{Say: P("Twice"), Quantity: Symbol{Letter: "V", Sub: "e", Meaning: "twice {Fe^2+}", Value: Said(50, "50.0", "mL")}, Formula: Times(Count(2), v), Note: P("so")},
		Table{P("Shares"), []Paragraph{P("what"), P("how much")}, [][]Paragraph{{P("{AgCl(s)}"), P("@", Count(3))}}},
		List{P("one"), P("two")},
		Caution(P("corrosive: see the safety data sheet")),
	}}}}
	d.Explain()
	return d
}

func TestHTMLIsWellFormed(t *testing.T) {
	var b strings.Builder
	if err := WriteHTML(&b, whole(), HTMLOptions{Heading: 3}); err != nil {
		t.Fatal(err)
	}
	dec := xml.NewDecoder(strings.NewReader("<body>" + b.String() + "</body>"))
	maths := 0
	for {
		tok, err := dec.Token()
		if tok == nil {
			if err.Error() != "EOF" {
				t.Fatalf("not well formed: %v\n%s", err, b.String())
			}
			break
		}
		el, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		if el.Name.Local == "script" || el.Name.Local == "style" {
			t.Errorf("%s in a fragment", el.Name.Local)
		}
		if el.Name.Local == "math" {
			maths++
			alt := ""
			for _, a := range el.Attr {
				if a.Name.Local == "alttext" {
					alt = a.Value
				}
			}
			if alt == "" {
				t.Error("an equation without a text alternative")
			}
		}
	}
	if maths < 6 {
		t.Errorf("%d equations, want at least 6", maths)
	}
	for _, want := range []string{"<h3>Start</h3>", `<th scope="row">`, "<caption>", "Fe<sup>2+</sup>", "<mfrac>"} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("no %s in\n%s", want, b.String())
		}
	}
}

func TestLaTeXIsBalanced(t *testing.T) {
	var b strings.Builder
	if err := WriteLaTeX(&b, whole()); err != nil {
		t.Fatal(err)
	}
	if err := LaTeXFault(b.String()); err != nil {
		t.Errorf("%v\n%s", err, b.String())
	}
	for _, want := range []string{`Iron \& 5 \% of \_it\_ \textless{}here\textgreater{}`, `\mathrm{SO_{4}^{2-}}`, `\begin{align*}`} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("no %s in\n%s", want, b.String())
		}
	}
}

func TestJSON(t *testing.T) {
	var b strings.Builder
	if err := WriteJSON(&b, whole()); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`"schema": "meniscus.working/1"`, `"value": 50`, `"unit": "mL"`, `"filled": "2 · 25.00 mL"`} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("no %s in\n%s", want, b.String())
		}
	}
}

func FuzzLaTeXText(f *testing.F) {
	f.Add(`5 % & #1_{x}^2 \ ~ $`)
	f.Fuzz(func(t *testing.T, s string) {
		if err := checkLaTeX(latexText(strings.ReplaceAll(s, "\x00", ""))); err != nil {
			t.Errorf("%q: %v", s, err)
		}
	})
}
