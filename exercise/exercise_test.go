package exercise_test

import (
	"bytes"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"meniscus/exercise"
	"meniscus/working"
)

// The Nernst slope for one electron at 25 °C from the constants of the SI
// (SI Brochure, 9th edition, table 1): R = kN, F = eN.
const nernst = 1.380649e-23 / 1.602176634e-19 * 298.15 * math.Ln10

// answers work each kind out by a closed form from the numbers in the question,
// in the order of the key.
var answers = map[string]func(g func(string) float64) []float64{
	"curve": func(g func(string) float64) []float64 {
		n := g("c(Fe^2+)") * g("V0")
		var list []float64
		for _, v := range []string{"V1", "V2", "V3", "V4"} {
			t := g("c(Ce^4+)") * g(v)
			e := (g("E(Fe)") + g("E(Ce)")) / 2
			switch {
			case t < n*(1-1e-9):
				e = g("E(Fe)") + nernst*math.Log10(t/(n-t))
			case t > n*(1+1e-9):
				e = g("E(Ce)") + nernst*math.Log10((t-n)/n)
			}
			list = append(list, e-g("E_ref"))
		}
		return list
	},
	"equivalence": func(g func(string) float64) []float64 {
		e := (g("E1") + 5*g("E2")) / 6
		return []float64{e, e - 8*nernst*g("pH")/6}
	},
	"separation": func(g func(string) float64) []float64 {
		return []float64{-math.Log10(1-g("complete")/100) * nernst * (g("n1") + g("n2")) / (g("n1") * g("n2"))}
	},
	"indicator": func(g func(string) float64) []float64 {
		left := func(e float64) float64 { return -100 / (1 + math.Exp((g("E_i")-e)/(nernst/math.Ln10))) }
		return []float64{left(g("E1")), left(g("E2"))}
	},
	"reference": func(g func(string) float64) []float64 {
		return []float64{g("E") + g("E_from"), g("E") + g("E_from") - g("E_to")}
	},
	"weigh": func(g func(string) float64) []float64 { return []float64{g("c") * g("V") / 1e3 * g("M")} },
	"standardise": func(g func(string) float64) []float64 {
		return []float64{0.4 * g("m") / g("M(Na2C2O4)") / ((g("V") - g("V_b")) / 1e3)}
	},
	"slip": func(g func(string) float64) []float64 {
		mmol := 6e3 * g("m") / g("M(K2Cr2O7)") / 10
		return []float64{mmol, mmol / g("V")}
	},
	"carbonate": func(g func(string) float64) []float64 {
		return []float64{g("c") - g("CO2")/1e3, -0.1 * g("CO2") / g("c"), g("c")}
	},
	"content": func(g func(string) float64) []float64 {
		return []float64{0.5 * g("c") * g("V") * g("M(Fe)") / g("m")}
	},
	"spread": func(g func(string) float64) []float64 { return []float64{100 * g("s") / g("mean")} },
	"back": func(g func(string) float64) []float64 {
		return []float64{(g("c(Fe)")*g("V(Fe)") - g("c(Ce)")*g("V(Ce)")) / 6 / g("V_a")}
	},
	"mixture": func(g func(string) float64) []float64 {
		// Two equations: V_p c = OH + CO3 and V_m c = OH + 2 CO3.
		p, o := g("V_p")*g("c")/g("V_a"), g("V_m")*g("c")/g("V_a")
		return []float64{o - p, p - (o - p), (o - p) * (2*22.98976928 + 12.011 + 3*15.999), (2*p - o) * (22.98976928 + 15.999 + 1.008)}
	},
	"calcium": edtaByQuadratic,
	"halides": func(g func(string) float64) []float64 {
		left := g("Ks1") / g("Ks2") * g("c2")
		return []float64{left, 100 * left / g("c1")}
	},
	"temperature": func(g func(string) float64) []float64 {
		return []float64{g("V") - g("V")*2.1e-4*(g("T")-20), g("V") * water(g("T")) / water(20)}
	},
	"budget": func(g func(string) float64) []float64 {
		c := g("c_t") * g("V") / g("V_0")
		u := math.Hypot(g("c_t")/g("V_0")*g("a")/math.Sqrt(3), c/g("V_0")*g("b")/math.Sqrt(3))
		return []float64{c, u, 2 * u}
	},
	"burette": func(g func(string) float64) []float64 {
		u := math.Sqrt(g("a")*g("a")/6 + 2*g("r")*g("r"))
		return []float64{100 * u / g("V1"), 100 * u / g("V2")}
	},
}

// water is the density of water in g/L by Kell's formula of 1975 (J. Chem. Eng.
// Data 20, 97; coefficients from memory).
func water(t float64) float64 {
	return (999.83952 + 16.945176*t - 7.9870401e-3*t*t - 46.170461e-6*t*t*t + 105.56302e-9*math.Pow(t, 4) - 280.54253e-12*math.Pow(t, 5)) / (1 + 16.879850e-3*t)
}

