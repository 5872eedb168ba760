package volumetric

import (
	"fmt"
	"slices"
	"strings"

	"meniscus/uncertainty"
	"meniscus/unit"
)

// A Kind is a kind of volumetric ware.
type Kind string

// The kinds.
const (
	Burette       Kind = "burette"
	Pipette       Kind = "pipette" // with one mark
	Flask         Kind = "flask"   // with one mark
	PistonBurette Kind = "piston burette"
)

// A Limit is the maximum permissible error of a piece of ware at 20 °C. The
// numbers are from memory, and standards are revised: typical limits, for which
// a certificate is the better source.
type Limit struct {
	Kind      Kind
	Standard  string      // such as "ISO 385"
	Class     string      // "A", "B", or "" where the standard has no classes
	Capacity  unit.Volume // nominal
	Division  unit.Volume // of a burette's scale where the limit depends on it, else 0
	Tolerance unit.Volume // ±
}

// ratioB is the limit of class B over that of class A (from memory).
const ratioB = 2

// series lists limits of one standard in mL: capacity/division:tolerance. The
// first standard of a kind is taken where none is named.
var series = []struct {
	kind     Kind
	standard string
	classes  bool
	rows     []row
}{
	{Burette, "ISO 385", true, []row{
		{5, 0, 0.01}, {10, 0.02, 0.02}, {25, 0.05, 0.03}, {25, 0.1, 0.05}, {50, 0.1, 0.05}, {100, 0.2, 0.1},
	}},
	{Burette, "ASTM E287", true, []row{{5, 0, 0.01}, {10, 0, 0.02}, {25, 0, 0.03}, {50, 0, 0.05}, {100, 0, 0.1}}},
	{Pipette, "ISO 648", true, []row{
		{0.5, 0, 0.005}, {1, 0, 0.008}, {2, 0, 0.01}, {5, 0, 0.015}, {10, 0, 0.02}, {20, 0, 0.03}, {25, 0, 0.03}, {50, 0, 0.05}, {100, 0, 0.08},
	}},
	{Pipette, "ASTM E969", true, []row{
		{1, 0, 0.006}, {2, 0, 0.006}, {5, 0, 0.01}, {10, 0, 0.02}, {15, 0, 0.03}, {20, 0, 0.03}, {25, 0, 0.03}, {50, 0, 0.05}, {100, 0, 0.08},
	}},
	{Flask, "ISO 1042", true, []row{
		{5, 0, 0.025},
		{10, 0, 0.025},
		{25, 0, 0.04},
		{50, 0, 0.06},
		{100, 0, 0.1},
		{200, 0, 0.15},
		{250, 0, 0.15},
		{500, 0, 0.25},
		{1000, 0, 0.4},
		{2000, 0, 0.6},
	}},
	{Flask, "ASTM E288", true, []row{
		{5, 0, 0.02},
		{10, 0, 0.02},
		{25, 0, 0.03},
		{50, 0, 0.05},
		{100, 0, 0.08},
		{200, 0, 0.1},
		{250, 0, 0.12},
		{500, 0, 0.2},
		{1000, 0, 0.3},
		{2000, 0, 0.5},
	}},
	{PistonBurette, "ISO 8655-3", false, []row{
		{1, 0, 0.006}, {2, 0, 0.01}, {5, 0, 0.015}, {10, 0, 0.03}, {20, 0, 0.04}, {25, 0, 0.05}, {50, 0, 0.1}, {100, 0, 0.2},
	}},
}

// A row has capacity, division and tolerance in mL.
type row struct{ capacity, division, tolerance float64 }

// Limits returns every limit held, class B after class A.
func Limits() []Limit {
	var list []Limit
	for _, s := range series {
		classes := []string{"A", "B"}
		if !s.classes {
			classes = []string{""}
		}
		for i, class := range classes {
			for _, r := range s.rows {
				factor := 1.0
				if i > 0 {
					factor = ratioB
				}
				list = append(list, Limit{
					s.kind, s.standard, class,
					millilitres(r.capacity), millilitres(r.division), millilitres(factor * r.tolerance),
				})
			}
		}
	}
	return list
}

