package equilibrium

import (
	"math"
	"testing"

	"meniscus/unit"
)

const nernst = unit.GasConstant * 298.15 / unit.Faraday // V per neper at 25 °C

func dec(t testing.TB, s string) unit.Decimal {
	t.Helper()
	d, err := unit.ParseDecimal(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// ironCerium is iron(II) with cerium(IV), potentials e1 and e2 in volt.
func ironCerium(t testing.TB, e1, e2 float64) *System {
	t.Helper()
	s, err := NewSystem(
		[]Species{{Name: "Fe^3+", Charge: 3}, {Name: "Fe^2+", Charge: 2}, {Name: "Ce^4+", Charge: 4}, {Name: "Ce^3+", Charge: 3}, {Name: "e^-", Kind: Electron, Charge: -1}},
		[]Reaction{
			{Name: "Fe", Terms: []Term{{0, -1, 1}, {4, -1, 1}, {1, 1, 1}}, LnK: e1 / nernst},
			{Name: "Ce", Terms: []Term{{2, -1, 1}, {4, -1, 1}, {3, 1, 1}}, LnK: e2 / nernst},
		})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestIronCeriumClosedForm(t *testing.T) {
	// One equation in x = exp((E-E1)/(RT/F)):
	// nFe x/(1+x) = nCe/(1+x q), q = exp((E1-E2)/(RT/F)); a quadratic.
	for _, e2 := range []float64{1.44, 0.9, 0.70, 3.55} {
		s := ironCerium(t, 0.68, e2)
		p, err := s.NewProblem(Mixture{
			Volume:  dec(t, "0.05000"),
			Flask:   []Amount{{1, dec(t, "0.0025")}},
			Burette: []Amount{{2, dec(t, "0.1")}},
		}, Activity{})
		if err != nil {
			t.Fatal(err)
		}
		sol := p.NewSolver()
		for _, v := range []string{"0.0025", "0.0125", "0.024975", "0.025", "0.025025", "0.05", "0.000001"} {
			if err := sol.At(dec(t, v)); err != nil {
				t.Fatal(v, err)
			}
			ln, ok := sol.LnActivity(4)
			if !ok {
				t.Fatal("undefined")
			}
			got := -ln * nernst
			want := quadraticPotential(0.0025, 0.1, dec(t, v), 0.68, e2)
			if d := math.Abs(got-want) * 1e3; d > 1e-6 {
				t.Errorf("E2 %g V=%s: got %.12f want %.12f, %d iterations", e2, v, got, want, sol.Iterations())
			}
		}
	}
}

// quadraticPotential solves the electron balance of a one-electron couple
// with a one-electron titrant in closed form: with r = [ox]/[red] of the
// titrand and q r = [ox]/[red] of the titrant reversed,
// n1 r/(1+r) = n2/(1+r q).
func quadraticPotential(n1, c2 float64, v unit.Decimal, e1, e2 float64) float64 {
	n2 := c2 * v.Float()
	q := math.Exp((e1 - e2) / nernst)
	// n1 q r^2 + (n1-n2) r - n2 = 0
	b := n1 - n2
	if v.Float() == 0.025 {
		b = 0 // exactly equivalent in decimals
	}
	disc := math.Sqrt(b*b + 4*n1*q*n2)
	var r float64
	if b > 0 {
		r = 2 * n2 / (b + disc)
	} else {
		r = (-b + disc) / (2 * n1 * q)
	}
	return e1 + nernst*math.Log(r)
}

func TestUnpoisedStart(t *testing.T) {
	s := ironCerium(t, 0.68, 1.44)
	p, err := s.NewProblem(Mixture{Volume: dec(t, "0.05"), Flask: []Amount{{1, dec(t, "0.0025")}}, Burette: []Amount{{2, dec(t, "0.1")}}}, Activity{})
	if err != nil {
		t.Fatal(err)
	}
	sol := p.NewSolver()
	if err := sol.At(unit.Decimal{}); err != nil {
		t.Fatal(err)
	}
	if ln, ok := sol.LnActivity(4); ok {
		t.Errorf("iron(II) alone has potential %g", ln)
	}
	if c := sol.Concentration(1); math.Abs(c-0.05) > 1e-16 {
		t.Errorf("[Fe2+] = %g", c)
	}
}

func BenchmarkIronCerium(b *testing.B) {
	s := ironCerium(b, 0.68, 1.44)
	p, _ := s.NewProblem(Mixture{
		Volume:  dec(b, "0.05000"),
		Flask:   []Amount{{1, dec(b, "0.0025")}},
		Burette: []Amount{{2, dec(b, "0.1")}},
	}, Activity{})
	sol := p.NewSolver()
	vs := make([]unit.Decimal, 1000)
	for i := range vs {
		vs[i], _ = unit.DecimalOf(float64(i+1) * 5e-5)
	}
	b.ReportAllocs()
	iters := 0
	for b.Loop() {
		for _, v := range vs {
			if err := sol.At(v); err != nil {
				b.Fatal(err)
			}
			sol.LnActivity(4)
			iters += sol.Iterations()
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/1000, "ns/point")
	b.ReportMetric(float64(iters)/float64(b.N)/1000, "iters/point")
}
