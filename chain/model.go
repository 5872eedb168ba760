package chain

import (
	"fmt"
	"math"
	"strings"

	"meniscus/uncertainty"
	"meniscus/unit"
	"meniscus/volumetric"
)

func millilitres(v float64) unit.Volume { return unit.Volume(v * 1e-3) }

// inML turns litres into the millilitres that were written.
func inML(v float64) float64 { return math.Round(v*1e12) / 1e9 }

// EnoughRuns is from how many runs their scatter stands for the repeatability
// of weighing, delivering and finding the end point, in place of what is stated
// for each of them.
const EnoughRuns = 3

func (s *Shelf) wareNamed(name string) *Ware {
	return find(s.Ware, name, func(w Ware) string { return w.Name })
}

func (s *Shelf) solution(name string) *Solution {
	return find(s.Solutions, name, func(x Solution) string { return x.Name })
}

// strength is the concentration of a solution in mol/L, with the equations
// that lead to it.
func (b *builder) strength(name string) (expr, error) {
	defer b.within(name)()
	if e, ok := b.have[b.names.name("c", name+b.scope)]; ok {
		return e, nil
	}
	s := b.s.solution(name)
	b.path = append(b.path, name)
	switch {
	case s.Stated != nil:
		e := b.input("c", name, normal(s.Stated.X, s.Stated.U, "mol/L", "as stated: "+s.Stated.Text))
		return e, nil
	case s.Weighed != nil:
		w := s.Weighed
		amount := times(b.weighed(w.Substance, name, w.Mass, w.Balance, true), constant(w.Gives))
		return b.define("c", name, over(amount, b.filled(w.Flask, name))), nil
	case s.Diluted != nil:
		d := s.Diluted
		c, err := b.strength(d.From)
		if err != nil {
			return c, err
		}
		return b.define("c", name, over(times(c, b.volumeOf(b.s.wareNamed(d.Pipette))), b.filled(d.Flask, name))), nil
	}
	return b.mean("c", name, s.Standardised, name, nil)
}

// filled is a flask made up to its mark for one solution: the flask's own volume
// and how well this filling hit the mark.
func (b *builder) filled(flask, solution string) expr {
	w := b.s.wareNamed(flask)
	v := b.volumeOf(w)
	if w.Reading > 0 {
		v = bracketed(plus(v, b.input("fill", solution, normal(0, float64(w.Reading)*1e3, "mL", "filling "+w.Name+" to the mark"))))
	}
	return v
}

// weighed is an amount in mmol from a mass: m P 1000/M, with the buoyancy of air
// where the density is known.
func (b *builder) weighed(substance, label string, mass Value, balance string, repeatable bool) expr {
	s := find(b.s.Substances, substance, func(x Substance) string { return x.Name })
	m := b.mass(label, mass, balance, repeatable)
	factor := 1.0
	if s.Density > 0 {
		factor = volumetric.Buoyancy(s.Density*1e3, volumetric.StandardAir, volumetric.WeightsDensity)
		factor = math.Round(factor*1e7) / 1e7
	}
	purity := constant(s.Purity.X)
	if s.Purity.U > 0 {
		purity = b.input("P", s.Name, normal(s.Purity.X, s.Purity.U, "", "purity of "+s.Name+": "+s.Purity.Text))
	}
	molar := b.input("M", s.Name, normal(float64(s.Molar.Value), float64(s.Molar.StdUnc), "g/mol", "molar mass of "+s.Species.Name+", CIAAW 2021"))
	b.path = append(b.path, substance)
	return over(times(constant(1000), m, purity, constant(factor)), molar)
}

func (b *builder) mass(label string, mass Value, balance string, repeatable bool) expr {
	u, note := mass.U, "as stated"
	if w := b.s.wareNamed(balance); w != nil && !mass.Stated {
		u, note = float64(w.Linearity), balance+", linearity of "+w.Note
		if repeatable {
			u, note = math.Hypot(u, float64(w.Repeatability)), balance+", "+w.Note
		}
	}
	return b.input("m", label, normal(mass.X, u, "g", "mass, "+note))
}

// A Scatter is what the runs of a titration say of one another.
type Scatter struct {
	Values []float64 // of the runs that count, in the unit of the result
	Mean   float64
	SD     float64 // NaN for one run
	Used   bool    // the scatter stands for the repeatability
	Left   []string
}

// mean is the mean of the runs of a titration that finds unknown, or the content
// that report expresses. Type A and Type B are not both counted: with EnoughRuns
// the scatter is the repeatability, with fewer the statements are.
func (b *builder) mean(prefix, name string, t *Titration, unknown string, report *Report) (expr, error) {
	var values []expr
	sc := Scatter{}
	n := 0
	for _, q := range t.Runs {
		if q.Left == "" {
			n++
		}
	}
	sc.Used = n >= EnoughRuns
	for i, q := range t.Runs {
		label := fmt.Sprintf("%s %d", name, i+1)
		if q.Left != "" {
			sc.Left = append(sc.Left, fmt.Sprintf("run %d: %s", i+1, q.Left))
			continue
		}
		e, err := b.run(t, q, label, unknown, report, !sc.Used)
		if err != nil {
			return e, fmt.Errorf("%s, run %d: %w", name, i+1, err)
		}
		if n > 1 {
			e = b.define(prefix+"_run", label, e)
		}
		values = append(values, e)
		sc.Values = append(sc.Values, e.x)
	}
	sc.Mean, sc.SD = uncertainty.MeanSD(sc.Values)
	b.runs[name] = sc
	sum := values[0]
	for _, e := range values[1:] {
		sum = plus(sum, e)
	}
	if n > 1 {
		sum = over(bracketed(sum), constant(float64(n)))
	}
	if sc.Used && sc.SD > 0 {
		in := normal(0, sc.SD/math.Sqrt(float64(n)), "", fmt.Sprintf("scatter of %d runs of %s", n, name))
		in.DoF, in.Type = float64(n-1), "A"
		sum = plus(sum, b.input("rep", name, in))
	}
	return b.define(prefix, name, sum), nil
}

