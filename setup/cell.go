package setup

import (
	"math"
	"strings"

	"github.com/goccy/go-yaml"

	"meniscus/chem"
	"meniscus/equilibrium"
	"meniscus/titration"
	"meniscus/unit"
)

func mapping(v any) (yaml.MapSlice, bool) {
	m, ok := v.(yaml.MapSlice)
	return m, ok
}

// electrode reads the cell; what it responds to is settled when the species
// are known.
func (r *reader) electrode() error {
	f, e := &r.f.Electrode, &r.s.Electrode
	e.Slope = 1
	if err := r.indicator(); err != nil {
		return err
	}
	if err := r.reference(); err != nil {
		return err
	}
	var err error
	if e.Offset, err = r.value(f.Offset, unit.DimPotential, "-12.3 mV", "electrode", "offset"); err != nil {
		return err
	}
	e.OffsetGiven = f.Offset != nil
	if f.Slope != nil {
		s, err := r.value(f.Slope, unit.DimFraction, "98.2 %", "electrode", "slope")
		if err != nil {
			return err
		}
		if e.Slope = s.Float(); e.Slope < 0.5 || e.Slope > 1.2 {
			return r.fail([]any{"electrode", "slope"}, "%s is not a plausible slope; it is a share of the theoretical one, such as 98.2 %%", s.Text)
		}
	}
	if f.Standard != nil {
		s, err := r.value(f.Standard, unit.DimPotential, "0.7993 V", "electrode", "standard potential")
		if err != nil {
			return err
		}
		e.StandardV, e.StandardGiven = s.Float(), true
	}
	return r.calibration()
}

// inertIndicators are electrodes that follow the electron activity.
var inertIndicators = []string{"platinum", "gold", "carbon"}

func (r *reader) indicator() error {
	e := &r.s.Electrode
	name := strings.TrimSpace(r.f.Electrode.Indicator)
	e.Indicator = name
	switch low := strings.ToLower(name); low {
	case "", "platinum", "gold", "carbon", "glass":
		e.Indicator = low
		return nil
	case "silver":
		e.Indicator, e.Ion = low, "Ag^+"
		return nil
	}
	sp, err := chem.ParseSpecies(name)
	if err != nil || sp.Charge == 0 {
		return r.fail([]any{"electrode", "indicator"}, "%q is not one of %s, glass, silver, nor an ion such as Ca^2+", name, strings.Join(inertIndicators, ", "))
	}
	e.Ion = sp.Name
	return nil
}

// calibration fits zero and slope of a glass electrode to its buffers.
func (r *reader) calibration() error {
	f, e := r.f.Electrode.Calibration, &r.s.Electrode
	if len(f) == 0 {
		return nil
	}
	if e.Indicator != "glass" {
		return r.fail([]any{"electrode", "calibration"}, "buffers calibrate a glass electrode; the indicator is %q", r.f.Electrode.Indicator)
	}
	ph, mv := make([]float64, len(f)), make([]float64, len(f))
	for i, c := range f {
		var err error
		if ph[i], err = r.number(c.PH, "electrode", "calibration", i, "pH"); err != nil {
			return err
		}
		v, err := r.value(c.Reads, unit.DimPotential, "168 mV", "electrode", "calibration", i, "reads")
		if err != nil {
			return err
		}
		mv[i] = v.Float()
	}
	s := unit.GasConstant * float64(r.s.Temperature) / unit.Faraday * math.Ln10
	slope := e.Slope
	if len(f) > 1 {
		mx, my := mean(ph), mean(mv)
		sxy, sxx := 0.0, 0.0
		for i := range ph {
			sxy += (ph[i] - mx) * (mv[i] - my)
			sxx += (ph[i] - mx) * (ph[i] - mx)
		}
		if sxx == 0 {
			return r.fail([]any{"electrode", "calibration"}, "all buffers have the same pH; two different ones are needed for a slope")
		}
		slope = -sxy / sxx / s
	}
	if slope < 0.80 || slope > 1.10 {
		return r.fail([]any{"electrode", "calibration"}, "these buffers give a slope of %.1f %%; between 95 and 102 %% is usual. Were the buffers swapped, or read in other units?", slope*100)
	}
	if slope < 0.95 || slope > 1.02 {
		r.s.Warnings = append(r.s.Warnings, "the glass electrode's slope is outside the usual 95 to 102 %")
	}
	e.Slope, e.Calibrated = slope, true
	e.StandardV = mean(mv) + slope*s*mean(ph)
	return nil
}

