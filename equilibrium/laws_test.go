package equilibrium

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"meniscus/chem"
)

// content is what one formula unit of a species counts in a quantity that
// reactions conserve.
type content func(sp chem.Species) float64

func count(sp chem.Species, element string) float64 { return sp.Count(element).Float() }

// conserved lists what cannot change by reaction, from the formulas alone: all
// elements but H and O; H less twice O, which water does not carry; and the
// charge, which is the balance of electrons. Where H+ is held only the
// difference of the last two is kept, and what else is held supplies its own
// element.
func (r *readySample) conserved() map[string]content {
	list := map[string]content{}
	free := func(sp chem.Species) float64 { return count(sp, "H") - 2*count(sp, "O") }
	charge := func(sp chem.Species) float64 { return float64(sp.Charge) }
	held := map[string]bool{}
	for _, h := range r.mix.Held {
		held[r.sys.Species[h.Species].Name] = true
	}
	if held["H^+"] { // NH3 brings three H and no charge, Cl- a charge and no H
		list["charge less H+"] = func(sp chem.Species) float64 {
			x := charge(sp) - free(sp)
			if held["NH3"] {
				x += 3 * count(sp, "N")
			}
			if held["Cl^-"] {
				x += count(sp, "Cl")
			}
			return x
		}
	} else {
		list["charge"], list["H - 2 O"] = charge, free
	}
	for _, sp := range r.formulas {
		for _, e := range sp.Elements {
			if e.Symbol != "H" && e.Symbol != "O" && (e.Symbol != "N" || !held["NH3"]) && (e.Symbol != "Cl" || !held["Cl^-"]) {
				list[e.Symbol] = func(sp chem.Species) float64 { return count(sp, e.Symbol) }
			}
		}
	}
	return list
}

// TestBalances: what was put in is there, within 1e-12 of the sum of absolute
// terms, counted by the formulas.
func TestBalances(t *testing.T) {
	each(t, func(t *testing.T, r *readySample, act Activity) {
		for _, v := range r.volumes {
			s := r.at(t, act, v)
			if res := s.Residual(); res > 1e-12 {
				t.Errorf("%g mL: residual %g", v, res)
			}
			for name, weight := range r.conserved() {
				sum, size := 0.0, 0.0
				add := func(x float64) { sum, size = sum+x, size+math.Abs(x) }
				for j, sp := range r.formulas {
					if sp.Name != chem.Electron {
						add(weight(sp) * (s.Concentration(j) + s.Amount(j)))
					}
				}
				for _, a := range r.mix.Flask {
					add(-weight(r.formulas[a.Species]) * a.Value.Float() / s.TotalVolume())
				}
				for _, a := range r.mix.Burette {
					add(-weight(r.formulas[a.Species]) * a.Value.Float() * s.Volume() / s.TotalVolume())
				}
				if math.Abs(sum) > 1e-12*size {
					t.Errorf("%g mL: %s is off by %g of %g mol/L", v, name, sum, size)
				}
			}
		}
	})
}

// coefficient is ln gamma written out once more: Davies and the extended
// Debye-Hückel equation at 25 °C with the package's A and B.
func coefficient(act Activity, sp Species, ionic float64) float64 {
	z2, root := float64(sp.Charge*sp.Charge), math.Sqrt(ionic)
	switch {
	case act.Model == Davies && sp.Kind == Dissolved:
		return -0.509 * z2 * (root/(1+root) - 0.3*ionic) * math.Ln10
	case act.Model == DebyeHuckel && sp.Kind == Dissolved:
		return -0.509 * z2 * root / (1 + 0.3286*sp.IonSize*root) * math.Ln10
	}
	return 0
}

