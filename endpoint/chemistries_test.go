package endpoint

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"meniscus/curve"
	"meniscus/internal/lab"
)

// A chemistry is one kind of titration, and what each method must make of it:
// a number that holds, or a refusal with that reason.
type chemistry struct {
	name      string
	of        func(k float64) (s lab.Sample, veq []float64) // k moves the end points by some parts in a thousand
	electrons Electrons
	preset    float64           // a value near the last end point, which the curve passes once
	refuses   map[string]string // method to reason; every other method gives all end points, in order
	last      []string          // methods that give the last end point only
}

// Reasons that many have in common.
const (
	notPotential = "it needs readings of potential, these are of pH"
	notPIon      = "it needs readings of potential, these are of pIon"
	notPH        = "it needs readings of pH, these are of potential"
	ionNotPH     = "it needs readings of pH, these are of pIon"
	otherSlope   = "another reaction" // the slope of the readings is not that of the law
)

// onRedox, onSilver, onAcid and onIon are the refusals that belong to what is
// read; "-" is a line for another chemistry. Such a one is not always told from the
// readings alone: package assay, which knows the chemistry, keeps it out.
// "?" is a line that noise decides about: it refuses with the reason or holds,
// as before the first end point of phosphoric acid, half of whose first proton
// is gone at the start.
var (
	onRedox = map[string]string{
		"gran-acid-base-before": notPH, "gran-acid-base-after": notPH, "straight-line-pair": "", "gran-silver-before": otherSlope, "gran-silver-after": "-",
	}
	onSilver = map[string]string{
		"gran-acid-base-before": notPH, "gran-acid-base-after": notPH, "straight-line-pair": "", "gran-redox-before": "-", "gran-redox-after": "-", "log-plot": otherSlope,
	}
	onAcid = map[string]string{
		"gran-redox-before": notPotential, "gran-redox-after": notPotential, "log-plot": notPotential, "gran-silver-before": "it needs readings of potential", "gran-silver-after": "it needs readings of potential", "straight-line-pair": "",
	}
	onIon = map[string]string{
		"gran-redox-before": notPIon, "gran-redox-after": notPIon, "log-plot": notPIon, "gran-acid-base-before": ionNotPH, "gran-acid-base-after": ionNotPH, "straight-line-pair": "",
	}
	onChelate = with(onSilver, "gran-silver-before", otherSlope, "gran-silver-after", otherSlope, "gran-redox-before", otherSlope, "gran-redox-after", otherSlope)
)

func with(m map[string]string, pairs ...string) map[string]string {
	out := map[string]string{}
	for k, v := range m {
		out[k] = v
	}
	for i := 0; i < len(pairs); i += 2 {
		out[pairs[i]] = pairs[i+1]
	}
	return out
}

func redox(titrand, titrant lab.Couple) func(k float64) (lab.Sample, []float64) {
	return func(k float64) (lab.Sample, []float64) {
		s := lab.Redox{Titrand: titrand, Titrant: titrant, Conc: 0.05, V0: 0.05, TitrantConc: 0.1}.WithEquivalence(0.025 * k)
		return s, []float64{s.Equivalence()}
	}
}

func mixture(first, second, titrant lab.Couple) func(k float64) (lab.Sample, []float64) {
	return func(k float64) (lab.Sample, []float64) {
		s := lab.Mixture{
			Titrands: []lab.Portion{{Couple: first, Conc: 0.02 * k / float64(first.N)}, {Couple: second, Conc: 0.03}}, Titrant: titrant, V0: 0.05, TitrantConc: 0.1,
		}
		return s, []float64{s.Equivalence(1), s.Equivalence(2)}
	}
}

func silver(flask float64, halides ...lab.Halide) func(k float64) (lab.Sample, []float64) {
	return func(k float64) (lab.Sample, []float64) {
		s := lab.Silver{V0: 0.05, TitrantConc: 0.1, E0: 0.6, Flask: flask * k}
		for _, h := range halides {
			if flask == 0 {
				h.Conc *= k
			}
			s.Halides = append(s.Halides, h)
		}
		var veq []float64
		for i := range halides {
			veq = append(veq, s.Equivalence(i+1))
		}
		return s, veq
	}
}

func acid(a lab.Acid, protons int) func(k float64) (lab.Sample, []float64) {
	return func(k float64) (lab.Sample, []float64) {
		s := a
		s.V0, s.Conc, s.Strong = 0.05, a.Conc*k, a.Strong*k
		var veq []float64
		for i := range protons {
			veq = append(veq, s.Equivalence(i+1))
		}
		return s, veq
	}
}

