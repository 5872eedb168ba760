package constants

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// An IndicatorSolution says how an indicator is made up, and how much of it a
// titration gets. One without a Strength and a Ground is bought ready made.
type IndicatorSolution struct {
	Strength float64 // g in 100 mL
	Of       string  // formula of what is weighed; "" for the indicator itself
	Solvent  string  // "water", "60 % ethanol"; the salt of a ground mixture; in words where ready made
	Ground   float64 // parts of Solvent, by mass, to one of indicator
	Dose     float64 // mL, or g of a ground mixture
	Said     string  // the dose as people say it: "2 drops"
	Aside    string  // what to know of it: "near the end point"
}

// Drop is the volume of a drop from a dropping bottle, mL: common practice.
const Drop = 0.05

var (
	dissolvedIn = regexp.MustCompile(`^([0-9.]+) %(?: of (\S+))? in (.+)$`)
	groundWith  = regexp.MustCompile(`^1 : ([0-9]+) ground with (\S+)$`)
	doseWords   = regexp.MustCompile(`^([0-9.]+) (drops|drop|mL|g)(?:, (.+))?$`)
)

// readIndicatorSolution reads "0.1 % in 60 % ethanol" and "2 drops".
func readIndicatorSolution(parts []string) (s IndicatorSolution, err error) {
	if len(parts) != 2 {
		return s, fmt.Errorf("how it is made and how much is given are meant, found %q", strings.Join(parts, "; "))
	}
	number := func(text string) float64 {
		x, e := strconv.ParseFloat(text, 64)
		if e != nil || !(x > 0) {
			err = fmt.Errorf("a number above 0 is meant, found %q", text)
		}
		return x
	}
	if m := dissolvedIn.FindStringSubmatch(parts[0]); m != nil {
		s.Strength, s.Of, s.Solvent = number(m[1]), m[2], m[3]
	} else if m := groundWith.FindStringSubmatch(parts[0]); m != nil {
		s.Ground, s.Solvent = number(m[1]), m[2]
	} else if strength, ok := strings.CutSuffix(parts[0], ", ready made"); ok {
		s.Solvent = strength
	} else {
		return s, fmt.Errorf("%q: such as \"0.1 %% in water\" is meant", parts[0])
	}
	m := doseWords.FindStringSubmatch(parts[1])
	if m == nil {
		return s, fmt.Errorf("%q: such as \"2 drops\" is meant", parts[1])
	}
	s.Dose, s.Said, s.Aside = number(m[1]), m[1]+" "+m[2], m[3]
	if strings.HasPrefix(m[2], "drop") {
		s.Dose *= Drop
	}
	return s, err
}

// ReadyMade says whether the solution is bought as it is used.
func (s IndicatorSolution) ReadyMade() bool { return s.Strength == 0 && s.Ground == 0 }

// FindIndicatorSolution returns the reagent of an indicator as the tables of
// indicators name it: "thymol blue (first change)" is thymol blue.
func FindIndicatorSolution(name string) (Reagent, bool, error) {
	name, _, _ = strings.Cut(name, " (")
	r, ok, err := FindReagent(name)
	return r, ok && r.Form == IndicatorReagent, err
}