// TestMassAction: every reaction between what is present is at equilibrium,
// with activity coefficients at the ionic strength that the composition has,
// and LnActivity says the same as concentration times coefficient.
func TestMassAction(t *testing.T) {
	each(t, func(t *testing.T, r *readySample, act Activity) {
		for _, v := range r.volumes {
			s := r.at(t, act, v)
			ionic := 0.0
			for j, sp := range r.sys.Species {
				ionic += s.Concentration(j) * float64(sp.Charge*sp.Charge) / 2
			}
			if math.Abs(s.IonicStrength()-ionic) > 1e-11*ionic {
				t.Errorf("%g mL: ionic strength %g, of the composition %g", v, s.IonicStrength(), ionic)
			}
			ln := make([]float64, len(r.sys.Species))
			for j, sp := range r.sys.Species {
				ln[j], _ = s.LnActivity(j)
				if c := s.Concentration(j); sp.Kind == Dissolved {
					ln[j] = math.Log(c) + coefficient(act, sp, ionic)
					if got, ok := s.LnActivity(j); !ok || math.Abs(got-ln[j]) > 1e-9 {
						t.Errorf("%g mL: ln a of %s = %.12g, by concentration %.12g", v, sp.Name, got, ln[j])
					}
				}
			}
			for _, h := range r.mix.Held {
				got := ln[h.Species]
				if h.Concentration {
					got = math.Log(s.Concentration(h.Species))
				}
				if math.Abs(got-h.Ln) > 1e-12 {
					t.Errorf("%g mL: %s is at ln %g, held at %g", v, r.sys.Species[h.Species].Name, got, h.Ln)
				}
			}
			for _, rx := range r.sys.Reactions {
				sum, solid := -rx.LnK, false
				for _, term := range rx.Terms {
					if r.sys.Species[term.Species].Kind == Solid {
						solid = true
						continue
					}
					sum += float64(term.Num) * ln[term.Species]
				}
				if !solid && math.Abs(sum) > 1e-9 {
					t.Errorf("%g mL: %s is off by %g in ln K", v, rx.Name, sum)
				}
			}
		}
	})
}

// TestSolids: a solid that is present is saturated, one that is absent is not
// supersaturated, by the ion product of its reaction.
func TestSolids(t *testing.T) {
	seen := 0
	each(t, func(t *testing.T, r *readySample, act Activity) {
		for _, v := range r.volumes {
			s := r.at(t, act, v)
			for _, rx := range r.sys.Reactions {
				solid, sum := -1, -rx.LnK
				for _, term := range rx.Terms {
					if r.sys.Species[term.Species].Kind == Solid {
						solid = term.Species
						continue
					}
					ln, ok := s.LnActivity(term.Species)
					if !ok {
						t.Fatalf("%g mL: %s undetermined", v, r.sys.Species[term.Species].Name)
					}
					sum += float64(term.Num) * ln
				}
				if solid < 0 {
					continue
				}
				amount := s.Amount(solid)
				if got, ok := s.Saturation(solid); !ok || math.Abs(got-sum) > 1e-9 {
					t.Errorf("%g mL: saturation of %s %g, by its ions %g", v, r.sys.Species[solid].Name, got, sum)
				}
				switch {
				case amount < 0 || sum > 1e-9:
					t.Errorf("%g mL: %s: amount %g, supersaturated by %g", v, r.sys.Species[solid].Name, amount, sum)
				case amount > 0 && sum < -1e-9:
					t.Errorf("%g mL: %g mol/L of %s in a solution that is not saturated (%g)", v, amount, r.sys.Species[solid].Name, sum)
				case amount > 0:
					seen++
				}
			}
		}
	})
	if seen < 20 {
		t.Errorf("only %d solids were present in all samples", seen)
	}
}

// sameState compares two solutions species by species.
func sameState(t interface{ Errorf(string, ...any) }, what string, a, b *Solver, tolerance float64) {
	for j, sp := range a.p.sys.Species {
		x, okX := a.LnActivity(j)
		y, okY := b.LnActivity(j)
		if okX != okY || okX && math.Abs(x-y) > tolerance {
			t.Errorf("%s: ln a of %s is %.12g and %.12g", what, sp.Name, x, y)
		}
		if sp.Kind == Solid && math.Abs(a.Amount(j)-b.Amount(j)) > tolerance*1e-2 {
			t.Errorf("%s: %s amounts to %g and %g", what, sp.Name, a.Amount(j), b.Amount(j))
		}
	}
}

// TestOneAnswer: the problem is convex, so the answer does not depend on where
// the search begins: from nothing, or from any other volumes solved before.
func TestOneAnswer(t *testing.T) {
	each(t, func(t *testing.T, r *readySample, act Activity) {
		rapid.Check(t, func(rt *rapid.T) {
			warm := r.solver(t, act)
			for _, v := range rapid.SliceOfN(rapid.IntRange(1, 6000), 1, 4).Draw(rt, "volumes before, 0.01 mL") {
				if err := warm.At(millilitres(float64(v) / 100)); err != nil {
					rt.Fatal(err)
				}
			}
			v := rapid.SampledFrom(r.volumes).Draw(rt, "volume, mL")
			if err := warm.At(millilitres(v)); err != nil {
				rt.Fatal(err)
			}
			sameState(rt, "warm and cold", warm, r.at(t, act, v), 1e-9)
		})
	})
}

