package main

import (
	"bufio"
	"fmt"
	"math"
	"os"

	"github.com/rogpeppe/go-internal/testscript"

	"meniscus/curve"
	"meniscus/internal/lab"
)

// bench is an electrode with an offset and 98.5 % of the slope, 0.5 mV and
// 0.01 mL of noise.
var bench = lab.Bench{Offset: -0.21, SlopeError: -0.015, Noise: 0.5e-3, VolumeNoise: 1e-5}

// samples are what the command readings of the scripts can titrate. Volumes of
// equivalence are 25 mL, but for acetic acid's 20.
var samples = map[string]func() curve.Curve{
	"iron-cerium": func() curve.Curve { return bench.Run(lab.IronCerium(), lab.DefaultPlan(0.025).Volumes(), 11) },
	// again, with other noise, and a titration without iron: 0.5 mL.
	"iron-cerium-again": func() curve.Curve { return bench.Run(lab.IronCerium(), lab.DefaultPlan(0.025).Volumes(), 21) },
	"iron-blank": func() curve.Curve {
		var volumes []float64
		for i := range 40 {
			volumes = append(volumes, 5e-5*float64(i))
		}
		return lab.Bench{Noise: 0.5e-3}.Run(lab.IronCerium().WithEquivalence(0.0005), volumes, 22)
	},
	// cerium(IV) in the flask, iron(II) in the burette: the curve falls.
	"cerium-iron": func() curve.Curve {
		r := lab.IronCerium()
		r.Titrand, r.Titrant = r.Titrant, r.Titrand
		return bench.Run(r, lab.DefaultPlan(0.025).Volumes(), 12)
	},
	"iron-permanganate": func() curve.Curve {
		return bench.Run(lab.IronPermanganate(0), lab.DefaultPlan(0.025).Volumes(), 13)
	},
	// an electrode read before it had settled, and iron that was old
	"lagging": func() curve.Curve {
		b := bench
		b.Lag, b.Offset = 0.1, -0.207
		return b.Run(lab.IronCerium(), lab.DefaultPlan(0.025).Volumes(), 21)
	},
	"half-oxidised": func() curve.Curve {
		r, b := lab.IronCerium(), bench
		r.Titrand.Oxidised, b.Offset = 0.03, -0.207
		return b.Run(r, lab.DefaultPlan(0.025).Volumes(), 22)
	},
	"carbonate": func() curve.Curve {
		a := lab.Acid{PKa: []float64{4.757}, Conc: 0.1, V0: 0.020, TitrantConc: 0.1, Carbonate: 1e-3}
		return lab.Bench{Noise: 0.005, VolumeNoise: 1e-5}.Run(a, lab.DefaultPlan(0.020).Volumes(), 23)
	},
	"acetic-acid": func() curve.Curve {
		a := lab.Acid{PKa: []float64{4.757}, Conc: 0.1, V0: 0.020, TitrantConc: 0.1}
		return lab.Bench{Noise: 0.01, VolumeNoise: 1e-5}.Run(a, lab.DefaultPlan(0.020).Volumes(), 14)
	},
	// carbonate, both of whose steps show: 15 and 30 mL
	"soda": func() curve.Curve {
		a := lab.Acid{PKa: []float64{6.352, 10.329}, Conc: 0.03, Strong: -0.06, V0: 0.050, TitrantConc: -0.1}
		var volumes []float64
		for i := range 160 {
			volumes = append(volumes, 2.5e-4*float64(i+1))
		}
		return lab.Bench{Noise: 0.01, VolumeNoise: 1e-5}.Run(a, volumes, 9)
	},
	// the titration stopped at 80 % of the way
	"stopped": func() curve.Curve {
		var volumes []float64
		for i := range 20 {
			volumes = append(volumes, 1e-3*float64(i+1))
		}
		return lab.Bench{Noise: 3e-3}.Run(lab.IronCerium(), volumes, 5)
	},
	// without noise, each millilitre: an electrode of 98 % and of 95 %, and 1 %
	// of the iron oxidised before
	"slope-98":      func() curve.Curve { return each(lab.Bench{SlopeError: -0.02}, 0) },
	"slope-95":      func() curve.Curve { return each(lab.Bench{SlopeError: -0.05}, 0) },
	"oxidised-part": func() curve.Curve { return each(lab.Bench{}, 0.01) },
	"chloride-silver": func() curve.Curve {
		s := lab.Silver{Halides: []lab.Halide{{Conc: 0.05, PKsp: 9.752}}, V0: 0.050, TitrantConc: 0.1, E0: 0.7993 - 0.241}
		return lab.Bench{Noise: 0.5e-3, VolumeNoise: 1e-5}.Run(s, lab.DefaultPlan(0.025).Volumes(), 15)
	},
}

// each titrates iron that takes 25 mL, a part of it oxidised before, reading at
// every millilitre.
func each(b lab.Bench, oxidised float64) curve.Curve {
	r := lab.IronCerium()
	r.Conc /= 1 - oxidised
	r.Titrand.Oxidised = oxidised
	return b.Run(r, lab.Plan{Expected: 0.025, Fine: 1e-3, Coarse: 1e-3, First: 1e-3, Last: 0.050}.Volumes(), 1)
}

func readingsCmd(ts *testscript.TestScript, neg bool, args []string) {
	usage(ts, !neg && len(args) == 2 && samples[args[0]] != nil, "readings NAME FILE")
	c := samples[args[0]]()
	f, err := os.Create(ts.MkAbs(args[1]))
	ts.Check(err)
	if c.Kind == curve.PH {
		fmt.Fprintln(f, "volume (mL),pH")
	} else {
		fmt.Fprintln(f, "volume (mL),potential (mV)")
	}
	for _, r := range c.Readings {
		y := r.Value
		if c.Kind == curve.Potential {
			y *= 1e3
		}
		fmt.Fprintf(f, "%.3f,%.3f\n", r.Volume.Millilitres(), y)
	}
	ts.Check(f.Close())
}

// millionCmd writes exact potentials of iron(II) with cerium(IV) in the two
// regions of the curve, by their Nernst equations, V_eq = 22.00005 mL.
func millionCmd(ts *testscript.TestScript, neg bool, args []string) {
	usage(ts, !neg && len(args) == 1, "million FILE")
	f, err := os.Create(ts.MkAbs(args[0]))
	ts.Check(err)
	w := bufio.NewWriter(f)
	fmt.Fprintln(w, "V/mL,E/mV")
	const ve, rtf = 22.00005, 25.693
	for i := range 1_000_000 {
		v := 0.05 + float64(i)*44e-6
		e := 680 + rtf*math.Log(v/(ve-v))
		if v > ve {
			e = 1440 + rtf*math.Log(v/ve-1)
		}
		fmt.Fprintf(w, "%.6f,%.3f\n", v, e)
	}
	ts.Check(w.Flush())
	ts.Check(f.Close())
}