// edtaByQuadratic finds calcium from both balances and the conditional constant
// without neglecting anything.
func edtaByQuadratic(g func(string) float64) []float64 {
	h := math.Pow(10, -g("pH"))
	sum, num := 1.0, 1.0
	for _, pK := range []float64{10.37, 6.13, 2.69, 2.00, 1.5, 0} {
		num *= h / math.Pow(10, -pK)
		sum += num
	}
	k := math.Pow(10, g("log K")) / sum
	pCa := func(v float64) float64 {
		ca, y := g("c")*g("V0")/(g("V0")+v), g("c_t")*v/(g("V0")+v)
		// k x² + (1 + k (y - ca)) x - ca = 0 for free calcium x
		b := 1 + k*(y-ca)
		root := math.Sqrt(b*b + 4*k*ca)
		x := 2 * ca / (b + root)
		if b < 0 {
			x = (root - b) / (2 * k)
		}
		return -math.Log10(x)
	}
	return []float64{1 / sum, math.Log10(k), pCa(g("V1")), pCa(g("c") * g("V0") / g("c_t")), pCa(g("V3"))}
}

// digit is the worth of the last digit shown.
func digit(n working.Number) float64 {
	mantissa, exp, _ := strings.Cut(n.Text, "e")
	scale := 1.0
	if exp != "" {
		var p float64
		for _, r := range strings.TrimLeft(exp, "+-") {
			p = p*10 + float64(r-'0')
		}
		if strings.HasPrefix(exp, "-") {
			p = -p
		}
		scale = math.Pow(10, p)
	}
	_, decimals, _ := strings.Cut(mantissa, ".")
	return scale * math.Pow(10, -float64(len(decimals)))
}

func TestKeyByClosedForms(t *testing.T) {
	for _, k := range exercise.Kinds {
		closed, ok := answers[k.Name]
		if !ok {
			t.Errorf("%s: no closed form here", k.Name)
			continue
		}
		for seed := uint64(1); seed <= 40; seed++ {
			s, err := exercise.New(seed, 1, exercise.Options{Kinds: []string{k.Name}})
			if err != nil {
				t.Fatal(err)
			}
			e := s.Exercises[0]
			given := func(name string) float64 {
				for _, v := range e.Given {
					if v.Name == name {
						return v.Number.Value
					}
				}
				t.Fatalf("%s: the question has no %q", k.Name, name)
				return 0
			}
			want := closed(given)
			if len(want) != len(e.Answers) {
				t.Fatalf("%s: %d answers, %d by closed forms", k.Name, len(e.Answers), len(want))
			}
			for i, a := range e.Answers {
				if math.Abs(a.Number.Value-want[i]) > 1.01*digit(a.Number) {
					t.Errorf("%s, seed %d, %s: key %s, closed form %.8g", k.Name, seed, a.Name, a.Number, want[i])
				}
			}
		}
	}
}

// Ends fall at 60 to 90 % of the burette of 50 or 25 mL.
func TestVolumesFitTheBurette(t *testing.T) {
	for name, at := range map[string]struct {
		volume string
		size   float64
	}{"standardise": {"V", 50}, "content": {"V", 50}, "back": {"V(Ce)", 25}, "mixture": {"V_m", 50}, "budget": {"V", 25}} {
		low, high := math.Inf(1), 0.0
		for seed := uint64(1); seed <= 60; seed++ {
			s, err := exercise.New(seed, 2, exercise.Options{Kinds: []string{name}})
			if err != nil {
				t.Fatal(err)
			}
			for _, v := range s.Exercises[0].Given {
				if v.Name == at.volume {
					low, high = min(low, v.Number.Value), max(high, v.Number.Value)
				}
			}
		}
		if low < 0.6*at.size || high > 0.9*at.size || low == high {
			t.Errorf("%s: ends from %g to %g mL in a burette of %g mL", name, low, high, at.size)
		}
	}
}