// millilitres divides, so that the result is the float64 nearest to the
// decimal.
func millilitres(ml float64) unit.Volume { return unit.Volume(ml / 1000) }

// An UnknownWareError reports ware that the tables do not have.
type UnknownWareError struct {
	Wanted string
	Known  []string // capacities, classes or standards that would be found
}

func (e *UnknownWareError) Error() string {
	return fmt.Sprintf("no limit for a %s; known are %s", e.Wanted, strings.Join(e.Known, ", "))
}

// FindLimit returns the limit of ware of a kind, capacity, class ("A", "AS" or
// "B", in any case; "" is A) and standard ("" is the first held, ISO). Where
// the limit depends on the division of the scale, division says which; 0 takes
// the wider one. An *UnknownWareError says what is known instead.
func FindLimit(kind Kind, capacity, division unit.Volume, class, standard string) (Limit, error) {
	class, ok := readClass(class)
	if !ok {
		return Limit{}, &UnknownWareError{fmt.Sprintf("%s of class %q", kind, class), []string{"A", "AS", "B"}}
	}
	var best Limit
	var standards, capacities []string
	for _, l := range Limits() {
		if l.Kind != kind || l.Class != "" && l.Class != class {
			continue
		}
		standards = appendNew(standards, l.Standard)
		if standard == "" {
			standard = l.Standard
		}
		if !strings.EqualFold(l.Standard, standard) {
			continue
		}
		capacities = appendNew(capacities, fmt.Sprintf("%g mL", l.Capacity.Millilitres()))
		fits := same(l.Capacity, capacity) && (division == 0 || l.Division == 0 || same(l.Division, division))
		if fits && l.Tolerance > best.Tolerance {
			best = l
		}
	}
	switch {
	case best.Tolerance > 0:
		return best, nil
	case standards == nil:
		return Limit{}, &UnknownWareError{fmt.Sprintf("%q", kind), kinds()}
	case capacities == nil:
		return Limit{}, &UnknownWareError{fmt.Sprintf("%s by %q", kind, standard), standards}
	}
	wanted := fmt.Sprintf("%s of %g mL", kind, capacity.Millilitres())
	if division > 0 {
		wanted += fmt.Sprintf(" with divisions of %g mL", division.Millilitres())
	}
	return Limit{}, &UnknownWareError{wanted + " by " + standard, capacities}
}

func readClass(text string) (string, bool) {
	switch s := strings.ToUpper(strings.TrimSpace(text)); s {
	case "", "A", "AS":
		return "A", true
	case "B":
		return "B", true
	}
	return text, false
}

// same compares volumes that may have come by different arithmetic.
func same(a, b unit.Volume) bool { return a-b < 1e-9*b && b-a < 1e-9*b }

func kinds() []string {
	var list []string
	for _, s := range series {
		list = appendNew(list, string(s.kind))
	}
	return list
}

func appendNew(list []string, s string) []string {
	if slices.Contains(list, s) {
		return list
	}
	return append(list, s)
}

// Note says where the limit comes from and what to think of it.
func (l Limit) Note() string {
	s := fmt.Sprintf("%s of %g mL, ± %.4g mL: typical limit of %s", l.Kind, l.Capacity.Millilitres(), l.Tolerance.Millilitres(), l.Standard)
	if l.Class != "" {
		s += " class " + l.Class
	}
	if l.Class == "B" {
		s += ", twice that of class A"
	}
	return s + ", from memory; check your certificate"
}

// StdUnc returns the standard uncertainty that the limit stands for, with
// shape Triangular (what QUAM:2012, appendix A, uses, since makers aim at the
// middle), or Rectangular where nothing is known but the limit. "" is
// Triangular.
func (l Limit) StdUnc(shape uncertainty.Shape) (unit.Volume, error) {
	if shape == "" {
		shape = uncertainty.Triangular
	}
	u, err := uncertainty.Stated{Shape: shape, Width: float64(l.Tolerance)}.StdUnc()
	if err != nil {
		return 0, fmt.Errorf("limit of a %s: %w", l.Kind, err)
	}
	return unit.Volume(u), nil
}
