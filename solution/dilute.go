package solution

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"meniscus/uncertainty"
	"meniscus/unit"
	"meniscus/volumetric"
)

// A Stock is a solution to dilute, with its standard uncertainty.
type Stock struct{ Conc, U unit.Concentration }

// A Dilution is a way to dilute with glassware that exists.
type Dilution struct {
	Kind   volumetric.Kind // pipette or burette
	Take   unit.Volume     // of the stock, in all
	Fills  int             // of the pipette
	Flask  unit.Volume
	Off    float64 // relative deviation from what was wanted
	Budget *uncertainty.Budget
}

// mostOff is the largest relative deviation that is offered.
const mostOff = 0.1

// A DilutionError says that no pipette and flask bring a stock to what is
// wanted in one step.
type DilutionError struct {
	Stock, Want unit.Concentration
	Between     unit.Concentration // for two steps; 0 where diluting is not the way
}

func (e *DilutionError) Error() string {
	if e.Between == 0 {
		return fmt.Sprintf("a stock of %.4g mol/L cannot be diluted to %.4g mol/L: take a stronger one, or weigh", float64(e.Stock), float64(e.Want))
	}
	return fmt.Sprintf("no pipette and flask dilute %.4g mol/L to %.4g mol/L in one step: dilute to about %.2g mol/L first, and that again", float64(e.Stock), float64(e.Want), float64(e.Between))
}

// Dilute returns ways to dilute a stock to a concentration, at least volume of
// it, the best first: nearest to what is wanted (to 0.1 %), then the smaller
// flask, then the least uncertain. Class A ware.
func Dilute(s Stock, want unit.Concentration, volume unit.Volume) ([]Dilution, error) {
	if !(want > 0) || !(s.Conc > want) {
		return nil, &DilutionError{Stock: s.Conc, Want: want}
	}
	var list []Dilution
	flasks := classA(volumetric.Flask)
	for _, p := range classA(volumetric.Pipette) {
		for _, f := range flasks {
			if f.Capacity < volume*(1-1e-9) || f.Capacity > 4*volume {
				continue
			}
			for fills := 1; fills <= 2; fills++ {
				take := p.Capacity * unit.Volume(fills)
				off := float64(s.Conc)*float64(take)/float64(f.Capacity)/float64(want) - 1
				if math.Abs(off) > mostOff || take >= f.Capacity {
					continue
				}
				d, err := diluted(s, p, f, fills)
				if err != nil {
					return nil, err
				}
				d.Off = off
				list = append(list, d)
			}
		}
	}
	if d, ok, err := byBurette(s, want, volume); err != nil {
		return nil, err
	} else if ok {
		list = append(list, d)
	}
	if len(list) == 0 {
		return nil, &DilutionError{s.Conc, want, unit.Concentration(math.Sqrt(float64(s.Conc) * float64(want)))}
	}
	slices.SortStableFunc(list, func(a, b Dilution) int {
		return cmp.Or(cmp.Compare(math.Round(1000*math.Abs(a.Off)), math.Round(1000*math.Abs(b.Off))), cmp.Compare(a.Flask, b.Flask),
			cmp.Compare(a.Budget.U/a.Budget.X, b.Budget.U/b.Budget.X))
	})
	return list, nil
}

// classA lists the ware of class A by capacity, each once, with the limit that is
// the first held for it.
func classA(kind volumetric.Kind) []volumetric.Limit {
	var list []volumetric.Limit
	for _, l := range volumetric.Limits() {
		if l.Kind == kind && l.Class == "A" && !slices.ContainsFunc(list, func(o volumetric.Limit) bool { return o.Capacity == l.Capacity }) {
			list = append(list, l)
		}
	}
	return list
}

// fill is the relative standard deviation of filling to a mark, as in Weighed.
const fill = 2e-4

// diluted is one pipette, filled so often, into one flask. All fillings share
// the error of the mark; each has its own reading. Stock and flask are at one
// temperature, which then cancels.
func diluted(s Stock, p, f volumetric.Limit, fills int) (Dilution, error) {
	up, err := p.StdUnc("")
	if err != nil {
		return Dilution{}, err
	}
	uf, err := f.StdUnc("")
	if err != nil {
		return Dilution{}, err
	}
	n := float64(fills)
	m := uncertainty.Model{
		Title: "dilution", Measurand: "c", Unit: "mol/L", Equations: "c = c_stock * (n * V_p + V_r) / (V_f + V_fill)",
		Inputs: []uncertainty.Input{
			input("c_stock", "mol/L", "stock", float64(s.Conc), float64(s.U)), input("n", "1", "fillings", n, 0),
			input("V_p", "L", "mark of the pipette, class A", float64(p.Capacity), float64(up)),
			input("V_r", "L", "filling the pipette", 0, math.Sqrt(n)*fill*float64(p.Capacity)),
			input("V_f", "L", "mark of the flask, class A", float64(f.Capacity), float64(uf)),
			input("V_fill", "L", "filling the flask", 0, fill*float64(f.Capacity)),
		},
	}
	b, err := m.Propagate()
	return Dilution{Kind: volumetric.Pipette, Take: p.Capacity * unit.Volume(fills), Fills: fills, Flask: f.Capacity, Budget: b}, err
}

