package report

import (
	"fmt"
	"math"
	"strings"

	"meniscus/chem"
	"meniscus/solution"
	"meniscus/unit"
)

// A Weighing is the mass of a substance that was put into a solution.
type Weighing struct {
	Of              string // species or formula of the bottle; "" for the first
	Text            string // as it was written, for what is said of it
	Mass, U         unit.Mass
	Purity, PurityU float64 // 0 for a purity taken as 1
}

// A WeighingError reports a mass that cannot have been meant.
type WeighingError struct{ Reason string }

func (e *WeighingError) Error() string { return e.Reason }

func unmeant(format string, args ...any) error {
	return &WeighingError{fmt.Sprintf(format, args...)}
}

// Weigh gives the exact concentration of each solution whose masses are known: a
// mass for each lot.
func (p *Preparation) Weigh(list []Weighing) error {
	lots := map[*Prepared][]solution.Weighed{}
	for _, w := range list {
		s, q, err := p.findPortion(w.Of)
		if err != nil {
			return err
		}
		if q.Volume > 0 {
			return unmeant("%s is measured as a liquid; its strength comes from a standardisation", q.Reagent.Formula)
		}
		if err := inFlask(w.Text, s, q); err != nil {
			return err
		}
		if err := plausible(w.Text, q, w.Mass, w.U); err != nil {
			return err
		}
		s.ExactSaid = w.purityWords(q)
		lots[s] = append(lots[s], solution.Weighed{
			Mass: w.Mass, MassU: w.U, Purity: w.Purity, PurityU: w.PurityU, MolarMass: q.MolarMass, PerUnit: q.PerUnit,
			Density: q.Reagent.Density.Value, Volume: s.Recipe.Wanted.Volume,
		})
		if most := max(1, s.Lots); len(lots[s]) > most {
			return unmeant("%q: %d masses of it, and it is made %s", w.Text, len(lots[s]), times(most))
		}
	}
	for s, masses := range lots {
		if err := byMass(s, masses); err != nil {
			return err
		}
	}
	return nil
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}

// purityWords is what was assumed of the substance.
func (w Weighing) purityWords(q solution.Portion) string {
	said := "purity taken as 100 %"
	if w.Purity > 0 {
		said = fmt.Sprintf("purity %.4g %%", 100*w.Purity)
		if w.PurityU == 0 {
			said += ", without an uncertainty"
		}
	}
	if q.Reagent.Damp != "" {
		said += "; but it is no primary standard: " + q.Reagent.Damp
	}
	return said
}

// byMass computes each lot, and what they are poured together.
func byMass(s *Prepared, list []solution.Weighed) (err error) {
	if s.Lots > 1 {
		for _, w := range list {
			e, err := w.Concentration()
			if err != nil {
				return fmt.Errorf("from the mass: %w", err)
			}
			s.ByLot = append(s.ByLot, e)
		}
		if s.Flasks != len(list) {
			return nil // stand alone, or not all are made yet
		}
	}
	if s.Exact, err = solution.Together(list).Concentration(); err != nil {
		return fmt.Errorf("from the mass: %w", err)
	}
	return nil
}

// inFlask refuses a mass for what no volumetric flask holds, and says how it can
// be had by mass.
func inFlask(text string, s *Prepared, q solution.Portion) error {
	v := s.Recipe.Wanted.Volume
	size, ok := solution.FlaskFor(v)
	switch {
	case ok && size <= v*(1+1e-9):
		return nil
	case ok:
		return fmt.Errorf("%s: a mass gives the concentration only in a volumetric flask, and none holds %.6g mL: make %.6g mL, with %.4f g", text, v.Millilitres(), size.Millilitres(), float64(q.Mass)*float64(size/v))
	}
	n := math.Ceil(float64(v/size) - 1e-9)
	return fmt.Errorf("%s: a mass gives the concentration only in a volumetric flask, and %.6g L is made in a carboy: standardise it, or make it in %.0f lots of %.6g mL with %.4f g each, and give the mass of each lot: --make %q --volume %q --weighed %q",
		text, float64(v), n, size.Millilitres(), float64(q.Mass)*float64(size/v), fmt.Sprintf("%.6g mol/L %s", float64(q.Conc), q.For), fmt.Sprintf("%.6g mL", size.Millilitres()), fmt.Sprintf("%.4f g", float64(q.Mass)*float64(size/v)))
}

// plausible refuses a mass that cannot have been meant: a digit or a unit slipped.
func plausible(text string, q solution.Portion, mass, u unit.Mass) error {
	if q.Volume == 0 && !(mass >= q.Mass/2 && mass <= 2*q.Mass) {
		return unmeant("%q: of %s %.4f g are meant for %.4g mol/L, and half to twice of that is taken for a weighing; where so much was really weighed, another concentration is meant: say that one", text, q.Reagent.Formula, float64(q.Mass), float64(q.Conc))
	}
	if u > mass/10 {
		return unmeant("%q: an uncertainty of more than a tenth of the mass cannot be meant", text)
	}
	return nil
}

// findPortion finds the solution and the bottle in it by species or formula; ""
// is the first of one.
func (p *Preparation) findPortion(name string) (*Prepared, solution.Portion, error) {
	if name == "" {
		return &p.Solutions[0], p.Solutions[0].Recipe.Portions[0], nil
	}
	want := name
	if s, err := chem.ParseSpecies(name); err == nil {
		want = s.Name
	}
	var have []string
	for i := range p.Solutions {
		for _, q := range p.Solutions[i].Recipe.Portions {
			if q.For == want || q.Reagent.Formula == want {
				return &p.Solutions[i], q, nil
			}
			have = append(have, q.For)
		}
	}
	return nil, solution.Portion{}, unmeant("%s: no solution holds it; have %s", name, strings.Join(have, ", "))
}
