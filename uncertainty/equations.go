package uncertainty

import (
	"fmt"
	"math"
	"strings"
)

const pi = math.Pi

// An instruction puts op of registers a and b into register to.
type instruction struct {
	op           opcode
	a, b, to     int
	line, column int
}

// A program is a list of equations as instructions without loops. Registers 0
// to inputs-1 hold the inputs; every other register is written once.
type program struct {
	inputs    int
	registers int
	constants map[int]float64
	code      []instruction
	out       int
	middle    []middle // intermediate results in the order they are written
	texts     []string
}

type middle struct {
	name     string
	register int
}

// compiler turns equations into a program.
type compiler struct {
	p         *program
	registers map[string]int // of inputs and of finished equations
	equations map[string]*equation
	used      map[string]bool
	line      int
}

type equation struct {
	line, column int
	root         *node
	open         bool // being compiled
}

// compile reads one equation a line, in any order, for the quantity out. Every
// name on a right side is an input or the left side of another line.
func compile(text string, inputs []string, out string) (*program, error) {
	c := &compiler{
		p:         &program{inputs: len(inputs), registers: len(inputs), constants: map[int]float64{}, texts: strings.Split(text, "\n")},
		registers: map[string]int{}, equations: map[string]*equation{}, used: map[string]bool{},
	}
	for i, name := range inputs {
		c.registers[name] = i
	}
	order, err := c.read()
	if err != nil {
		return nil, err
	}
	if c.equations[out] == nil {
		return nil, fmt.Errorf("no equation gives the measurand %s; one line must begin with %s =", out, out)
	}
	for _, name := range append([]string{out}, order...) {
		if err := c.equation(name); err != nil {
			return nil, err
		}
	}
	for _, name := range inputs {
		if !c.used[name] {
			return nil, fmt.Errorf("input %s is in no equation", name)
		}
	}
	c.p.out = c.registers[out]
	for _, name := range order {
		if name != out {
			c.p.middle = append(c.p.middle, middle{name, c.registers[name]})
		}
	}
	return c.p, nil
}

// read parses all lines and returns the left sides in order.
func (c *compiler) read() ([]string, error) {
	var order []string
	for i, line := range c.p.texts {
		name, column, root, err := parseEquation(line, i+1)
		if err != nil {
			return nil, err
		}
		if name == "" {
			continue
		}
		c.line = i + 1
		if _, ok := c.registers[name]; ok {
			return nil, c.fail(column, "%s is an input; it cannot be computed too", name)
		}
		if c.equations[name] != nil {
			return nil, c.fail(column, "%s has an equation already", name)
		}
		c.equations[name] = &equation{i + 1, column, root, false}
		order = append(order, name)
	}
	return order, nil
}

func (c *compiler) fail(column int, format string, args ...any) error {
	return &EquationError{c.line, column, c.p.texts[c.line-1], fmt.Sprintf(format, args...)}
}

// equation compiles the equation of name, if that is not done yet.
func (c *compiler) equation(name string) error {
	if _, done := c.registers[name]; done {
		return nil
	}
	e := c.equations[name]
	e.open = true
	line := c.line
	c.line = e.line
	r, err := c.node(e.root)
	c.line = line
	e.open = false
	c.registers[name] = r
	return err
}

func (c *compiler) node(n *node) (int, error) {
	switch n.op {
	case opConst:
		return c.constant(n.value), nil
	case opName:
		return c.name(n)
	}
	a, err := c.node(n.a)
	if err != nil {
		return 0, err
	}
	if n.op == opPow && n.b.op == opConst && (n.b.value == 2 || n.b.value == 3) { // many times faster than a power
		r := c.emit(opMul, a, a, n.column)
		if n.b.value == 3 {
			r = c.emit(opMul, r, a, n.column)
		}
		return r, nil
	}
	b := a
	if n.b != nil {
		if b, err = c.node(n.b); err != nil {
			return 0, err
		}
	}
	return c.emit(n.op, a, b, n.column), nil
}

func (c *compiler) name(n *node) (int, error) {
	if e := c.equations[n.name]; e != nil {
		if e.open {
			return 0, c.fail(n.column, "%s depends on itself", n.name)
		}
		if err := c.equation(n.name); err != nil {
			return 0, err
		}
	}
	r, ok := c.registers[n.name]
	if !ok {
		return 0, c.fail(n.column, "%s is neither an input nor computed in another line", n.name)
	}
	c.used[n.name] = true
	return r, nil
}