// buretteStep is the smallest division that is read.
const buretteStep = 0.05 * unit.Millilitre

// byBurette delivers the exact volume from a 50 mL burette, to half a division.
func byBurette(s Stock, want unit.Concentration, volume unit.Volume) (d Dilution, ok bool, err error) {
	flask, ok := FlaskFor(volume)
	if !ok {
		return d, false, nil
	}
	take := unit.Volume(math.Round(float64(want)*float64(flask)/float64(s.Conc)/float64(buretteStep))) * buretteStep
	if take < 10*unit.Millilitre || take > 50*unit.Millilitre || take >= flask {
		return d, false, nil
	}
	ub, err := buretteU(50 * unit.Millilitre)
	if err != nil {
		return d, false, err
	}
	f, err := volumetric.FindLimit(volumetric.Flask, flask, 0, "A", "")
	if err != nil {
		return d, false, err
	}
	uf, err := f.StdUnc("")
	if err != nil {
		return d, false, err
	}
	m := uncertainty.Model{
		Title: "dilution", Measurand: "c", Unit: "mol/L", Equations: "c = c_stock * V_b / (V_f + V_fill)",
		Inputs: []uncertainty.Input{
			input("c_stock", "mol/L", "stock", float64(s.Conc), float64(s.U)),
			input("V_b", "L", "burette of 50 mL, class A", float64(take), float64(ub)),
			input("V_f", "L", "mark of the flask, class A", float64(flask), float64(uf)),
			input("V_fill", "L", "filling the flask", 0, fill*float64(flask)),
		},
	}
	b, err := m.Propagate()
	if err != nil {
		return d, false, err
	}
	return Dilution{Kind: volumetric.Burette, Take: take, Flask: flask, Off: b.X/float64(want) - 1, Budget: b}, true, nil
}

// readingU is the standard uncertainty of one reading of a burette, twice for
// one volume (the end points of QUAM:2012, example A2, are read like this).
const readingU = 0.01 * unit.Millilitre

func buretteU(capacity unit.Volume) (unit.Volume, error) {
	l, err := volumetric.FindLimit(volumetric.Burette, capacity, 0, "A", "")
	if err != nil {
		return 0, err
	}
	u, err := l.StdUnc("")
	if err != nil {
		return 0, err
	}
	shares, err := volumetric.Delivery{Calibration: u, Reading: readingU, Readings: 2}.Uncertainty(capacity)
	return shares.Total, err
}

// ClassA returns the standard uncertainty of a volume from ware of class A: the
// mark and the filling; of a burette the smallest that holds it and two readings.
func ClassA(kind volumetric.Kind, v unit.Volume) (u unit.Volume, ware string, err error) {
	if kind == volumetric.Burette {
		capacity := 50 * unit.Millilitre
		if v > capacity {
			return 0, "", fmt.Errorf("%g mL is more than one filling of a 50 mL burette: state the uncertainty", v.Millilitres())
		}
		u, err = buretteU(capacity)
		return u, "50 mL burette", err
	}
	l, err := volumetric.FindLimit(kind, v, 0, "A", "")
	if err != nil {
		return 0, "", err
	}
	if u, err = l.StdUnc(""); err != nil {
		return 0, "", err
	}
	return unit.Volume(math.Hypot(float64(u), fill*float64(v))), fmt.Sprintf("%g mL %s", v.Millilitres(), kind), nil
}

// TakeWords says what to take of the stock.
func (d Dilution) TakeWords() string {
	switch {
	case d.Kind == volumetric.Burette:
		return fmt.Sprintf("%.2f mL from a burette", d.Take.Millilitres())
	case d.Fills > 1:
		return fmt.Sprintf("%d × %g mL by pipette", d.Fills, (d.Take / unit.Volume(d.Fills)).Millilitres())
	}
	return fmt.Sprintf("%g mL by pipette", d.Take.Millilitres())
}