func mean(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s += v
	}
	return s / float64(len(x))
}

// cell settles what the electrode responds to. Where no indicator is named
// the chemistry decides: platinum if electrons move, glass otherwise.
func (r *reader) cell(sys *equilibrium.System) (titration.Cell, error) {
	e := &r.s.Electrode
	if e.Indicator == "" {
		e.Indicator = r.guessIndicator(sys)
	}
	c := titration.Cell{Reference: e.ReferenceV, Offset: e.Offset.Float(), Slope: e.Slope}
	place := []any{"electrode", "indicator"}
	switch {
	case e.Indicator == "glass":
		c.Sensor, c.Species = titration.Glass, sys.Index(chem.Proton)
		if c.Species < 0 {
			return c, r.fail(place, "a glass electrode follows H^+, which is in no reaction here")
		}
		// E = E0' - S pH; without offset or calibration there is no potential.
		c.Known = e.Calibrated || e.OffsetGiven || e.StandardGiven
		c.Standard, c.Reference = e.StandardV, 0
	case e.Ion != "":
		c.Sensor, c.Species = titration.Ion, sys.Index(e.Ion)
		if c.Species < 0 {
			return c, r.fail(place, "an electrode for %s needs a reaction with it; none is here", e.Ion)
		}
		c.Charge = sys.Species[c.Species].Charge
		r.ionStandard(&c)
	default:
		c.Sensor, c.Species, c.Known = titration.Inert, sys.Electron(), true
		if c.Species < 0 {
			return c, r.fail(place, "%s follows a redox couple, but no half-reaction is here", e.Indicator)
		}
	}
	return c, nil
}

// silverStandard is E0 of Ag+ + e- = Ag at 25 °C, from memory.
const silverStandard = 0.7993

func (r *reader) ionStandard(c *titration.Cell) {
	e := &r.s.Electrode
	switch {
	case e.StandardGiven:
		c.Standard, c.Known = e.StandardV, true
	case e.Indicator == "silver":
		c.Standard, c.Known = silverStandard, true
		r.s.Notes = append(r.s.Notes, "silver electrode: E0 = 0.7993 V against SHE (from memory), as none is given")
	case e.OffsetGiven:
		c.Known = true
	}
}

func (r *reader) guessIndicator(sys *equilibrium.System) string {
	if sys.Electron() >= 0 {
		r.s.Notes = append(r.s.Notes, "no indicator electrode is named; platinum is taken")
		return "platinum"
	}
	for _, rx := range r.s.Reactions {
		if rx.parsed.Coefficient("Ag^+").Sign() != 0 {
			r.s.Notes = append(r.s.Notes, "no indicator electrode is named; silver is taken")
			r.s.Electrode.Ion = "Ag^+"
			return "silver"
		}
	}
	if len(r.f.Hold) > 0 {
		for _, c := range r.s.Flask.Contents {
			if i := sys.Index(c.Species); i >= 0 && sys.Species[i].Charge > 1 {
				r.s.Electrode.Ion = c.Species
				r.s.Notes = append(r.s.Notes, "no indicator electrode is named; one for "+c.Species+" is taken")
				return c.Species
			}
		}
	}
	r.s.Notes = append(r.s.Notes, "no indicator electrode is named; glass is taken")
	return "glass"
}
