package worked_test

import (
	"math"
	"math/big"
	"strings"
	"testing"

	"meniscus/internal/worked"
)

const ln10 = "2.302585092994045684017991454684364207601101488628772976033327900967572609677352480235997"

func pointAt(t *testing.T, id, volumeML string) worked.ReferencePoint {
	t.Helper()
	s, err := worked.Reference(id)
	if err != nil {
		t.Fatal(err)
	}
	p, err := s.At(volumeML)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// decade is RT ln10/F in volts, as a rational good to 85 digits.
func decade(t *testing.T) *big.Rat {
	t.Helper()
	out := rational(t, "1.380649e-23")
	out.Mul(out, rational(t, "298.15"))
	out.Mul(out, rational(t, ln10))
	return out.Quo(out, rational(t, "1.602176634e-19"))
}

// Where the reaction is symmetric (one species on each side of both couples),
// the equivalence potential is the mean of the potentials weighted by their
// electrons, less S times protons over electrons times pH (Skoog, Fundamentals
// of Analytical Chemistry, 9th ed., 19D, from memory). It holds exactly.
func TestEquivalencePotential(t *testing.T) {
	within := rational(t, "1e-28")
	for _, c := range []struct {
		id, volume  string
		e1, e2      string
		n1, n2      int64
		protons, ph int64 // protons with the electrons of the second couple
	}{
		{id: "fe-ce-sulfuric", volume: "25", e1: "0.68", n1: 1, e2: "1.44", n2: 1},
		{id: "fe-ce-perchloric", volume: "50", e1: "0.767", n1: 1, e2: "1.70", n2: 1},
		{id: "ce-fe-falling", volume: "25", e1: "0.68", n1: 1, e2: "1.44", n2: 1},
		{id: "one-to-one-k60", volume: "50", e1: "0", n1: 1, e2: "3.55", n2: 1},
		{id: "ferrocyanide-ce", volume: "25", e1: "0.70", n1: 1, e2: "1.44", n2: 1},
		{id: "sn-ce", volume: "20", e1: "0.14", n1: 2, e2: "1.44", n2: 1},
		{id: "sn-tl", volume: "5", e1: "0.139", n1: 2, e2: "0.77", n2: 2},
		{id: "u-ce", volume: "20", e1: "0.327", n1: 2, e2: "1.44", n2: 1},
		{id: "hydroquinone-ce", volume: "20", e1: "0.6994", n1: 2, e2: "1.44", n2: 1},
		{id: "fe3-ti", volume: "20", e1: "0.68", n1: 1, e2: "0.10", n2: 1},
		{id: "peroxide-mno4", volume: "50", e1: "0.78", n1: 2, e2: "1.51", n2: 5},
		{id: "fe-mno4-ph0", volume: "50", e1: "0.68", n1: 1, e2: "1.51", n2: 5},
		{id: "fe-mno4-ph1", volume: "50", e1: "0.68", n1: 1, e2: "1.51", n2: 5, protons: 8, ph: 1},
	} {
		want := new(big.Rat).Mul(rational(t, c.e1), big.NewRat(c.n1, c.n1+c.n2))
		second := new(big.Rat).Mul(rational(t, c.e2), big.NewRat(c.n2, c.n1+c.n2))
		want.Add(want, second)
		want.Sub(want, new(big.Rat).Mul(decade(t), big.NewRat(c.protons*c.ph, c.n1+c.n2)))
		off := new(big.Rat).Sub(want, rational(t, pointAt(t, c.id, c.volume).Potential))
		if off.Abs(off).Cmp(within) > 0 {
			t.Errorf("%s: E at %s mL is off by %s V", c.id, c.volume, off.FloatString(32))
		}
	}
}

// Permanganate with iron when pH is free: the same with the pH of the point,
// which its own proton balance gives.
func TestEquivalencePotentialWithFreePH(t *testing.T) {
	for _, id := range []string{"fe-mno4-unbuffered", "fe-mno4-scarce-acid"} {
		p := pointAt(t, id, "25")
		want := new(big.Rat).Mul(decade(t), rational(t, p.PH))
		want.Mul(want, big.NewRat(-8, 6))
		want.Add(want, big.NewRat(823, 600)) // (0.68 + 5 x 1.51)/6
		off := want.Sub(want, rational(t, p.Potential))
		if off.Abs(off).Cmp(rational(t, "1e-28")) > 0 {
			t.Errorf("%s: off by %s V", id, off.FloatString(32))
		}
	}
}

// Dichromate is not symmetric: 7 E = E1 + 6 E2 - S log(2 [Cr3+]) at V_eq and
// pH 0 (Laitinen and Harris, Chemical Analysis, 2nd ed., from memory; derived
// from [Fe3+] = 3 [Cr3+] and [Fe2+] = 6 [Cr2O7 2-]).
func TestDichromateEquivalence(t *testing.T) {
	for _, id := range []string{"fe-cr2o7-ph0", "fe-cr2o7-diluted"} {
		p := pointAt(t, id, "25")
		cr := number(t, p.Concentrations["Cr^3+"])
		want := (0.68 + 6*1.33 - slope*math.Log10(2*cr)) / 7
		if got := number(t, p.Potential); math.Abs(got-want) > 1e-14 {
			t.Errorf("%s: E = %.16f, want %.16f", id, got, want)
		}
	}
}

// At half the equivalence volume the potential is the formal potential of the
// titrand but for the back reaction, which is 1e-13 of it here; at twice, of
// the titrant. A trace of iron(III) sets V = 0: E1 - S log 99.
func TestHalfTwiceAndTrace(t *testing.T) {
	for _, c := range []struct {
		id, volume string
		want       float64
	}{
		{"fe-ce-sulfuric", "12.5", 0.68},
		{"fe-ce-sulfuric", "50", 1.44},
		{"fe-ce-perchloric", "25", 0.767},
		{"fe-ce-perchloric", "100", 1.70},
		{"sn-ce", "10", 0.14},
		{"sn-ce", "40", 1.44},
		{"fe-ce-trace", "0", 0.68 - slope*math.Log10(99)},
	} {
		if got := number(t, pointAt(t, c.id, c.volume).Potential); math.Abs(got-c.want) > 1e-13 {
			t.Errorf("%s at %s mL: E = %.16f, want %.16f", c.id, c.volume, got, c.want)
		}
	}
}

// Iron with cerium is one quadratic. With m the smaller of [Fe2+] and [Ce4+],
// s the smaller total and d the larger less the smaller:
// (s - m)^2 = K m (d + m), K = 10^((E2 - E1)/S).
func TestIronCeriumQuadratic(t *testing.T) {
	for _, c := range []struct {
		id     string
		e1, e2 float64
	}{{"fe-ce-sulfuric", 0.68, 1.44}, {"fe-ce-perchloric", 0.767, 1.70}, {"one-to-one-k60", 0, 3.55}} {
		s, err := worked.Reference(c.id)
		if err != nil {
			t.Fatal(err)
		}
		k := math.Pow(10, (c.e2-c.e1)/slope)
		for _, p := range s.Points {
			fe := total(t, s, map[string]int{"Fe^2+": 1}, p.VolumeML)
			ce := total(t, s, map[string]int{"Ce^4+": 1}, p.VolumeML)
			minor, small := "Ce^4+", ce
			difference := new(big.Rat).Sub(fe, ce)
			if difference.Sign() < 0 {
				minor, small = "Fe^2+", fe
				difference.Neg(difference)
			}
			d, _ := difference.Float64()
			m, _ := small.Float64()
			b := k*d + 2*m
			want := 2 * m * m / (b + math.Sqrt(b*b+4*(k-1)*m*m))
			if got := number(t, p.Concentrations[minor]); math.Abs(got/want-1) > 1e-12 {
				t.Errorf("%s at %s mL: [%s] = %g, want %g", c.id, p.VolumeML, minor, got, want)
			}
		}
	}
}

// dE/dV of iron with cerium by implicit differentiation of the electron
// balance: the change of electrons at fixed E over the poise.
func TestIronCeriumSlope(t *testing.T) {
	s, err := worked.Reference("fe-ce-sulfuric")
	if err != nil {
		t.Fatal(err)
	}
	v0, cfe, cce := number(t, s.FlaskML), number(t, s.Flask["Fe^2+"]), number(t, s.Burette["Ce^4+"])
	for _, p := range s.Points {
		v := number(t, p.VolumeML)
		c := func(x string) float64 { return number(t, p.Concentrations[x]) }
		fe, ce := c("Fe^2+")+c("Fe^3+"), c("Ce^3+")+c("Ce^4+")
		dilution := v0 / ((v0 + v) * (v0 + v))
		change := cfe*dilution*c("Fe^3+")/fe + cce*dilution*c("Ce^3+")/ce
		poise := math.Ln10 / slope * (c("Fe^2+")*c("Fe^3+")/fe + c("Ce^3+")*c("Ce^4+")/ce)
		want := change / poise
		if got := number(t, p.First); math.Abs(got/want-1) > 1e-12 {
			t.Errorf("dE/dV at %s mL = %g, want %g", p.VolumeML, got, want)
		}
	}
}

// A strong acid with a strong base: h - Kw/h = d, the acid left over; its
// derivatives follow from those of d.
func TestStrongAcid(t *testing.T) {
	s, err := worked.Reference("hcl-naoh")
	if err != nil {
		t.Fatal(err)
	}
	kw, v0, cb := 1e-14, 50.0, 0.1
	for _, p := range s.Points {
		v := number(t, p.VolumeML)
		d, _ := total(t, s, map[string]int{"H^+": 1, "OH^-": -1}, p.VolumeML).Float64()
		h := (math.Abs(d) + math.Sqrt(d*d+4*kw)) / 2
		if d < 0 {
			h = kw / h
		}
		if got := number(t, p.PH); math.Abs(got+math.Log10(h)) > 1e-13 {
			t.Errorf("pH at %s mL = %s, want %.15f", p.VolumeML, p.PH, -math.Log10(h))
		}
		if p.VolumeML == "0" {
			continue
		}
		d1 := -2 * cb * v0 / ((v0 + v) * (v0 + v)) // acid and base are equally strong
		d2 := -2 * d1 / (v0 + v)
		h1 := d1 / (1 + kw/(h*h))
		h2 := (d2 + 2*kw/(h*h*h)*h1*h1) / (1 + kw/(h*h))
		first, second := -h1/h/math.Ln10, -(h2/h-h1*h1/(h*h))/math.Ln10
		if got := number(t, p.First); math.Abs(got/first-1) > 1e-10 {
			t.Errorf("dpH/dV at %s mL = %g, want %g", p.VolumeML, got, first)
		}
		if got := number(t, p.Second); math.Abs(got-second) > 1e-10*(math.Abs(h2/h)+h1*h1/(h*h)) {
			t.Errorf("d2pH/dV2 at %s mL = %g, want %g", p.VolumeML, got, second)
		}
	}
}

// At V_eq of a 1:1 precipitate p of both ions is pKsp/2, with or without an
// activity model; of a strong acid with a strong base, pKw/2.
func TestHalfOfTheConstant(t *testing.T) {
	within := rational(t, "1e-27")
	exact := func(name, got, want string) {
		off := new(big.Rat).Sub(rational(t, got), rational(t, want))
		if off.Abs(off).Cmp(within) > 0 {
			t.Errorf("%s = %s, want %s", name, got, want)
		}
	}
	ideal, davies := pointAt(t, "cl-ag", "25"), pointAt(t, "cl-ag-davies", "25")
	exact("pAg", ideal.P["Ag^+"], "4.876")
	exact("pAg, Davies", davies.P["Ag^+"], "4.876")
	exact("pAg of iodide", pointAt(t, "i-ag", "50").P["Ag^+"], "8.04")
	exact("pH", pointAt(t, "hcl-naoh", "50").PH, "7")
	exact("pH, dilute", pointAt(t, "hcl-naoh-dilute", "25").PH, "6.9975")
	if number(t, davies.Concentrations["Ag^+"]) < 1.1*number(t, ideal.Concentrations["Ag^+"]) {
		t.Error("Davies leaves the solubility of silver chloride as it is")
	}
}

// Silver chloride begins before the bromide equivalence at 40 mL: there
// [Ag+] = Ksp/[Cl-], and all silver added is free or in the two solids.
func TestChlorideBegins(t *testing.T) {
	s, err := worked.Reference("halides-ag")
	if err != nil {
		t.Fatal(err)
	}
	v := number(t, s.OnsetsML["AgCl(s)"])
	if !(v > 39 && v < 40) {
		t.Fatalf("AgCl begins at %g mL", v)
	}
	x, silver := 0.02*50/(50+v), 0.05*v/(50+v)
	ag := math.Pow(10, -9.752) / x
	left := silver - ag - (x - math.Pow(10, -16.08)/ag) - (x - math.Pow(10, -12.30)/ag)
	if math.Abs(left) > 1e-15 {
		t.Errorf("silver unaccounted for at the onset: %g mol/L", left)
	}
	for _, p := range s.Points {
		if present, after := p.Concentrations["AgCl(s)"] != "0", number(t, p.VolumeML) > v; present != after {
			t.Errorf("at %s mL AgCl present: %t", p.VolumeML, present)
		}
	}
}

// Before any solid exists Ksp does not apply: all silver is free.
func TestNoSolidYet(t *testing.T) {
	p := pointAt(t, "cl-ag", "0.000001")
	s, err := worked.Reference("cl-ag")
	if err != nil {
		t.Fatal(err)
	}
	want, _ := total(t, s, map[string]int{"Ag^+": 1}, p.VolumeML).Float64()
	if got := number(t, p.Concentrations["Ag^+"]); p.Concentrations["AgCl(s)"] != "0" || math.Abs(got/want-1) > 1e-15 {
		t.Errorf("[Ag+] = %g of %g, AgCl %s", got, want, p.Concentrations["AgCl(s)"])
	}
}

// alpha(Y4-) at pH 10 is 0.30 (Harris, Quantitative Chemical Analysis, 8th ed.,
// table 11-1, from memory) in the free EDTA of the calcium curve.
func TestChelateFraction(t *testing.T) {
	p, sum := pointAt(t, "ca-edta", "100"), 0.0
	for x, c := range p.Concentrations {
		if strings.Contains(x, "Y") && x != "CaY^2-" {
			sum += number(t, c)
		}
	}
	if got := number(t, p.Concentrations["Y^4-"]) / sum; math.Abs(got-0.30) > 0.005 {
		t.Errorf("alpha = %.4f", got)
	}
}
