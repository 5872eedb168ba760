package worked_test

import (
	"math"
	"math/big"
	"strconv"
	"strings"
	"testing"

	"meniscus/internal/worked"
)

// slope is RT ln10/F at 298.15 K in volts per decade: k and e are exact in the
// SI (SI Brochure, 9th edition, table 1) and R/F is k/e.
const slope = 1.380649e-23 * 298.15 * math.Ln10 / 1.602176634e-19

func systems(t *testing.T) []worked.System {
	t.Helper()
	out, err := worked.Systems()
	if err != nil {
		t.Fatal(err)
	}
	if len(out) < 45 {
		t.Fatalf("%d systems, want at least 45", len(out))
	}
	return out
}

func rational(t *testing.T, s string) *big.Rat {
	t.Helper()
	r, ok := new(big.Rat).SetString(s)
	if !ok {
		t.Fatalf("not a number: %q", s)
	}
	return r
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// total is what was put into the mixture of one balance, exactly.
func total(t *testing.T, s worked.System, species map[string]int, volumeML string) *big.Rat {
	t.Helper()
	v0, v, sum := rational(t, s.FlaskML), rational(t, volumeML), new(big.Rat)
	for x, n := range species {
		for _, part := range []struct {
			contains map[string]string
			volume   *big.Rat
		}{{s.Flask, v0}, {s.Burette, v}} {
			if c, ok := part.contains[x]; ok {
				a := new(big.Rat).Mul(rational(t, c), part.volume)
				sum.Add(sum, a.Mul(a, big.NewRat(int64(n), 1)))
			}
		}
	}
	return sum.Quo(sum, new(big.Rat).Add(v0, v))
}

// Every balance holds to the digits written: 1e-35 of its sum of absolute
// terms, in exact rational arithmetic.
func TestBalances(t *testing.T) {
	within := rational(t, "1e-35")
	for _, s := range systems(t) {
		balances := s.Balances
		for _, x := range s.Inert {
			balances = append(balances, worked.Balance{Name: x, Species: map[string]int{x: 1}})
		}
		for _, p := range s.Points {
			for _, b := range balances {
				off, size := new(big.Rat), new(big.Rat)
				for x, n := range b.Species {
					c, ok := p.Concentrations[x]
					if !ok {
						t.Fatalf("%s at %s mL: no %s", s.ID, p.VolumeML, x)
					}
					term := new(big.Rat).Mul(rational(t, c), big.NewRat(int64(n), 1))
					off.Add(off, term)
					size.Add(size, term.Abs(term))
				}
				off.Sub(off, total(t, s, b.Species, p.VolumeML))
				if off.Abs(off).Cmp(size.Mul(size, within)) > 0 {
					t.Errorf("%s at %s mL: balance of %s is off by %s", s.ID, p.VolumeML, b.Name, off.FloatString(45))
				}
			}
		}
	}
}

func isSolid(species string) bool { return strings.HasSuffix(species, "(s)") }

// charge reads the end of a name: Fe^3+ is 3, OH^- is -1.
func charge(t *testing.T, species string) int {
	t.Helper()
	_, text, ok := strings.Cut(species, "^")
	if !ok {
		return 0
	}
	size, sign := strings.TrimRight(text, "+-"), 1
	if strings.HasSuffix(text, "-") {
		sign = -1
	}
	if size == "" {
		return sign
	}
	return sign * int(number(t, size))
}

// logActivity returns log10 of each activity at a point; the Davies equation
// (Ion Association, 1962, from memory) where the system asks for it.
func logActivity(t *testing.T, s worked.System, p worked.ReferencePoint) map[string]float64 {
	t.Helper()
	factor := 0.0
	if s.DaviesA != "" {
		i := number(t, p.IonicStrength)
		r := math.Sqrt(i)
		factor = -number(t, s.DaviesA) * (r/(1+r) - 0.3*i)
	}
	out := map[string]float64{}
	for x, c := range p.Concentrations {
		out[x] = math.Log10(number(t, c)) + factor*float64(charge(t, x)*charge(t, x))
		if isSolid(x) {
			out[x] = 0
		}
	}
	return out
}

func logConstant(t *testing.T, l worked.Law) float64 {
	t.Helper()
	v := number(t, l.Value)
	switch l.Constant {
	case "formal potential", "standard potential":
		return float64(l.Electrons) * v / slope
	case "pKa", "pKsp":
		return -v
	case "log K", "log beta":
		return v
	}
	t.Fatalf("%s: unknown kind of constant %q", l.Reaction, l.Constant)
	return 0
}

// Every law of mass action holds at every point, as far as float64 can tell:
// 1e-11 decades, a hundred times the rounding of the largest terms (about 1000
// decades). A solid that is absent may be undersaturated, never over.
func TestLaws(t *testing.T) {
	for _, s := range systems(t) {
		for _, p := range s.Points {
			a := logActivity(t, s, p)
			for _, l := range s.Laws {
				off, absent := -logConstant(t, l), false
				for x, n := range l.Species {
					off += float64(n) * a[x]
					absent = absent || isSolid(x) && p.Concentrations[x] == "0"
				}
				if l.Electrons != 0 {
					off += float64(l.Electrons) * number(t, p.Potential) / slope
				}
				if p.VolumeML == "0" && (math.IsInf(off, 0) || math.IsNaN(off)) {
					continue // a species of the titrant, not there yet
				}
				if !(off < 1e-11) || !absent && !(off > -1e-11) {
					t.Errorf("%s at %s mL: %s is off by %g decades", s.ID, p.VolumeML, l.Reaction, off)
				}
			}
		}
	}
}

// Balances and laws decide a point only if nothing else is free: each reaction
// conserves each balance, and there are as many equations as unknowns.
func TestEquationsSuffice(t *testing.T) {
	for _, s := range systems(t) {
		species, unknowns := map[string]bool{}, 0
		for _, l := range s.Laws {
			for x := range l.Species {
				species[x] = true
			}
			for _, b := range s.Balances {
				made := 0
				for x, n := range l.Species {
					made += n * b.Species[x]
				}
				want := 0
				if b.Name == "e^-" {
					want, unknowns = l.Electrons, 1 // the potential
				}
				if made != want {
					t.Errorf("%s: %s makes %d of %s", s.ID, l.Reaction, made, b.Name)
				}
			}
		}
		if have := len(s.Laws) + len(s.Balances) + len(s.Held); len(species)+unknowns != have {
			t.Errorf("%s: %d unknowns, %d equations", s.ID, len(species)+unknowns, have)
		}
	}
}

// What is derived from the concentrations agrees with them: pH, p of an ion,
// ionic strength, and the potential of silver and ion-selective electrodes
// (E0 + S/z log a, E0 from the setup).
func TestDerivedQuantities(t *testing.T) {
	zero := map[worked.Kind]float64{worked.Silver: 0.7993, worked.Complexometric: 0.1}
	for _, s := range systems(t) {
		for _, p := range s.Points {
			a := logActivity(t, s, p)
			near := func(what, got string, want float64) {
				if math.Abs(number(t, got)-want) > 1e-12 {
					t.Errorf("%s at %s mL: %s %s, from concentrations %.15g", s.ID, p.VolumeML, what, got, want)
				}
			}
			if p.PH != "" {
				near("pH", p.PH, -a["H^+"])
			}
			for x, text := range p.P {
				near("p"+x, text, -a[x])
			}
			if e0, ok := zero[s.Kind]; ok {
				x, _, _ := strings.Cut(s.Setup[strings.Index(s.Setup, "find: ")+6:], "\n")
				ion := strings.Trim(strings.Split(x, ",")[0], "[")
				if s.Kind == worked.Silver {
					ion = "Ag^+"
				}
				near("E", p.Potential, e0+slope*a[ion]/float64(charge(t, ion)))
			}
			if s.DaviesA != "" {
				i := 0.0
				for x, c := range p.Concentrations {
					i += number(t, c) * float64(charge(t, x)*charge(t, x)) / 2
				}
				near("ionic strength", p.IonicStrength, i)
			}
		}
	}
}

// The points a reader of curves needs are there: each equivalence volume
// exactly and a thousandth of the step beside it, and twice the last one.
func TestVolumes(t *testing.T) {
	for _, s := range systems(t) {
		have := map[string]bool{}
		for _, p := range s.Points {
			have[rational(t, p.VolumeML).RatString()] = true
		}
		before := new(big.Rat)
		for _, text := range s.EquivalenceML {
			v := rational(t, text)
			step := new(big.Rat).Sub(v, before)
			for _, part := range []string{"0.5", "0.999", "1", "1.001"} {
				x := new(big.Rat).Mul(step, rational(t, part))
				if x.Add(x, before); !have[x.RatString()] {
					t.Errorf("%s: no point at %s mL", s.ID, x.FloatString(6))
				}
			}
			before = v
		}
		if twice := new(big.Rat).Add(before, before); !have[twice.RatString()] {
			t.Errorf("%s: no point at twice the last equivalence volume", s.ID)
		}
		if !have["0"] && len(s.UndefinedML) == 0 {
			t.Errorf("%s: nothing about V = 0", s.ID)
		}
	}
}