func text(t *testing.T, d *working.Document) string {
	t.Helper()
	var b bytes.Buffer
	if err := working.WriteText(&b, d); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestSheetsAreTheirSeed(t *testing.T) {
	write := func(seed uint64, number int) string {
		s, err := exercise.New(seed, number, exercise.Options{})
		if err != nil {
			t.Fatal(err)
		}
		d, err := s.Document()
		if err != nil {
			t.Fatal(err)
		}
		return text(t, d) + text(t, s.Key())
	}
	if once, again := write(7, 3), write(7, 3); once != again {
		t.Error("the same seed made two sheets")
	}
	body := func(s string) string { _, rest, _ := strings.Cut(s, "1. What"); return rest }
	if body(write(7, 3)) == body(write(7, 4)) || body(write(7, 3)) == body(write(8, 3)) {
		t.Error("another number or seed made the same sheet")
	}
}

// No answer stands on the sheet: but for the slip of ten, which asks which of
// two lines is right.
func TestKeyIsNotOnTheSheet(t *testing.T) {
	for _, k := range exercise.Kinds {
		for seed := uint64(1); seed <= 20; seed++ {
			s, err := exercise.New(seed, 1, exercise.Options{Kinds: []string{k.Name}})
			if err != nil {
				t.Fatal(err)
			}
			d, err := s.Document()
			if err != nil {
				t.Fatal(err)
			}
			sheet := strings.Join(strings.Fields(text(t, d)), " ")
			for _, a := range s.Exercises[0].Answers {
				var b bytes.Buffer
				one := &working.Document{Title: "x", Sections: []working.Section{{Blocks: []working.Block{working.P("@", a.Number)}}}}
				if err := working.WriteText(&b, one); err != nil {
					t.Fatal(err)
				}
				shown := strings.TrimSpace(strings.TrimPrefix(b.String(), "x\n=\n"))
				same := k.Name == "carbonate" && strings.HasPrefix(a.Name, "found with methyl")
				if !same && a.Number.Unit != "" && strings.Contains(sheet, " "+shown) {
					t.Errorf("%s, seed %d: the answer %s stands on the sheet", k.Name, seed, shown)
				}
			}
		}
	}
}

func TestEveryNumberHasAUnit(t *testing.T) {
	for seed := uint64(1); seed <= 10; seed++ {
		s, err := exercise.New(seed, 1, exercise.Options{})
		if err != nil {
			t.Fatal(err)
		}
		sheet, err := s.Document()
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range sheet.Check() {
			t.Errorf("sheet of seed %d: %v", seed, e)
		}
		for _, e := range s.Exercises {
			// Symbols may mean another thing in another question. Sections by
			// explain rest on one that is not in the key.
			d := &working.Document{Title: "key", Sections: e.Key[:1]}
			for _, err := range d.Check() {
				t.Errorf("key of %s, seed %d: %v", e.Kind.Name, seed, err)
			}
		}
	}
}

func TestCautionsStandOnTheSheet(t *testing.T) {
	s, err := exercise.New(1, 1, exercise.Options{Kinds: []string{"slip"}})
	if err != nil {
		t.Fatal(err)
	}
	d, err := s.Document()
	if err != nil {
		t.Fatal(err)
	}
	got := text(t, d)
	for _, want := range []string{"potassium dichromate", "may cause cancer", "local disposal rules decide"} {
		if !strings.Contains(strings.Join(strings.Fields(got), " "), want) {
			t.Errorf("the sheet does not say %q", want)
		}
	}
}

func TestChoice(t *testing.T) {
	var unknown *exercise.UnknownKindError
	if _, err := exercise.New(1, 1, exercise.Options{Kinds: []string{"riddle"}}); !errors.As(err, &unknown) || !strings.Contains(err.Error(), "curve, equivalence") {
		t.Errorf("an unknown kind: %v", err)
	}
	names := func(seed uint64, number int) string {
		s, err := exercise.New(seed, number, exercise.Options{Count: 5})
		if err != nil {
			t.Fatal(err)
		}
		var list []string
		for _, e := range s.Exercises {
			list = append(list, e.Kind.Name)
		}
		return strings.Join(list, " ")
	}
	if got := names(3, 1); len(strings.Fields(got)) != 5 || got != names(3, 2) {
		t.Errorf("five kinds, the same for a class: %q and %q", got, names(3, 2))
	}
	if names(3, 1) == names(4, 1) {
		t.Error("another seed asks the same five")
	}
	many, err := exercise.New(3, 1, exercise.Options{Kinds: []string{"content"}, Count: 3})
	if err != nil || len(many.Exercises) != 3 || many.Exercises[0].Answers[0] == many.Exercises[1].Answers[0] {
		t.Errorf("three of a kind with numbers of their own: %v, %v", many.Exercises, err)
	}
}

func TestQuestionsOfOneSystem(t *testing.T) {
	for _, k := range exercise.Kinds {
		if !slices.Contains(exercise.Systems, k.System) {
			t.Errorf("%s is about %q", k.Name, k.System)
		}
	}
	s, err := exercise.New(1, 1, exercise.Options{System: "acids and bases"})
	if err != nil || len(s.Exercises) != 2 || s.Exercises[0].Kind.Name != "carbonate" || s.Exercises[1].Kind.Name != "mixture" {
		t.Errorf("acids and bases: %v, %v", s.Exercises, err)
	}
	n, err := exercise.Options{Kinds: []string{"curve", "calcium", "back"}, System: "redox"}.Questions()
	if n != 2 || err != nil {
		t.Errorf("two of three are redox: %d, %v", n, err)
	}
	var unknown *exercise.UnknownSystemError
	if _, err := (exercise.Options{System: "gold"}).Questions(); !errors.As(err, &unknown) {
		t.Errorf("an unknown system: %v", err)
	}
	if _, err := exercise.New(1, 1, exercise.Options{Kinds: []string{"halides"}, System: "EDTA"}); err == nil {
		t.Error("a choice of nothing makes a sheet")
	}
}
