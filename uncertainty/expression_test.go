package uncertainty

import (
	"errors"
	"math"
	"strings"
	"testing"
)

// evaluate returns the value of an expression in x and y, and its slopes.
func evaluate(t *testing.T, text string, x, y float64) (float64, []float64) {
	t.Helper()
	p, err := compile("out = "+text+" + 0*x + 0*y", []string{"x", "y"}, "out")
	if err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	d, err := p.at([]float64{x, y})
	if err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	c := p.columns()
	for i := range batch {
		c.column(0)[i], c.column(1)[i] = x, y
	}
	if v := c.run(batch)[batch-1]; v != d.value[p.out] {
		t.Errorf("%s: %v for many trials, %v for one", text, v, d.value[p.out])
	}
	return d.value[p.out], d.gradient(p.out)
}

func TestExpressionsByTheRulesOfArithmetic(t *testing.T) {
	for text, want := range map[string]float64{
		"2 + 3*4": 14, "(2 + 3)*4": 20, "12/3/2": 2, "12-3-2": 7, "2^3^2": 512, "-3^2": -9, "(-3)^2": 9, "2^-1": 0.5,
		"-2*-3": 6, "+4 - -1": 5, "6/2*3": 9, "1.5e2": 150, ".5 + 2E-1": 0.7, "3 · 4 × 2 − 1": 23, "12÷4": 3,
		"8^(1/3)": 2, "2^0.5^2": math.Pow(2, 0.25), "sqrt(16) + abs(-3)": 7, "ln(exp(2))": 2, "log10(1000)": 3,
		"sin(pi/6)": 0.5, "cos(pi/3)": 0.5, "tan(pi/4)": 1, "x*y": 6, "3^3 - 4^2": 11, "2 # not 3": 2, "1e0*2": 2,
	} {
		if strings.Contains(text, "#") {
			p, err := compile("out = 0*x + 0*y + "+text, []string{"x", "y"}, "out")
			if err != nil {
				t.Fatal(err)
			}
			if d, err := p.at([]float64{2, 3}); err != nil || d.value[p.out] != want {
				t.Errorf("%s: %v, %v", text, d, err)
			}
			continue
		}
		if got, _ := evaluate(t, text, 2, 3); !(math.Abs(got-want) <= 4e-15*math.Max(1, math.Abs(want))) {
			t.Errorf("%s = %.17g, want %g", text, got, want)
		}
	}
}

// Slopes as a table of derivatives has them, at x = 0.7, y = 1.3.
func TestSlopesOfATableOfDerivatives(t *testing.T) {
	x, y := 0.7, 1.3
	for text, want := range map[string][2]float64{
		"x + 2*y": {1, 2}, "x - y": {1, -1}, "x*y": {y, x}, "x/y": {1 / y, -x / (y * y)}, "-x": {-1, 0},
		"x^y": {y * math.Pow(x, y-1), math.Pow(x, y) * math.Log(x)}, "x^2": {2 * x, 0}, "x^3": {3 * x * x, 0}, "x^-2": {-2 / (x * x * x), 0},
		"sqrt(x)": {0.5 / math.Sqrt(x), 0}, "exp(x*y)": {y * math.Exp(x*y), x * math.Exp(x*y)}, "ln(y)": {0, 1 / y},
		"log10(x)": {1 / (x * math.Ln10), 0}, "sin(x)": {math.Cos(x), 0}, "cos(x)": {-math.Sin(x), 0},
		"tan(x)": {1 / (math.Cos(x) * math.Cos(x)), 0}, "abs(x - y)": {-1, 1}, "sin(y)^2 + cos(y)^2": {0, 0}, "pi*x": {math.Pi, 0},
	} {
		_, g := evaluate(t, text, x, y)
		for i := range g {
			if !(math.Abs(g[i]-want[i]) <= 4e-15*math.Max(1, math.Abs(want[i]))) {
				t.Errorf("slope %d of %s: %.17g, want %.17g", i, text, g[i], want[i])
			}
		}
	}
}

func TestEquationsInAnyOrder(t *testing.T) {
	p, err := compile("# molarity\nc = n/V\n\nn = m/M  # amount\nM = 2*a + b", []string{"m", "V", "a", "b"}, "c")
	if err != nil {
		t.Fatal(err)
	}
	d, err := p.at([]float64{3.6, 0.5, 1, 16})
	if err != nil || !(math.Abs(d.value[p.out]-0.4) <= 1e-15) {
		t.Fatalf("%v, %v", d, err)
	}
	names := ""
	for _, k := range p.middle {
		names += k.name + " "
	}
	if names != "n M " {
		t.Errorf("intermediate results %q", names)
	}
}

