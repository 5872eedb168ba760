package report

import (
	"fmt"
	"strings"

	"meniscus/assay"
	"meniscus/setup"
)

// contentSymbol is what a content is called: w for a share by mass, ρ for a
// mass in a volume, c for an amount in a volume, b for one in a mass.
func contentSymbol(r assay.Result) string {
	w, letter := r.Working, ""
	switch {
	case w.Report.Basis == setup.ByClaim:
		return "content of " + formula(w.Reported)
	case w.Report.Basis == setup.ByTablet:
		letter = "m"
	case w.Report.Basis == setup.ByVolume && w.Report.Moles:
		letter = "c"
	case w.Report.Basis == setup.ByVolume:
		letter = "ρ"
	case w.Report.Moles:
		letter = "b"
	default:
		letter = "w"
	}
	return letter + "(" + formula(w.Reported) + ")"
}

// contentSteps shows how an amount became content i.
func contentSteps(e *assay.Evaluation, i int) []step {
	r := e.Contents[i]
	w := r.Working
	if w == nil {
		return []step{roundStep(r)}
	}
	name, amount := formula(w.Titrated), w.Amount*1e3
	steps := []step{{"Amount in the flask", fmt.Sprintf("n(%s) = %s mmol", name, plain(amount, 7))}}
	for _, c := range e.Concentrations {
		if c.Name == w.Titrated {
			steps[0].Show = fmt.Sprintf("n(%s) = %s mol/L × %s mL = %s mmol", name, plain(c.Value, 7), plain(amount/c.Value, 7), plain(amount, 7))
		}
	}
	if s := e.Setup.Sample; s != nil && w.Factor != 1 {
		steps = append(steps, step{
			"Amount in the sample, of which the flask holds an aliquot",
			fmt.Sprintf("n(%s) = %s mmol × %s mL / %s mL = %s mmol", name, plain(amount, 7), bare(s.MadeUpTo, 1e3), bare(s.Aliquot, 1e3), plain(amount*w.Factor, 7)),
		})
		amount *= w.Factor
	}
	if w.Analyte != w.Titrated {
		n := amount * w.Ratio[0] / w.Ratio[1]
		steps = append(steps, step{
			fmt.Sprintf("%s %s for %s %s", plain(w.Ratio[0], 4), formula(w.Analyte), plain(w.Ratio[1], 4), name),
			fmt.Sprintf("n(%s) = %s mmol × %s/%s = %s mmol", formula(w.Analyte), plain(amount, 7), plain(w.Ratio[0], 4), plain(w.Ratio[1], 4), plain(n, 7)),
		})
		amount = n
	}
	steps = append(steps, reportedStep(w, amount))
	return append(append(steps, overSteps(e.Setup.Sample, r, w)...), roundStep(r))
}

// reportedStep goes from the amount of the analyte, mmol, to what is reported.
func reportedStep(w *assay.Working, amount float64) step {
	per, say := "", ""
	if w.Per != 1 {
		per = " / " + plain(w.Per, 4)
		say = fmt.Sprintf(", %s %s for each", plain(w.Per, 4), formula(w.Analyte))
		if w.Counted != "" {
			say += ", by charge"
		}
	}
	as := formula(w.Reported)
	if w.MolarMass == 0 {
		return step{"As " + as + say, fmt.Sprintf("n(%s) = %s mmol%s = %s mmol", as, plain(amount, 7), per, plain(w.Whole*1e3, 7))}
	}
	return step{"Its mass as " + as + say, fmt.Sprintf("m(%s) = %s mmol%s × %s g/mol = %s g", as, plain(amount, 7), per, plain(w.MolarMass, 7), plain(w.Whole, 7))}
}

// overSteps divides by the sample, and by the claim or the dry share.
func overSteps(s *setup.Sample, r assay.Result, w *assay.Working) []step {
	whole, unit := w.Whole, "g"
	if w.Report.Moles {
		whole, unit = whole*1e3, "mmol"
	}
	over, overUnit := w.Over, w.OverText
	if overUnit == "mL" {
		over *= 1e3
	}
	value := w.Whole / w.Over * w.Report.Scale
	short := strings.Replace(w.Report.Unit, "% w/w", "%", 1)
	say := map[string]string{"g": "Over the mass of the sample", "mL": "Over the volume of the sample", "tablets": "In each tablet"}[overUnit]
	if w.Claim == 0 {
		steps := []step{{say, fmt.Sprintf("%s %s / %s %s = %s %s", plain(whole, 7), unit, plain(over, 7), overUnit, plain(value, 7), short)}}
		if w.Drying > 0 {
			steps = append(steps, step{"Over the share that is left by drying", fmt.Sprintf("%s %s / (1 − %s) = %s %s", plain(value, 7), short, plain(w.Drying, 6), plain(r.Value, 7), short)})
		}
		return steps
	}
	per := map[string]string{"g": "g/g", "mL": "g/L", "tablets": "g"}[overUnit]
	each := w.Whole / w.Over
	return []step{
		{say, fmt.Sprintf("%s %s / %s %s = %s %s", plain(whole, 7), unit, plain(over, 7), overUnit, plain(each, 7), per)},
		{"Over the label claim, " + s.Claim.Text, fmt.Sprintf("100 %% × %s / %s = %s %%", plain(each, 7), plain(w.Claim, 7), plain(r.Value, 7))},
	}
}
