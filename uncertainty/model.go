package uncertainty

import (
	"errors"
	"fmt"
	"math"
)

// A Model is a measurement model: equations that give the measurand from input
// quantities, and what is known of these (GUM 4.1, from memory). The equations
// compute with bare numbers: X of each input, in the unit it is stated in; a
// factor between units, such as 1000 from mL to L, stands in the equation.
type Model struct {
	Title     string
	Measurand string // the left side of one of the equations
	Unit      string // of the measurand; shown, not computed with

	// Equations has one "name = expression" a line, in any order; names on a
	// right side are inputs or left sides. Operators + - * / ^, functions sqrt,
	// exp, ln, log10, sin, cos, tan (radians) and abs, the constant pi.
	Equations string

	Inputs       []Input
	Correlations []Correlation
}

// An Input is an input quantity: an estimate with its distribution, or Readings,
// whose mean is the estimate (Type A, GUM 4.2).
type Input struct {
	Name string
	Unit string // shown, not computed with
	Note string // where the value comes from
	Type string // "A" or "B"; "" is A with Readings and B without

	X        float64
	Stated   Stated
	DoF      float64   // of the standard uncertainty; 0 is not known and counts as +Inf
	Readings []float64 // instead of X, Stated and DoF
}

// A Correlation is the correlation coefficient of two inputs, from -1 to 1.
// FromReadings takes it from the readings of both, made in pairs (GUM 5.2.3).
type Correlation struct {
	A, B         string
	R            float64
	FromReadings bool
}

// estimate is an input reduced to what propagation needs.
type estimate struct {
	Value         // DoF is +Inf where it is not known
	stated Stated // the distribution, about X
}

// estimate returns the value of the input, or an error that names it. For
// readings it is the mean, s/sqrt(n), n-1 and Student's distribution (GUM
// 4.2.3; JCGM 101:2008, 6.4.9; from memory).
func (in *Input) estimate() (estimate, error) {
	if in.Readings != nil {
		return in.typeA()
	}
	if math.IsNaN(in.X) || math.IsInf(in.X, 0) {
		return estimate{}, fmt.Errorf("input %s: %v is not a number", in.Name, in.X)
	}
	u, err := in.Stated.StdUnc()
	if err != nil {
		return estimate{}, fmt.Errorf("input %s: %w", in.Name, err)
	}
	e := estimate{Value{in.X, u, in.DoF}, in.Stated}
	if in.Stated.Shape == StudentT && e.DoF == 0 {
		e.DoF = in.Stated.Param
	}
	if e.DoF == 0 {
		e.DoF = math.Inf(1)
	}
	if !(e.DoF > 0) {
		return estimate{}, fmt.Errorf("input %s: %v degrees of freedom are not above 0", in.Name, in.DoF)
	}
	if in.Stated.shape() == Normal && !math.IsInf(e.DoF, 1) { // JCGM 101:2008, 6.4.9.7
		e.stated = Stated{StudentT, u, e.DoF}
	}
	return e, nil
}

func (in *Input) typeA() (estimate, error) {
	n := len(in.Readings)
	if n < 2 {
		return estimate{}, fmt.Errorf("input %s: %d readings tell no spread; it takes two or more", in.Name, n)
	}
	for _, x := range in.Readings {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return estimate{}, fmt.Errorf("input %s: reading %v is not a number", in.Name, x)
		}
	}
	mean, sd := MeanSD(in.Readings)
	u, dof := sd/math.Sqrt(float64(n)), float64(n-1)
	return estimate{Value{mean, u, dof}, Stated{StudentT, u, dof}}, nil
}

// kind returns the type of evaluation, "A" or "B".
func (in *Input) kind() string {
	switch {
	case in.Type != "":
		return in.Type
	case in.Readings != nil:
		return "A"
	}
	return "B"
}

// compiled is a checked model.
type compiled struct {
	m     *Model
	p     *program
	in    []estimate
	x     []float64
	r     []float64 // correlation matrix, row-major
	group []int     // inputs joined by correlations share a number
	joint []bool    // inputs with a correlation other than 0
}

func (m *Model) compile() (*compiled, error) {
	if len(m.Inputs) == 0 {
		return nil, errors.New("the model has no inputs")
	}
	n := len(m.Inputs)
	c := &compiled{m: m, in: make([]estimate, n), x: make([]float64, n), group: make([]int, n), joint: make([]bool, n)}
	names, seen := make([]string, n), map[string]bool{}
	for i := range m.Inputs {
		in := &m.Inputs[i]
		names[i] = in.Name
		if err := checkName(in.Name); err != nil {
			return nil, err
		}
		if seen[in.Name] {
			return nil, fmt.Errorf("input %s is listed twice", in.Name)
		}
		seen[in.Name] = true
		var err error
		if c.in[i], err = in.estimate(); err != nil {
			return nil, err
		}
		c.x[i] = c.in[i].X
	}
	var err error
	if c.p, err = compile(m.Equations, names, m.Measurand); err != nil {
		return nil, err
	}
	return c, c.correlate()
}