func TestEquationErrorsPointAtTheirPlace(t *testing.T) {
	for _, e := range []struct {
		text   string
		column int // 0: not at a place
		word   string
	}{
		{"c = m V", 7, "operator is missing before V"},
		{"c = m (V)", 5, "m is no function"},
		{"c = 2 (m+V)", 7, "operator is missing"},
		{"c = (m/V", 5, "not closed"},
		{"c = m)/V", 6, "closes nothing"},
		{"c = m / ", 9, "ends where"},
		{"c = m ** V", 7, "write ^"},
		{"c = log(m)/V", 5, "ln or log10"},
		{"c = m/V + ln", 11, "argument in parentheses"},
		{"c = m/W + V", 7, "neither an input"},
		{"c = m/V + c", 11, "depends on itself"},
		{"m = c/V", 1, "is an input"},
		{"c = m/V\nc = m", 1, "equation already"},
		{"pi = m/V", 1, "is taken"},
		{"c : m/V", 3, "no meaning"},
		{"m/V", 1, "begins with a name"},
		{"c = m/V = 3", 9, "does not belong"},
		{"c = * m/V", 5, "stands where"},
		{"d = m/V", 0, "begin with c ="},
		{"c = m", 0, "input V is in no equation"},
		{"c = 1e999*m/V", 5, "within range"},
		{"c = m/V + a\na = b\nb = 2*a", 7, "depends on itself"},
		{"θ = 1\nc = m/V*θ·%", 11, "no meaning"},
		{"c = m/V" + strings.Repeat("+(1", 300), 0, "inside one another"},
		{strings.Repeat("c", 6000), 0, "at most"},
	} {
		_, err := compile(e.text, []string{"m", "V"}, "c")
		if err == nil || !strings.Contains(err.Error(), e.word) {
			t.Errorf("%.30s: %v, want %q", e.text, err, e.word)
			continue
		}
		var q *EquationError
		if found := errors.As(err, &q); e.column > 0 && (!found || q.Column != e.column) {
			t.Errorf("%s: %v, want column %d", e.text, err, e.column)
		}
	}
}

// After another equation was compiled on the way, the place is still that of
// the line itself; and a result may be used more than once.
func TestEquationsUseOneAnother(t *testing.T) {
	_, err := compile("n = 2\nc = n + m/q + V", []string{"m", "V"}, "c")
	var q *EquationError
	if !errors.As(err, &q) || q.Line != 2 || q.Column != 11 {
		t.Errorf("%v", err)
	}
	if p, err := compile("c = x̄ + ρ_2", []string{"x̄", "ρ_2"}, "c"); err != nil || len(p.code) != 1 {
		t.Errorf("names with marks and letters of any alphabet: %v", err)
	}
	p, err := compile("c = n*n + n\nn = m + 0*V", []string{"m", "V"}, "c")
	if err != nil {
		t.Fatal(err)
	}
	if d, err := p.at([]float64{3, 1}); err != nil || d.value[p.out] != 12 || d.gradient(p.out)[0] != 7 {
		t.Errorf("%v, %v", d, err)
	}
}

// A root of an exact zero has no finite slope, which does not matter.
func TestSlopeOfWhatDoesNotVary(t *testing.T) {
	v, g := evaluate(t, "x + sqrt(0) + 0^0.5*y", 2, 3)
	if v != 2 || g[0] != 1 || g[1] != 0 {
		t.Errorf("%g, %v", v, g)
	}
}

func TestValuesOutsideADomain(t *testing.T) {
	for text, column := range map[string]int{"x/y": 6, "ln(y)": 5, "sqrt(-x)": 5, "(-x)^0.5": 9, "1 + abs(y)": 9, "sqrt(y)": 5, "exp(1000*x)": 5} {
		p, err := compile("c = "+text+" + x + y", []string{"x", "y"}, "c")
		if err != nil {
			t.Fatal(err)
		}
		var q *EquationError
		if _, err := p.at([]float64{2, 0}); !errors.As(err, &q) || q.Column != column {
			t.Errorf("%s at 2 and 0: %v, want column %d", text, err, column)
		}
	}
}

// Any text is refused with a place inside it, or compiled into a program that
// gives many trials what it gives one.
func FuzzEquations(f *testing.F) {
	for _, s := range []string{"c = 1000*m*P/(M*V)", "c = -x^2\nx = m^-1", "c = sqrt(m)·ln(V) # k", "c=((m", "c = 1e-3e4", "=", "c = a\na = c", "c = .5.5", "ρ_a = m\nc=ρ_a"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		p, err := compile(text, []string{"m", "V", "P", "M"}, "c")
		var q *EquationError
		if errors.As(err, &q) {
			if lines := strings.Split(text, "\n"); q.Line < 1 || q.Line > len(lines) || q.Column < 1 || q.Column > len([]rune(lines[q.Line-1]))+1 {
				t.Fatalf("%q: place %d:%d", text, q.Line, q.Column)
			}
		}
		if err != nil {
			return
		}
		x := []float64{0.3, 2.5, 0.9, 7}
		d, err := p.at(x)
		if err != nil {
			return
		}
		c := p.columns()
		for i, v := range x {
			c.column(i)[0] = v
		}
		if got := c.run(1)[0]; got != d.value[p.out] {
			t.Fatalf("%q: %v for many trials, %v for one", text, got, d.value[p.out])
		}
	})
}