// soda needs its sodium counted as strong base: two for each carbonate.
func soda(k float64) (lab.Sample, []float64) {
	s := lab.Acid{PKa: []float64{6.352, 10.329}, Conc: 0.03 * k, Strong: -0.06 * k, V0: 0.05, TitrantConc: -0.1}
	return s, []float64{0.015 * k, 0.030 * k}
}

func chelate(k float64) (lab.Sample, []float64) {
	s := lab.Chelate{Metals: []lab.Metal{{Conc: 0.005 * k, LogK: 10.1}}, V0: 0.05, TitrantConc: 0.01, E0: 0.1}
	return s, []float64{s.Equivalence(1)}
}

// asPIon reads a sample as -log10 of the activity that a slope per decade
// gives the potential.
func asPIon(of func(k float64) (lab.Sample, []float64), e0, slope float64) func(k float64) (lab.Sample, []float64) {
	return func(k float64) (lab.Sample, []float64) {
		s, veq := of(k)
		return lab.Response{What: curve.PIon, Of: func(v float64) float64 { return (e0 - s.At(v)) / slope }}, veq
	}
}

var chemistries = []chemistry{
	{name: "iron(II) with cerium(IV)", of: redox(lab.Couple{E: 0.68, N: 1}, lab.Couple{E: 1.44, N: 1, Oxidised: 1}), preset: 1.06, refuses: onRedox},
	{name: "iron(II) with permanganate", of: redox(lab.Couple{E: 0.68, N: 1}, lab.Couple{E: 1.51, N: 5, Oxidised: 1}), electrons: Electrons{1, 5}, preset: 1.2, refuses: onRedox},
	// A reducing titrant: the curve falls.
	{name: "cerium(IV) with iron(II)", of: redox(lab.Couple{E: 1.44, N: 1, Oxidised: 1}, lab.Couple{E: 0.68, N: 1}), preset: 1.06, refuses: onRedox},
	{name: "permanganate with iron(II)", of: redox(lab.Couple{E: 1.51, N: 5, Oxidised: 1}, lab.Couple{E: 0.68, N: 1}), electrons: Electrons{5, 1}, preset: 1.2, refuses: onRedox},
	{name: "iron(III) with titanium(III)", of: redox(lab.Couple{E: 0.68, N: 1, Oxidised: 1}, lab.Couple{E: 0.1, N: 1}), preset: 0.39, refuses: onRedox},
	// Two couples, up and down, of one and of two electrons.
	{name: "titanium(III) and iron(II) with cerium(IV)", of: mixture(lab.Couple{E: 0.1, N: 1}, lab.Couple{E: 0.68, N: 1}, lab.Couple{E: 1.44, N: 1, Oxidised: 1}), preset: 1.06, refuses: onRedox, last: []string{"gran-redox-after"}},
	{name: "cerium(IV) and iron(III) with titanium(III)", of: mixture(lab.Couple{E: 1.44, N: 1, Oxidised: 1}, lab.Couple{E: 0.68, N: 1, Oxidised: 1}, lab.Couple{E: 0.1, N: 1}), preset: 0.39, refuses: onRedox, last: []string{"gran-redox-after"}},
	{
		name: "tin(II) and iron(II) with cerium(IV)", of: mixture(lab.Couple{E: 0.15, N: 2}, lab.Couple{E: 0.68, N: 1}, lab.Couple{E: 1.44, N: 1, Oxidised: 1}), preset: 1.06,
		refuses: with(onRedox, "gran-redox-before", otherSlope, "log-plot", otherSlope), last: []string{"gran-redox-after"},
	},
	// Silver in the burette, and in the flask: the wire follows silver, so the
	// one rises and the other falls; as pAg it is the other way round.
	{name: "chloride with silver", of: silver(0, lab.Halide{Conc: 0.05, PKsp: 9.752}), preset: 0.3115, refuses: onSilver},
	{name: "silver with chloride", of: silver(0.05, lab.Halide{Conc: 0.1, PKsp: 9.752}), preset: 0.3115, refuses: onSilver},
	{name: "chloride with silver, pAg", of: asPIon(silver(0, lab.Halide{Conc: 0.05, PKsp: 9.752}), 0.6, lab.NernstSlope), preset: 4.876, refuses: onIon},
	{name: "silver with chloride, pAg", of: asPIon(silver(0.05, lab.Halide{Conc: 0.1, PKsp: 9.752}), 0.6, lab.NernstSlope), preset: 4.876, refuses: onIon},
	{name: "iodide and chloride with silver", of: silver(0, lab.Halide{Conc: 0.025, PKsp: 16.08}, lab.Halide{Conc: 0.025, PKsp: 9.752}), preset: 0.33, refuses: onSilver, last: []string{"gran-silver-after"}},
	{name: "three halides with silver", of: silver(0, lab.Halide{Conc: 0.02, PKsp: 16.08}, lab.Halide{Conc: 0.02, PKsp: 12.28}, lab.Halide{Conc: 0.02, PKsp: 9.752}), preset: 0.33, refuses: onSilver, last: []string{"gran-silver-after"}},
	// Protons, up and down.
	{name: "hydrochloric acid with alkali", of: acid(lab.Acid{Strong: 0.05, TitrantConc: 0.1}, 1), preset: 7, refuses: onAcid},
	{name: "sodium hydroxide with acid", of: acid(lab.Acid{Strong: -0.05, TitrantConc: -0.1}, 1), preset: 7, refuses: onAcid},
	{name: "acetic acid with alkali", of: acid(lab.Acid{PKa: []float64{4.757}, Conc: 0.05, TitrantConc: 0.1}, 1), preset: 8.6, refuses: onAcid},
	{name: "ammonia with acid", of: acid(lab.Acid{PKa: []float64{9.245}, Charge: 1, Conc: 0.05, TitrantConc: -0.1}, 1), preset: 5.4, refuses: onAcid},
	{
		name: "phosphoric acid with alkali", of: acid(lab.Acid{PKa: []float64{2.148, 7.198, 12.35}, Conc: 0.03, TitrantConc: 0.1}, 2), preset: 9.6,
		refuses: with(onAcid, "gran-acid-base-before", "?"+otherSlope), last: []string{"gran-acid-base-after"},
	},
	{name: "sodium carbonate with acid", of: soda, preset: 4.1, refuses: onAcid, last: []string{"gran-acid-base-after"}},
	// Chelates: potentials of a divalent ion have half the slope, pCa has none.
	{name: "calcium with EDTA", of: chelate, preset: -0.1, refuses: onChelate},
	{name: "calcium with EDTA, pCa", of: asPIon(chelate, 0.1, lab.NernstSlope/2), preset: 6.2, refuses: with(onIon, "gran-silver-after", "-")},
}