func (c *compiler) constant(v float64) int {
	r := c.p.registers
	c.p.registers++
	c.p.constants[r] = v
	return r
}

func (c *compiler) emit(op opcode, a, b, column int) int {
	r := c.p.registers
	c.p.registers++
	c.p.code = append(c.p.code, instruction{op, a, b, r, c.line, column})
	return r
}

// dual is every register's value and its derivatives for the inputs.
type dual struct {
	value []float64
	slope []float64 // registers × inputs
	n     int
}

func (d *dual) gradient(register int) []float64 {
	return d.slope[register*d.n : register*d.n+d.n]
}

// at returns the values and derivatives at x, by the chain rule along the
// instructions (dual numbers): exact but for rounding. A value or slope that is
// no finite number is an *EquationError.
func (p *program) at(x []float64) (*dual, error) {
	d := &dual{make([]float64, p.registers), make([]float64, p.registers*p.inputs), p.inputs}
	copy(d.value, x)
	for r, v := range p.constants {
		d.value[r] = v
	}
	for i := range p.inputs {
		d.gradient(i)[i] = 1
	}
	for _, k := range p.code {
		a, b := d.value[k.a], d.value[k.b]
		v := apply(k.op, a, b)
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, p.fail(k, "gives no number at these values (%s)", operandText(k.op, a, b))
		}
		d.value[k.to] = v
		da, db := slopes(k.op, a, b, v)
		to, ga, gb := d.gradient(k.to), d.gradient(k.a), d.gradient(k.b)
		for i := range to {
			to[i] = times(da, ga[i]) + times(db, gb[i])
			if math.IsNaN(to[i]) || math.IsInf(to[i], 0) {
				return nil, p.fail(k, "has no finite slope at these values (%s)", operandText(k.op, a, b))
			}
		}
	}
	return d, nil
}

func (p *program) fail(k instruction, format string, args ...any) error {
	return &EquationError{k.line, k.column, p.texts[k.line-1], fmt.Sprintf(format, args...)}
}

func operandText(op opcode, a, b float64) string {
	for mark, o := range operators {
		if o.op == op {
			return fmt.Sprintf("%.6g %s %.6g", a, mark, b)
		}
	}
	return fmt.Sprintf("of %.6g", a)
}

// times is a*b where no slope at all wins over an infinite factor.
func times(a, b float64) float64 {
	if b == 0 {
		return 0
	}
	return a * b
}

func apply(op opcode, a, b float64) float64 {
	switch op {
	case opAdd:
		return a + b
	case opSub:
		return a - b
	case opMul:
		return a * b
	case opDiv:
		return a / b
	case opPow:
		return math.Pow(a, b)
	case opNeg:
		return -a
	case opSqrt:
		return math.Sqrt(a)
	case opExp:
		return math.Exp(a)
	case opLn:
		return math.Log(a)
	case opLog10:
		return math.Log10(a)
	case opSin:
		return math.Sin(a)
	case opCos:
		return math.Cos(a)
	case opTan:
		return math.Tan(a)
	case opAbs:
		return math.Abs(a)
	}
	return math.NaN()
}

// slopes returns the derivatives of v = apply(op, a, b) for a and b.
func slopes(op opcode, a, b, v float64) (da, db float64) {
	switch op {
	case opAdd:
		return 1, 1
	case opSub:
		return 1, -1
	case opMul:
		return b, a
	case opDiv:
		return 1 / b, -v / b
	case opPow:
		return b * math.Pow(a, b-1), v * math.Log(a)
	case opNeg:
		return -1, 0
	case opSqrt:
		return 0.5 / v, 0
	case opExp:
		return v, 0
	case opLn:
		return 1 / a, 0
	case opLog10:
		return 1 / (a * math.Ln10), 0
	case opSin:
		return math.Cos(a), 0
	case opCos:
		return -math.Sin(a), 0
	case opTan:
		return 1 + v*v, 0
	case opAbs:
		return a / v, 0 // NaN at 0
	}
	return math.NaN(), 0
}
