package exercise

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"

	"meniscus/chem"
	"meniscus/working"
)

// A maker draws the numbers of one exercise and writes it.
type maker struct {
	r     *rand.Rand
	e     Exercise
	key   []working.Block
	after []working.Section
	err   error
}

// done returns the exercise with its symbols explained.
func (m *maker) done() Exercise {
	d := &working.Document{Sections: append([]working.Section{{Blocks: m.key}}, m.after...)}
	if len(m.after) == 0 {
		d.Explain()
	} else {
		// Sections by explain are explained already.
		first := &working.Document{Sections: d.Sections[:1]}
		first.Explain()
		d.Sections = append(first.Sections, m.after...)
	}
	m.e.Key = d.Sections
	return m.e
}

func (m *maker) fail(err error) {
	if m.err == nil {
		m.err = err
	}
}

// draw returns a number between two, both possible, on steps of so many
// decimals' last place.
func (m *maker) draw(low, high float64, decimals, step int) float64 {
	p := math.Pow10(decimals)
	a, b := int(math.Round(low*p)), int(math.Round(high*p))
	return decimal(float64(a+step*m.r.IntN((b-a)/step+1))/p, decimals)
}

// decimal rounds to a number of decimals as one would write it.
func decimal(x float64, decimals int) float64 {
	y, err := strconv.ParseFloat(strconv.FormatFloat(x, 'f', decimals, 64), 64)
	if err != nil {
		return math.NaN()
	}
	return y
}

func pick[T any](m *maker, list ...T) T { return list[m.r.IntN(len(list))] }

// given keeps a number of the question, shown to so many decimals.
func (m *maker) given(name string, x float64, decimals int, unit string) working.Number {
	n := working.Decimals(decimals).Number(decimal(x, decimals), unit)
	m.e.Given = append(m.e.Given, Value{name, n})
	return n
}

// constant keeps a number that is given as it is, such as a molar mass.
func (m *maker) constant(name string, n working.Number) working.Number {
	m.e.Given = append(m.e.Given, Value{name, n})
	return n
}

// ask adds a paragraph to the question.
func (m *maker) ask(format string, exprs ...working.Expr) {
	m.e.Question = append(m.e.Question, working.P(format, exprs...))
}

func (m *maker) handles(reagents ...string) { m.e.Reagents = append(m.e.Reagents, reagents...) }

// tell adds a paragraph to the key.
func (m *maker) tell(format string, exprs ...working.Expr) {
	m.key = append(m.key, working.P(format, exprs...))
}

// step adds a line of working.
func (m *maker) step(say string, q working.Symbol, formula working.Expr, f working.Format, unit string) working.Symbol {
	st, err := working.Find(working.P(say), q, formula, f, unit)
	if err != nil {
		m.fail(fmt.Errorf("%s: %w", say, err))
	}
	m.key = append(m.key, st)
	return st.Quantity
}

// answer keeps what a step found.
func (m *maker) answer(name string, q working.Symbol) {
	m.e.Answers = append(m.e.Answers, Value{name, q.Value})
}

func symbol(letter, sub, of, meaning string) working.Symbol {
	return working.Symbol{Letter: letter, Sub: sub, Of: of, Meaning: meaning}
}

// molarMass of a formula by the standard atomic weights.
func (m *maker) molarMass(formula string) working.Symbol {
	s, err := chem.ParseSpecies(formula)
	if err != nil {
		m.fail(err)
		return working.Symbol{}
	}
	w, err := chem.StandardWeights().MolarMass(s)
	if err != nil {
		m.fail(err)
		return working.Symbol{}
	}
	n := working.Decimals(3).Number(decimal(float64(w.Value), 3), "g/mol")
	m.constant("M("+formula+")", n)
	return symbol("M", "", formula, "the molar mass of {"+formula+"}").With(n)
}

// thousand turns mol into mmol.
func thousand() working.Number { return working.Shortest(1000, "mmol/mol") }

func hundred() working.Number { return working.Shortest(100, "%") }