// run is what one titration gives.
func (b *builder) run(t *Titration, q Run, label, unknown string, report *Report, repeatable bool) (expr, error) {
	net, err := b.net(t, q, label, repeatable)
	if err != nil {
		return net, err
	}
	k := t.Flask
	ratio := over(constant(t.Titrand), constant(t.PerTitrant))
	if unknown == t.Titrant && unknown != "" {
		flask, err := b.inFlask(t, q, label, repeatable)
		if err != nil {
			return flask, err
		}
		return over(flask, bracketed(times(ratio, net))), nil
	}
	c, err := b.strength(t.Titrant)
	if err != nil {
		return c, err
	}
	found := times(ratio, c, net) // mmol of titrand
	if k.Excess != nil {
		e, err := b.strength(k.Excess.Solution)
		if err != nil {
			return e, err
		}
		given := times(e, b.volumeOf(b.s.wareNamed(k.Excess.Pipette)))
		found = over(bracketed(minus(given, found)), constant(t.PerExcess))
		if !(found.x > 0) {
			return found, fmt.Errorf("the remainder titrated is more than the excess of %s that was added: nothing is left for the analyte", k.Excess.Solution)
		}
	}
	if k.Solution != "" {
		return over(found, b.volumeOf(b.s.wareNamed(k.Pipette))), nil
	}
	return b.content(t, q, label, report, found, repeatable), nil
}

// inFlask is the known amount in the flask in mmol.
func (b *builder) inFlask(t *Titration, q Run, label string, repeatable bool) (expr, error) {
	if k := t.Flask; k.Solution == "" {
		return times(b.weighed(k.Substance, label, q.Mass, k.Balance, repeatable), constant(k.Gives)), nil
	}
	c, err := b.strength(t.Flask.Solution)
	return times(c, b.volumeOf(b.s.wareNamed(t.Flask.Pipette))), err
}

// net is the volume of titrant used by what is in the flask, in mL.
func (b *builder) net(t *Titration, q Run, label string, repeatable bool) (expr, error) {
	w := b.s.wareNamed(t.Burette)
	if !(q.Volume.X > 0) {
		return expr{}, fmt.Errorf("has no volume yet: its readings %s have to be evaluated first", q.Readings)
	}
	in := normal(inML(q.Volume.X), 0, "mL", "volume at the equivalence point")
	if repeatable {
		switch {
		case q.Volume.U > 0:
			in.Stated.Width, in.Note = q.Volume.U*1e3, in.Note+", as stated"
		case w.Reading > 0:
			in.Stated.Width, in.Note = float64(w.Reading)*1e3, in.Note+", reading of "+w.Name
		default:
			b.note("%s: no uncertainty is stated for finding the end point, and %d runs are too few to show it (from %d on their scatter is used)", label, len(t.Runs), EnoughRuns)
		}
	}
	v := b.delivered(w, b.input("V", "run "+label, in), label)
	name := strings.TrimRight(label, "0123456789")
	switch {
	case len(t.Blanks) > 0:
		list := make([]float64, len(t.Blanks))
		for i, x := range t.Blanks {
			list[i] = inML(x)
		}
		v = bracketed(minus(v, b.input("blank", name, uncertainty.Input{Readings: list, Unit: "mL", Note: fmt.Sprintf("mean of %d blanks", len(list))})))
	case t.Blank.X != 0 || t.Blank.U != 0:
		v = bracketed(minus(v, b.input("blank", name, normal(inML(t.Blank.X), t.Blank.U*1e3, "mL", "blank, as stated"))))
	}
	if !(v.x > 0) {
		return v, fmt.Errorf("the blank is not below the volume of the run")
	}
	return v, nil
}

// content expresses the amount found as the report wants it.
func (b *builder) content(t *Titration, q Run, label string, p *Report, found expr, repeatable bool) expr {
	k := t.Flask
	if k.MadeUpTo != "" {
		found = over(times(found, b.volumeOf(b.s.wareNamed(k.MadeUpTo))), b.volumeOf(b.s.wareNamed(k.Aliquot)))
	}
	if p.PerUnit != 1 {
		found = over(found, constant(p.PerUnit))
	}
	factor, perVolume, amount := p.factor()
	if p.Molar > 0 && !amount {
		found = times(found, b.input("M", p.Name, normal(p.Molar, p.MolarU, "g/mol", "molar mass of "+p.Name+", CIAAW 2021")))
	}
	if perVolume { // mmol/mL is mol/L
		return times(over(found, b.volumeOf(b.s.wareNamed(k.Pipette))), constant(factor))
	}
	return over(times(constant(factor/1000), found), b.mass(label, q.Mass, k.Balance, repeatable))
}

func (p *Report) factor() (factor float64, perVolume, amount bool) {
	for _, u := range reportUnits {
		if u.name == p.Unit {
			return u.factor, u.per == "volume", u.amount
		}
	}
	return 1, false, false
}
