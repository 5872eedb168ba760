package assay

import (
	"fmt"
	"math"
	"strings"

	"meniscus/constants"
	"meniscus/titration"
	"meniscus/uncertainty"
	"meniscus/unit"
)

// A Medium is one of the tables, beside the formal potentials that were found.
type Medium struct {
	Name    string
	Couples []MediumCouple
	P       float64 // probability of differences as large, if this is the medium
	Stated  bool    // the setup names it
}

// Agrees says whether the potentials found are those of the medium, by what
// both are uncertain.
func (m Medium) Agrees() bool { return m.P >= leastAgreement }

// A MediumCouple is a couple in a medium.
type MediumCouple struct {
	Name         string
	Found, Table float64 // V against SHE
	StdUnc       float64 // of the difference, reference and junction included
	Source       string
}

// leastAgreement is the probability below which a medium is said not to agree.
const leastAgreement = 0.05

// tableDoubt is the ± of a table's formal potential that states none, V: what
// tables differ by where they mean the same. As a rectangular half-width.
const tableDoubt = 0.010

// tablesNear 25 °C their potentials are compared, K.
const tablesNear = 5

// chiShared is chi² of differences with own variances and one that moves them
// all alike: with covariance diag(s²) + c,
//
//	chi² = sum d²/s² - c (sum d/s²)²/(1 + c sum 1/s²)
//
// by the inverse of a matrix changed by rank one (Sherman and Morrison).
func chiShared(d, own []float64, shared float64) float64 {
	var squares, sum, one float64
	for i, x := range d {
		squares, sum, one = squares+x*x/own[i], sum+x/own[i], one+1/own[i]
	}
	return squares - shared*sum*sum/(1+shared*one)
}

// media compares the formal potentials found with those of the tables, medium
// by medium, over as many degrees of freedom as couples. What reference,
// junction and offset are uncertain by moves all couples alike.
func (e *Evaluation) media() {
	found := e.potentialsFound()
	if e.Fit == nil || !e.residualsFit() {
		return // potentials of another curve say nothing about a medium
	}
	if len(found) == 0 || math.Abs(float64(e.Setup.Temperature-unit.Celsius(25))) > tablesNear {
		return
	}
	names, err := constants.Media("")
	if err != nil {
		return
	}
	stated := constants.CleanMedium(e.Setup.Flask.Medium)
	for _, name := range names {
		m := Medium{Name: name, Stated: name == stated}
		var off, own []float64
		shared := 0.0
		for _, r := range found {
			row, ok := tablePotential(r.Name, name)
			if !ok {
				continue
			}
			shared = sharedVariance(r)
			doubt := tableDoubt
			if row.Spread.Known {
				doubt = row.Spread.Value
			}
			doubt = math.Hypot(doubt, e.gainDoubt()*(r.Value-e.Setup.Electrode.ReferenceV))
			s2 := math.Max(r.StdUnc*r.StdUnc-shared, 0) + doubt*doubt/3
			off, own = append(off, r.Value-row.Potential()), append(own, s2)
			m.Couples = append(m.Couples, MediumCouple{r.Name, r.Value, row.Potential(), math.Sqrt(s2 + shared), row.Source.Key})
		}
		if len(m.Couples) == 0 {
			continue
		}
		m.P = 1 - uncertainty.Chi2CDF(chiShared(off, own, shared), float64(len(m.Couples)))
		e.Media = append(e.Media, m)
	}
	e.doubtMedium()
}

// gainDoubt is the part by which all readings may be off: a slope that is not 1
// is taken for the electrode's answer to a ratio, but the gain of a meter would
// show as the same and move every potential by that part.
func (e *Evaluation) gainDoubt() float64 {
	if e.Fit == nil {
		return 0
	}
	for _, q := range e.Fit.Estimates {
		if q.Kind == titration.SlopeFraction {
			return math.Abs(1 - q.Value)
		}
	}
	return 0
}

// potentialsFound has one formal potential for each couple, that of the whole
// curve where there is one.
func (e *Evaluation) potentialsFound() []Result {
	var list []Result
	at := map[string]int{}
	for _, r := range e.FormalPotentials {
		if math.IsNaN(r.Value) || !(r.StdUnc > 0) {
			continue
		}
		if i, ok := at[r.Name]; ok {
			list[i] = r // the whole curve comes last
			continue
		}
		at[r.Name] = len(list)
		list = append(list, r)
	}
	return list
}

func sharedVariance(r Result) float64 {
	var sum float64
	for _, p := range r.Parts {
		if p.Name == partReference || p.Name == partJunction || p.Name == partOffset {
			sum += p.StdUnc * p.StdUnc
		}
	}
	return sum
}

func tablePotential(couple, medium string) (constants.Row, bool) {
	oxidised, reduced, ok := strings.Cut(couple, "/")
	if !ok {
		return constants.Row{}, false
	}
	rows, err := constants.Couple(oxidised, reduced, medium)
	if err != nil || len(rows) == 0 {
		return constants.Row{}, false // not in the tables for this medium
	}
	return rows[0], true
}

// doubtMedium warns where the medium of the setup is not one that the
// potentials found agree with.
func (e *Evaluation) doubtMedium() {
	for _, m := range e.Media {
		if m.Stated && !m.Agrees() {
			text := fmt.Sprintf("the formal potentials found are not those of the tables for %s", m.Name)
			if names := e.MediaThat(true); len(names) > 0 {
				text += "; they agree with those for " + strings.Join(names, ", ")
			}
			e.warnf("%s: look at the acid, what binds either form, and the reference electrode", text)
		}
	}
}

// MediaThat names the media that agree with all potentials found, or that
// disagree. Where one holds more of the couples, those with fewer are not
// counted as agreeing.
func (e *Evaluation) MediaThat(agree bool) []string {
	most := 0
	for _, m := range e.Media {
		most = max(most, len(m.Couples))
	}
	var list []string
	for _, m := range e.Media {
		if m.Agrees() == agree && (!agree || len(m.Couples) == most) {
			list = append(list, m.Name)
		}
	}
	return list
}
