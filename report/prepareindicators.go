package report

import (
	"fmt"
	"strings"

	"meniscus/plan"
	"meniscus/solution"
)

// AddIndicator adds an indicator to make up: for the class where there is one,
// with what it takes from the shelf. why is what it is for.
func (p *Preparation) AddIndicator(name, why string) error {
	var d solution.Drops
	var err error
	if p.Stockroom != nil {
		d, err = p.Stockroom.Class.Indicator(name)
	} else {
		d, err = solution.Indicator(name, 0)
	}
	if err != nil {
		return fmt.Errorf("indicator: %w", err)
	}
	p.Indicators = append(p.Indicators, PreparedIndicator{d, why})
	if p.Stockroom != nil {
		return p.Stockroom.AddIndicator(d)
	}
	return nil
}

// AddSuggested adds the indicators that fit each end point best, and notes where
// none is to be made.
func (p *Preparation) AddSuggested(list []plan.Suggestion) error {
	for _, x := range list {
		switch {
		case x.Fit == nil:
			p.Notes = append(p.Notes, fmt.Sprintf("no indicator that the tables say how to make up fits the end point of %s: the electrode needs none", x.Point))
		case x.Itself:
			p.Notes = append(p.Notes, fmt.Sprintf("no indicator is made up for the end point of %s: %s shows it", x.Point, x.Fit.Name))
		default:
			if err := p.AddIndicator(x.Fit.Name, suggestedWords(x)); err != nil {
				return err
			}
		}
	}
	return nil
}

// suggestedWords says what is seen at which end point, and with what error.
func suggestedWords(x plan.Suggestion) string {
	s := "for the end point of " + x.Point
	if a, b := x.Fit.Colour[0].Word, x.Fit.Colour[1].Word; a != "" && b != "" {
		s += ": " + a + " to " + b
	}
	if x.Fit.Scale != "" {
		s += ", error " + percentError(x.Fit.Part)
	}
	if x.Fit.Note != "" {
		s += "; " + x.Fit.Note
	}
	return strings.TrimSpace(s)
}
