package report

import (
	"fmt"
	"math"

	"meniscus/assay"
	"meniscus/endpoint"
)

// jsonWindow is one stretch of a Gran line; the first of a line is the one used.
type jsonWindow struct {
	Low    float64  `json:"from"` // in parts of V_e
	High   float64  `json:"to"`
	Points int      `json:"points"`
	Volume *float64 `json:"volume_mL"`
	StdUnc *float64 `json:"standard_uncertainty_mL"` // from noise alone
	Equal  *float64 `json:"equal_weights_mL"`        // null where not worked out
}

// lineOf is the straight line behind an end point, nil where there is none.
func lineOf(m assay.Method, order int) *endpoint.Line {
	if m.Detail == nil {
		return nil
	}
	for i := range m.Detail.Lines {
		if l := &m.Detail.Lines[i]; l.Order == order && len(l.Windows) > 0 {
			return l
		}
	}
	return nil
}

func jsonWindows(m assay.Method, order int) []jsonWindow {
	out := []jsonWindow{}
	l := lineOf(m, order)
	if l == nil {
		return out
	}
	for _, w := range l.Windows {
		x := jsonWindow{w.Low, w.High, w.Points, volume(w.Volume), volume(w.StdUnc), nil}
		if w.Equal > 0 {
			x.Equal = volume(w.Equal)
		}
		out = append(out, x)
	}
	return out
}

// windowWords says for each straight line which readings it was put through
// and what others would have given.
func windowWords(e *assay.Evaluation) []string {
	var list []string
	for _, m := range e.Methods {
		for _, p := range m.Points {
			if l := lineOf(m, p.Order); l != nil {
				list = append(list, m.Title+": "+lineWords(l))
			}
		}
	}
	return list
}

func lineWords(l *endpoint.Line) string {
	used := l.Windows[0]
	text := fmt.Sprintf("through the readings from %.4g to %.4g mL (%s of V_e)", l.From*1e3, l.To*1e3, part(used))
	if used.Equal > 0 {
		v, _ := rounded(inMillilitres(used.Equal), max(inMillilitres(used.StdUnc), 1e-6)/100)
		text += fmt.Sprintf("; with equal weights %s mL", v)
	}
	others := l.Windows[1:]
	if len(others) == 0 {
		return text + "; no other window holds enough readings, so what the choice of it does is not known"
	}
	low, high := math.Inf(1), math.Inf(-1)
	for _, w := range others {
		low, high = math.Min(low, inMillilitres(w.Volume)), math.Max(high, inMillilitres(w.Volume))
	}
	u := max(inMillilitres(used.StdUnc), 1e-6)
	a, _ := rounded(low, u)
	b, _ := rounded(high, u)
	text += fmt.Sprintf("; %d other %s give %s to %s mL", len(others), several(len(others), "window", "windows"), a, b)
	if l.Choice > 0 {
		return text + fmt.Sprintf(", and u takes %s mL for the choice", twoFigures(inMillilitres(l.Choice)))
	}
	return text + ", which the noise explains"
}

func part(w endpoint.Window) string { return fmt.Sprintf("%.3g to %.3g", w.Low, w.High) }

func several(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}
