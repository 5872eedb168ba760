package main

import (
	"fmt"

	"meniscus/assay"
	"meniscus/endpoint"
)

// lines reads what is wanted of Gran's lines.
func (o evaluateOptions) lines() (assay.LineOptions, error) {
	var out assay.LineOptions
	if o.granWindow != "" {
		var low, high float64
		n, err := fmt.Sscanf(o.granWindow, "%g to %g", &low, &high)
		if err != nil || n != 2 || !(low >= 0 && high > low && high <= 10) {
			return out, misused("--gran-window %q: two parts of V_e are meant, such as \"0.5 to 0.97\" before it or \"1.03 to 2\" after it", o.granWindow)
		}
		out.Window = [2]float64{low, high}
	}
	switch o.granSlope {
	case "auto":
	case "assumed":
		out.Slope = endpoint.SlopeAssumed
	case "fitted":
		out.Slope = endpoint.SlopeFitted
	default:
		return out, misused("--gran-slope %q: auto, assumed or fitted", o.granSlope)
	}
	switch o.granWeights {
	case "noise":
	case "equal":
		out.Equal = true
	default:
		return out, misused("--gran-weights %q: noise or equal", o.granWeights)
	}
	return out, nil
}
