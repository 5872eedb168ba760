package report

import (
	"fmt"
	"math"
	"strings"

	"meniscus/assay"
)

// jsonBias is null throughout where no bias was worked out.
type jsonBias struct {
	Bias      *float64 `json:"bias_mL"`
	StdUnc    *float64 `json:"bias_standard_uncertainty_mL"`
	Corrected *float64 `json:"corrected_volume_mL"`
}

func newJSONBias(b *assay.Bias) jsonBias {
	if b == nil {
		return jsonBias{}
	}
	return jsonBias{volume(b.Volume), volume(b.StdUnc), volume(b.Corrected)}
}

// jsonInflection has readings in mV for potentials.
type jsonInflection struct {
	Order  int      `json:"equivalence_point"`
	Volume *float64 `json:"volume_mL"`
	Bias   *float64 `json:"bias_mL"`
	Value  *float64 `json:"value"`
	At     *float64 `json:"value_at_equivalence"`
	Unit   string   `json:"unit"`
}

func jsonInflections(e *assay.Evaluation) []jsonInflection {
	out := []jsonInflection{}
	for _, f := range e.Inflections {
		scale, unit := shown(e.Fit.Kind)
		out = append(out, jsonInflection{f.Order, volume(f.Volume), volume(f.Beyond), optional(f.Value * scale), optional(f.At * scale), unit})
	}
	return out
}

// biasWords says what derivative methods make of the fitted curve without
// noise, at the volumes of these readings.
func biasWords(e *assay.Evaluation) []string {
	var list []string
	for _, m := range e.Methods {
		for _, p := range m.Points {
			b := p.Bias
			if b == nil {
				continue
			}
			bias, u := rounded(inMillilitres(b.Volume), max(inMillilitres(b.StdUnc), 1e-6))
			text := fmt.Sprintf("bias of %s at these steps: %s ± %s mL, ", inSentence(m.Title), bias, u)
			if b.Applied {
				text += fmt.Sprintf("corrected %s mL", plusMinus(inMillilitres(b.Corrected), inMillilitres(b.CorrUnc)))
			} else {
				text += "not corrected: where the readings fell decides"
			}
			list = append(list, text)
		}
	}
	for _, f := range e.Inflections {
		list = append(list, inflectionWords(e, f))
	}
	return list
}

// inflectionWords gives the distance of the inflection from V_e where it is one
// that the readings tell from nothing.
func inflectionWords(e *assay.Evaluation, f assay.Inflection) string {
	scale, _ := shown(e.Fit.Kind)
	unit := valueUnit(e.Fit.Kind)
	of := "V_e" + indexWords(len(e.Fit.Equivalences), f.Order)
	ve := float64(f.Volume - f.Beyond)
	if u := float64(e.Fit.Equivalences[f.Order-1].StdUnc); math.Abs(float64(f.Beyond)) < u {
		return fmt.Sprintf("the inflection of the fitted curve is not to be told from %s, u of which is %s of it", of, strings.TrimPrefix(smallPart(u/ve), "+"))
	}
	return fmt.Sprintf("the inflection of the fitted curve lies %s from %s, at %s%s; at equivalence it is %s%s",
		smallPart(float64(f.Beyond)/ve), of, plain(f.Value*scale, 5), unit, plain(f.At*scale, 5), unit)
}