// TestLeastFreeEnergy: the balances are the gradient of
// G(x) = sum over dissolved species of c(x) - T.x, x the ln a of the
// components, to be made least where no solid is supersaturated. From the
// solution every move that keeps to that raises G.
func TestLeastFreeEnergy(t *testing.T) {
	moves := 0
	for seed := range uint64(300) {
		r := rand.New(rand.NewPCG(seed, 1))
		rc, err := randomSystem(r)
		if err != nil {
			t.Fatal(err)
		}
		p, err := rc.sys.NewProblem(rc.mix, Activity{})
		if err != nil {
			t.Fatal(err)
		}
		s := p.NewSolver()
		if err := s.At(decimal(0)); err != nil {
			t.Fatal(err)
		}
		for range 10 {
			dx := make([]float64, len(p.stoich))
			rise, size := 0.0, 0.0
			for i := range dx {
				dx[i] = r.NormFloat64() * math.Pow(10, -3*r.Float64())
				rise -= p.fTotal[i].Float() * dx[i]
				size += math.Abs(p.fTotal[i].Float() * dx[i])
			}
			allowed := true
			for j, sp := range rc.species {
				move := 0.0
				for i := range dx {
					move += p.stoich[i][j].float() * dx[i]
				}
				switch sp.Kind {
				case Dissolved:
					rise += s.Concentration(j) * math.Expm1(move)
				case Solid:
					ln, _ := s.Saturation(j)
					allowed = allowed && ln+move < 1e-12
				}
			}
			if !allowed {
				continue
			}
			if moves++; rise < -1e-14*size {
				t.Errorf("seed %d: a move lowers G by %g of %g", seed, -rise, size)
			}
		}
	}
	if moves < 1000 {
		t.Errorf("only %d moves were allowed", moves)
	}
}

// TestSplitDose: the mixture after one dose, made ready again species by
// species, takes the second dose to where both lead at once.
func TestSplitDose(t *testing.T) {
	each(t, func(t *testing.T, r *readySample, act Activity) {
		for k, v := range r.volumes {
			first := v * []float64{0.2, 0.5, 0.9}[k%3]
			s := r.at(t, act, first)
			again := *r
			again.mix.Volume = decimal(s.TotalVolume())
			again.mix.Flask = nil
			for j, sp := range r.sys.Species {
				if x := s.Concentration(j) + s.Amount(j); x > 0 && sp.Kind != Electron {
					again.mix.Flask = append(again.mix.Flask, Amount{j, decimal(x * s.TotalVolume())})
				}
			}
			second := again.at(t, act, v-first)
			sameState(t, "two doses and one", second, r.at(t, act, v), 1e-7)
		}
	})
}

// TestScaling: a titration with all volumes and amounts changed by one factor
// has the same curve.
func TestScaling(t *testing.T) {
	each(t, func(t *testing.T, r *readySample, act Activity) {
		big := *r
		big.mix.Volume = r.mix.Volume.Mul(decimal(4))
		big.mix.Flask = nil
		for _, a := range r.mix.Flask {
			big.mix.Flask = append(big.mix.Flask, Amount{a.Species, a.Value.Mul(decimal(4))})
		}
		for _, v := range append([]float64{0}, r.volumes...) {
			sameState(t, "scaled", big.at(t, act, 4*v), r.at(t, act, v), 1e-10)
		}
	})
}

// TestOneCoupleRises: with an oxidant in the burette E rises all the way, and
// faster the nearer to the equivalence point from either side.
func TestOneCoupleRises(t *testing.T) {
	r := samples[0].ready(t)
	electron := r.sys.Electron()
	rapid.Check(t, func(rt *rapid.T) {
		a := rapid.Float64Range(1e-3, 60).Draw(rt, "a, mL")
		b := rapid.Float64Range(1e-3, 60).Draw(rt, "b, mL")
		low, high := math.Min(a, b), math.Max(a, b)
		if high-low < 1e-6 {
			return
		}
		for _, act := range models {
			x, _ := r.at(t, act, low).LnActivity(electron)
			y, _ := r.at(t, act, high).LnActivity(electron)
			if act.Model == Ideal && y >= x {
				rt.Fatalf("ln a(e-) is %g at %g mL and %g at %g mL", x, low, y, high)
			}
			if s := r.at(t, act, low).Capacity(electron); s <= 0 {
				rt.Fatalf("poise %g at %g mL", s, low)
			}
		}
	})
}