// checkName says whether an equation can name the input.
func checkName(name string) error {
	p := &equationReader{text: name}
	if err := p.tokens(); err != nil || len(p.list) != 2 || p.list[0].kind != 'w' {
		return fmt.Errorf("input %q: a name is letters, digits and _, and begins with a letter", name)
	}
	if reserved(name) {
		return fmt.Errorf("input %s: the name is taken by a function or constant", name)
	}
	return nil
}

// correlate fills the correlation matrix.
func (c *compiled) correlate() error {
	n := len(c.in)
	c.r = make([]float64, n*n)
	for i := range n {
		c.r[i*n+i] = 1
		c.group[i] = i
	}
	given := map[[2]int]bool{}
	for _, k := range c.m.Correlations {
		i, j := c.find(k.A), c.find(k.B)
		switch {
		case i < 0 || j < 0:
			return fmt.Errorf("correlation of %s and %s: both must be inputs", k.A, k.B)
		case i == j:
			return fmt.Errorf("correlation of %s with itself is 1 without saying", k.A)
		case given[[2]int{min(i, j), max(i, j)}]:
			return fmt.Errorf("correlation of %s and %s is given twice", k.A, k.B)
		}
		given[[2]int{min(i, j), max(i, j)}] = true
		r, err := c.coefficient(k, i, j)
		if err != nil {
			return fmt.Errorf("correlation of %s and %s: %w", k.A, k.B, err)
		}
		c.r[i*n+j], c.r[j*n+i] = r, r
		if r != 0 {
			c.join(i, j)
		}
	}
	if _, err := cholesky(c.r, n); err != nil {
		return err
	}
	return nil
}

func (c *compiled) find(name string) int {
	for i := range c.m.Inputs {
		if c.m.Inputs[i].Name == name {
			return i
		}
	}
	return -1
}

func (c *compiled) join(i, j int) {
	c.joint[i], c.joint[j] = true, true
	from, to := c.group[j], c.group[i]
	for k := range c.group {
		if c.group[k] == from {
			c.group[k] = to
		}
	}
}

// coefficient returns r; from paired readings it is GUM equation (17) over the
// standard deviations (equation 14), from memory.
func (c *compiled) coefficient(k Correlation, i, j int) (float64, error) {
	if !k.FromReadings {
		if !(math.Abs(k.R) <= 1) {
			return 0, fmt.Errorf("%v is not between -1 and 1", k.R)
		}
		return k.R, nil
	}
	a, b := c.m.Inputs[i].Readings, c.m.Inputs[j].Readings
	if len(a) == 0 || len(a) != len(b) {
		return 0, fmt.Errorf("%d and %d readings are not in pairs", len(a), len(b))
	}
	var sab, saa, sbb float64
	for q := range a {
		da, db := a[q]-c.x[i], b[q]-c.x[j]
		sab, saa, sbb = sab+da*db, saa+da*da, sbb+db*db
	}
	if saa == 0 || sbb == 0 {
		return 0, errors.New("readings without spread show no correlation")
	}
	return max(-1, min(1, sab/math.Sqrt(saa*sbb))), nil
}

// cholesky returns the lower triangle L with L Lᵀ = r, for a correlation matrix
// r of n rows that may be singular. One that no quantities can have (a negative
// pivot beyond rounding) is an error.
func cholesky(r []float64, n int) ([]float64, error) {
	const rounding = 1e-9 // of a pivot; coefficients are given with far fewer digits
	l := make([]float64, n*n)
	for i := range n {
		for j := range i + 1 {
			sum := r[i*n+j]
			for k := range j {
				sum -= l[i*n+k] * l[j*n+k]
			}
			pivot := l[j*n+j]
			switch {
			case i == j && sum > rounding:
				l[i*n+i] = math.Sqrt(sum)
			case i == j && sum >= -rounding: // fixed by the others: 0
			case i != j && pivot > 0:
				l[i*n+j] = sum / pivot
			case math.Abs(sum) > rounding:
				return nil, errors.New("the correlations contradict one another: no quantities can have them all")
			}
		}
	}
	return l, nil
}
