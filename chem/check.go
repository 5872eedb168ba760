package chem

import (
	"fmt"
	"slices"
	"strings"
)

// A Tally compares the two sides of a reaction in one respect.
type Tally struct {
	What        string // an element symbol, or "charge"
	Left, Right Ratio  // the charge with its sign
	overflow    bool   // the counts do not fit; never so in what ParseReaction returns
}

// An UnbalancedError says what a reaction creates or destroys.
type UnbalancedError struct {
	Reaction string
	Tallies  []Tally  // of every element, by symbol, then of the charge
	Labels   []string // species whose elements are not known
}

func (e *UnbalancedError) Error() string {
	var wrong []string
	for _, t := range e.Tallies {
		switch {
		case t.overflow:
			wrong = append(wrong, t.What+" cannot be counted")
		case !t.off():
		case t.What == "charge":
			wrong = append(wrong, fmt.Sprintf("charge %s left, %s right", signed(t.Left), signed(t.Right)))
		case len(e.Labels) == 0:
			wrong = append(wrong, fmt.Sprintf("%s %s left, %s right", t.What, t.Left, t.Right))
		}
	}
	if len(e.Labels) > 0 {
		wrong = append(wrong, "elements cannot be checked, as these are not made of element symbols: "+strings.Join(e.Labels, ", "))
	}
	return e.Reaction + " is not balanced: " + strings.Join(wrong, "; ")
}

func signed(r Ratio) string {
	if r.Sign() > 0 {
		return "+" + r.String()
	}
	return r.String()
}

// Check returns nil if the reaction conserves every element and the charge,
// and otherwise an *UnbalancedError. A label has no elements, so a reaction
// with one never passes: CheckCharge is for reactions of labels.
func (r Reaction) Check() error {
	tallies := r.tallies()
	e := &UnbalancedError{Reaction: r.String(), Tallies: tallies}
	for _, t := range r.Terms {
		if t.Species.IsLabel {
			e.Labels = append(e.Labels, t.Species.Name)
		}
	}
	if len(e.Labels) == 0 && !slices.ContainsFunc(tallies, Tally.off) {
		return nil
	}
	return e
}

// CheckCharge returns nil if the reaction conserves the charge, and otherwise
// an *UnbalancedError with the charge as its only tally.
func (r Reaction) CheckCharge() error {
	tallies := r.tallies()
	charge := tallies[len(tallies)-1]
	if !charge.off() {
		return nil
	}
	return &UnbalancedError{Reaction: r.String(), Tallies: []Tally{charge}}
}

func (t Tally) off() bool { return t.Left != t.Right || t.overflow }

// tallies counts both sides; the charge comes last.
func (r Reaction) tallies() []Tally {
	list := make([]Tally, 0, 8)
	charge := Tally{What: chargeRow}
	for _, t := range r.Terms {
		for _, e := range t.Species.Elements {
			i := slices.IndexFunc(list, func(x Tally) bool { return x.What == e.Symbol })
			if i < 0 {
				i = len(list)
				list = append(list, Tally{What: e.Symbol})
			}
			list[i].count(t.Coefficient, e.Count)
		}
		charge.count(t.Coefficient, Whole(int64(t.Species.Charge)))
	}
	slices.SortFunc(list, func(a, b Tally) int { return strings.Compare(a.What, b.What) })
	return append(list, charge)
}

// count adds n of a term, whose coefficient says the side.
func (t *Tally) count(coefficient, n Ratio) {
	side := &t.Left
	if coefficient.Sign() > 0 {
		side = &t.Right
	}
	x, ok := times(coefficient.abs(), n)
	sum, fits := plus(*side, x)
	*side = sum
	t.overflow = t.overflow || !ok || !fits
}

const chargeRow = "charge"

// FillWater adds the H2O that is missing on one side. It returns r and false
// if anything else is missing, if nothing is, or if H2O is already written.
func (r Reaction) FillWater() (Reaction, bool) {
	if r.index(Water) >= 0 || slices.ContainsFunc(r.Terms, func(t Term) bool { return t.Species.IsLabel }) {
		return r, false
	}
	var hydrogen, oxygen Ratio
	for _, t := range r.tallies() {
		excess, ok := plus(t.Left, t.Right.Neg())
		switch {
		case !ok || t.overflow:
			return r, false
		case t.What == "H":
			hydrogen = excess
		case t.What == "O":
			oxygen = excess
		case excess.Sign() != 0:
			return r, false
		}
	}
	if twice, ok := times(oxygen, Whole(2)); !ok || twice != hydrogen || oxygen.Sign() == 0 {
		return r, false
	}
	terms := append(slices.Clone(r.Terms), Term{water(), oxygen})
	return Reaction{terms}.Ordered(), true
}

func water() Species {
	return Species{Name: Water, Elements: []ElementCount{{"H", Whole(2)}, {"O", Whole(1)}}}
}
