package assay

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"meniscus/curve"
	"meniscus/endpoint"
	"meniscus/titration"
)

// An expectedJump is an equivalence point that shows on the curve of the setup.
type expectedJump struct {
	species         string
	volume, reading float64 // by the guesses of the setup; reading NaN where none is predicted
}

// jumps compares how many jumps the readings show with how many the setup
// expects, where its curve does not describe the readings: then something is in
// the sample that the setup does not know, or the other way round, and what
// else a fit would find is beside the point.
func (d *diagnosis) jumps() bool {
	e := d.e
	if e.Fit != nil && e.residualsFit() && !e.poorFit() {
		return false
	}
	seen, expected := e.seenJumps(), e.expectedOfSetup()
	if len(seen) == 0 || len(expected) == 0 || len(seen) == len(expected) {
		return false
	}
	f := Finding{Size: float64(len(seen)), StdUnc: math.NaN(), Unit: "jumps", P: math.NaN(), Confidence: Likely}
	var at, wanted []string
	for _, p := range seen {
		at = append(at, fmt.Sprintf("%s mL (%s)", measure(p.Volume.Millilitres(), math.Max(p.StdUnc.Millilitres(), 1e-3)), e.readingWords(p.Value)))
	}
	for _, x := range expected {
		wanted = append(wanted, fmt.Sprintf("%s used up at about %s mL", x.species, figures(1e3*x.volume)))
	}
	f.Evidence = fmt.Sprintf("the readings jump at %s; the setup expects %s", strings.Join(at, " and "), strings.Join(wanted, " and "))
	if len(seen) > len(expected) {
		d.more(&f, seen)
	} else {
		d.fewer(&f, seen, expected)
	}
	d.add(f)
	return true
}

// seenJumps are those that stand out of the readings, whatever the setup says.
func (e *Evaluation) seenJumps() []endpoint.EndPoint {
	m, ok := endpoint.Find("steepest-interval")
	if !ok {
		return nil
	}
	opt := e.endpointOptions()
	opt.Expected = 0
	return m.Find(e.Curve, opt).Points
}

func (e *Evaluation) expectedOfSetup() []expectedJump {
	output := map[curve.Kind]titration.Output{curve.Potential: titration.Potential, curve.PH: titration.PH, curve.PIon: titration.PIon}[e.Curve.Kind]
	t := *e.Setup.Titration
	t.Cell.Known = true
	m, err := t.NewModel(nil, output)
	if err != nil {
		return nil
	}
	list, err := m.Equivalences(1e4)
	if err != nil {
		return nil
	}
	var out []expectedJump
	for i, q := range list {
		if q.Volume <= 0 || !m.Shows(list, i) {
			continue
		}
		x := expectedJump{q.Species, q.Volume, math.NaN()}
		if y, _, ok, err := m.Eval(q.Volume, nil); err == nil && ok {
			x.reading = y
		}
		out = append(out, x)
	}
	return out
}

// readingWords writes a reading as it was read.
func (e *Evaluation) readingWords(y float64) string {
	if e.Curve.Kind == curve.Potential {
		return fmt.Sprintf("%.0f mV", 1e3*y)
	}
	return fmt.Sprintf("%v %.1f", e.Curve.Kind, y)
}

// more jumps than expected: what lies between two of them is one substance or
// step, and half way through it the curve reads what names it.
func (d *diagnosis) more(f *Finding, seen []endpoint.EndPoint) {
	e := d.e
	f.Cause, f.Title = "more jumps", fmt.Sprintf("the curve jumps %s, where the setup expects fewer", often(len(seen)))
	var halves []string
	last := 0.0
	for _, p := range seen {
		half := (last + float64(p.Volume)) / 2
		if y, ok := e.readAt(half); ok {
			halves = append(halves, fmt.Sprintf("%s at %s mL", e.readingWords(y), figures(1e3*half)))
		}
		last = float64(p.Volume)
	}
	names := "which tells the ions apart by the constants of what they form"
	causes := []string{"a second substance in the sample that the titrant takes", "a further step of the same substance that the setup leaves out", "another sample than the one described"}
	switch {
	case e.Curve.Kind == curve.PH:
		names = "each about the pKa of what is titrated there"
		causes[0] = "a second acid or base in the sample, carbonate among them"
	case e.Setup.System().Electron() >= 0:
		names = "each about the formal potential, against the reference used, of the couple that is titrated there"
		causes = append(causes, "a reductant left from the prereduction, which is titrated first")
	}
	if len(halves) > 0 {
		f.Evidence += fmt.Sprintf("; half way through each stretch the curve reads %s, %s", strings.Join(halves, " and "), names)
	}
	f.Evidence += mayBe(causes)
	f.Advice = "put what else may be there under contains and under find, with a guess, so that each jump has its substance; until then no concentration is to be trusted"
}

// fewer jumps than expected.
func (d *diagnosis) fewer(f *Finding, seen []endpoint.EndPoint, expected []expectedJump) {
	e := d.e
	f.Cause, f.Title = "fewer jumps", fmt.Sprintf("the setup expects the curve to jump %s, and it does %s", often(len(expected)), often(len(seen)))
	v, _ := e.Curve.Used()
	_, last := span(v)
	var causes []string
	if final := expected[len(expected)-1].volume; last < final {
		f.Evidence += fmt.Sprintf("; the readings end at %s mL, before the last of them", figures(1e3*last))
		causes = append(causes, "a titration that was stopped before its last end point")
	}
	for _, p := range seen {
		near := slices.MinFunc(expected, func(a, b expectedJump) int {
			return cmp.Compare(math.Abs(a.reading-p.Value), math.Abs(b.reading-p.Value))
		})
		if !math.IsNaN(near.reading) {
			f.Evidence += fmt.Sprintf("; by its reading the jump at %s mL is nearest to that of %s, expected at %s", figures(p.Volume.Millilitres()), near.species, e.readingWords(near.reading))
		}
	}
	causes = append(causes, "a substance that is not in the sample, or was lost before", "two that run together here, as their constants are closer than those used", "readings too far apart or too noisy to show the smaller jump")
	f.Evidence += mayBe(causes)
	f.Advice = "look whether the sample holds all that stands under find; take what is not there out of the setup, or read in smaller steps where the missing jump is expected"
}

// mayBe lists causes that the curve alone does not tell apart.
func mayBe(causes []string) string {
	n := len(causes) - 1
	return "; the cause may be " + strings.Join(causes[:n], ", ") + " or " + causes[n]
}

// readAt interpolates the readings at a volume.
func (e *Evaluation) readAt(x float64) (float64, bool) {
	v, y := e.Curve.Used()
	for i := 1; i < len(v); i++ {
		if v[i-1] <= x && x <= v[i] && v[i] > v[i-1] {
			return y[i-1] + (y[i]-y[i-1])*(x-v[i-1])/(v[i]-v[i-1]), true
		}
	}
	return 0, false
}

// often writes how often.
func often(n int) string {
	switch n {
	case 1:
		return "once"
	case 2:
		return "twice"
	}
	return fmt.Sprintf("%d times", n)
}
