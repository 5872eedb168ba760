package plan

import (
	"fmt"
	"math"
)

// A stretch is a series of readings with steps of about one size.
type stretch struct {
	from, to    float64 // mL
	small, wide float64 // smallest and widest step within, mL
	n           int
}

// sameStep is how much steps of one stretch may differ.
const sameStep = 2.05

// scheduleWords tells a schedule as one would at the bench, stretch by stretch.
func scheduleWords(list []ScheduledReading) []string {
	var words []string
	for _, s := range stretches(list) {
		switch {
		case s.n == 1:
			words = append(words, fmt.Sprintf("read at %.2f mL", s.from))
		case s.n == 2:
			words = append(words, fmt.Sprintf("read at %.2f and %.2f mL", s.from, s.to))
		case s.wide-s.small < 0.005:
			words = append(words, fmt.Sprintf("from %.2f to %.2f mL read every %.2f mL (%d readings)", s.from, s.to, s.small, s.n))
		default:
			words = append(words, fmt.Sprintf("from %.2f to %.2f mL read every %.2f to %.2f mL (%d readings)", s.from, s.to, s.small, s.wide, s.n))
		}
	}
	return words
}

func stretches(list []ScheduledReading) []stretch {
	var out []stretch
	for _, r := range list {
		v := r.Volume.Millilitres()
		if len(out) > 0 {
			s := &out[len(out)-1]
			step := v - s.to
			if s.n == 1 && step < 5 || s.n > 1 && math.Max(s.wide, step) <= sameStep*math.Min(s.small, step) {
				if s.n == 1 {
					s.small, s.wide = step, step
				}
				s.small, s.wide, s.to, s.n = math.Min(s.small, step), math.Max(s.wide, step), v, s.n+1
				continue
			}
		}
		out = append(out, stretch{from: v, to: v, n: 1})
	}
	return out
}