// What a number may be off: mostOff times its own standard uncertainty in any
// run, mostOffRMS as the root mean square over runs and end points. Where the
// inflection is not the equivalence point (a further salt begins there, or a
// proton more takes part) this is the method's bias, which its u has to cover.
const (
	mostOff    = 3.5
	mostOffRMS = 2.2
	chemRuns   = 6
)

// TestChemistries runs every method over every kind of titration, up and down,
// in mV, pH and pIon, with one end point and with several: the true V_eq of a
// generator that knows nothing of the methods is within what they say, or they
// refuse, and say the right thing. For a preset end point the truth is where
// the noise-free curve passes the value.
func TestChemistries(t *testing.T) {
	for _, x := range chemistries {
		t.Run(x.name, func(t *testing.T) {
			off := map[string][]float64{}
			for seed := range uint64(chemRuns) {
				rng := rand.New(rand.NewPCG(seed, 3))
				sample, veq := x.of(1 + 0.004*(rng.Float64()-0.5))
				c := chemistryBench(sample).Run(sample, aroundEach(veq), seed)
				opt := Options{Expected: len(veq), V0: 0.05, Electrons: x.electrons, Preset: []float64{x.preset}}
				opt.Noise = Noise{chemistryBench(sample).Noise, 1e-5}
				for _, m := range Methods {
					want, refuses := x.refuses[m.Name]
					if want == "-" {
						continue // not for this chemistry, and not told from the readings: see package assay
					}
					truth := veq
					for _, name := range x.last {
						if name == m.Name {
							truth = veq[len(veq)-1:]
						}
					}
					if m.Name == "preset" {
						truth = []float64{passes(sample, x.preset, veq[len(veq)-1])}
					}
					r := m.Find(&c, opt)
					sane(t, m.Name, r)
					if maybe, found := strings.CutPrefix(want, "?"); found {
						want, refuses = maybe, r.Refused != ""
					}
					if refuses {
						if r.Refused == "" || !strings.Contains(r.Refused, want) {
							t.Errorf("%s: refused with %q, want %q; %+v", m.Name, r.Refused, want, r.Points)
						}
						continue
					}
					z, err := apartFrom(r, truth)
					if err != nil {
						t.Errorf("%s: %v", m.Name, err)
					}
					off[m.Name] = append(off[m.Name], z...)
				}
			}
			for name, z := range off {
				var sum float64
				for _, q := range z {
					sum += q * q
				}
				if rms := math.Sqrt(sum / float64(len(z))); rms > mostOffRMS {
					t.Errorf("%s: off by %.2f times its u over %d runs", name, rms, chemRuns)
				}
			}
		})
	}
}

// apartFrom returns how many standard uncertainties each end point is from the
// truth.
func apartFrom(r Result, truth []float64) ([]float64, error) {
	if r.Refused != "" || len(r.Points) != len(truth) {
		return nil, fmt.Errorf("%d end points, want %d; refused with %q", len(r.Points), len(truth), r.Refused)
	}
	var out []float64
	for i, p := range r.Points {
		z := (float64(p.Volume) - truth[i]) / float64(p.StdUnc)
		if !(math.Abs(z) <= mostOff) || p.StdUnc > 0.5e-3 {
			return nil, fmt.Errorf("end point %d: %.4f ± %.4f mL, the truth is %.4f mL", i+1, p.Volume.Millilitres(), p.StdUnc.Millilitres(), truth[i]*1e3)
		}
		out = append(out, z)
	}
	return out, nil
}

func chemistryBench(s lab.Sample) lab.Bench {
	b := lab.Bench{Noise: 0.5e-3, VolumeNoise: 1e-5}
	if s.Kind() != curve.Potential {
		b.Noise = 0.01
	}
	return b
}

// aroundEach are steps of 1 mL from 0.5 to 50 mL, of 0.1 mL within 1 mL of each
// end point.
func aroundEach(veq []float64) []float64 {
	var out []float64
	for i := 5; i <= 500; {
		out = append(out, float64(i)*1e-4)
		step := 10
		for _, q := range veq {
			if d := float64(i)*1e-4 - q; d > -1.95e-3 && d < 1e-3 {
				step = 1
			}
		}
		i += step
	}
	return out
}

// passes returns where the noise-free curve passes a value, within 5 mL of near.
func passes(s lab.Sample, value, near float64) float64 {
	lo, hi := near-5e-3, near+5e-3
	rising := s.At(hi) > s.At(lo)
	for range 60 {
		if mid := 0.5 * (lo + hi); (s.At(mid) < value) == rising {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// What a preset end point says of the straight line between two readings is
// what that line is off by, over all kinds of titrations and where a value may
// fall, beside 0.001 mL of noise: where the curve bends and where it jumps.
func TestPresetBetweenReadings(t *testing.T) {
	sums, counts := map[bool]float64{}, map[bool]float64{}
	for _, x := range chemistries {
		for seed := range uint64(40) {
			rng := rand.New(rand.NewPCG(seed, 77))
			sample, veq := x.of(1 + 0.02*(rng.Float64()-0.5))
			volumes := aroundEach(veq)
			c := lab.Bench{}.Run(sample, volumes, seed)
			ve := veq[rng.IntN(len(veq))]
			at := 0
			for volumes[at+1] < ve {
				at++
			}
			k := rng.IntN(7) - 3
			at += k
			a, b := c.Readings[at].Value, c.Readings[at+1].Value
			value := a + rng.Float64()*(b-a)
			r := preset(&c, Options{Preset: []float64{value}, Noise: Noise{1e-6, 1e-6}})
			if len(r.Points) != 1 {
				t.Fatalf("%s: %q", x.name, r.Refused)
			}
			z := (float64(r.Points[0].Volume) - passes(sample, value, ve)) / float64(r.Points[0].StdUnc)
			sums[k == 0], counts[k == 0] = sums[k == 0]+z*z, counts[k == 0]+1
		}
	}
	for steepest, sum := range sums {
		if rms := math.Sqrt(sum / counts[steepest]); rms < 0.6 || rms > 1.2 {
			t.Errorf("steepest interval %t: off by %.2f times u over %g values", steepest, rms, counts[steepest])
		}
	}
}

// A detector's reading, linear on either side, is for the pair of lines, and
// for nothing else.
func TestChemistriesDetector(t *testing.T) {
	for _, sign := range []float64{1, -1} {
		absorbance := lab.Response{What: curve.Potential, Of: func(v float64) float64 {
			return sign * (0.2 + 20*math.Max(0, v-0.025))
		}}
		b := lab.Bench{Noise: 1e-3, VolumeNoise: 1e-5}
		var volumes []float64
		for i := 1; i <= 50; i++ {
			volumes = append(volumes, float64(i)*1e-3)
		}
		c := b.Run(absorbance, volumes, 4)
		for _, m := range Methods {
			r := m.Find(&c, Options{V0: 0.05, Noise: Noise{1e-3, 1e-5}})
			if m.Name == "straight-line-pair" {
				if _, err := apartFrom(r, []float64{0.025}); err != nil {
					t.Error(err)
				}
			} else if r.Refused == "" {
				t.Errorf("%s gives %+v on two straight lines", m.Name, r.Points)
			}
		}
	}
}
