package uncertainty

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"
)

// An EquationError points at what is wrong in the equations of a Model.
type EquationError struct {
	Line   int // of the equations, from 1
	Column int // in characters, from 1
	Text   string
	Reason string
}

func (e *EquationError) Error() string {
	return fmt.Sprintf("equation %q: column %d: %s", e.Text, e.Column, e.Reason)
}

// An opcode is an operation of an expression.
type opcode uint8

const (
	opConst opcode = iota
	opName
	opAdd
	opSub
	opMul
	opDiv
	opPow
	opNeg
	opSqrt
	opExp
	opLn
	opLog10
	opSin
	opCos
	opTan
	opAbs
)

// functions lists the functions of an expression; angles are in radians.
var functions = []struct {
	name string
	op   opcode
}{
	{"sqrt", opSqrt}, {"exp", opExp}, {"ln", opLn}, {"log10", opLog10}, {"sin", opSin}, {"cos", opCos}, {"tan", opTan}, {"abs", opAbs},
}

func functionNames() string {
	names := make([]string, len(functions))
	for i, f := range functions {
		names[i] = f.name
	}
	return strings.Join(names, ", ")
}

// operators lists the binary operators with how tightly they bind.
var operators = map[string]struct {
	op      opcode
	binding int
}{
	"+": {opAdd, 1}, "-": {opSub, 1}, "*": {opMul, 2}, "/": {opDiv, 2}, "^": {opPow, 4},
}

const (
	bindingOfMinus = 3   // -x^2 is -(x^2), -x*y is (-x)*y
	maxDepth       = 200 // of parentheses and exponents in one expression
	maxLine        = 5000
)

// A node is part of an expression.
type node struct {
	op     opcode
	column int
	value  float64
	name   string
	a, b   *node
}

// A token is a number, a name, or a mark.
type token struct {
	kind   byte // 'n' number, 'w' name, 'm' mark, 0 the end
	text   string
	column int
}

type equationReader struct {
	line  int
	text  string
	list  []token
	at    int
	depth int
}

func (p *equationReader) fail(column int, format string, args ...any) error {
	return &EquationError{p.line, column, p.text, fmt.Sprintf(format, args...)}
}

// marks turns typographic operators into plain ones.
var marks = map[rune]string{'−': "-", '·': "*", '×': "*", '⋅': "*", '÷': "/"}

// tokens splits the line.
func (p *equationReader) tokens() error {
	r := []rune(p.text)
	if len(r) > maxLine {
		return p.fail(maxLine, "an equation has at most %d characters", maxLine)
	}
	for i := 0; i < len(r); {
		start := i
		switch c := r[i]; {
		case c == '#':
			i = len(r)
			continue
		case unicode.IsSpace(c):
			i++
			continue
		case isDigit(c) || c == '.' && i+1 < len(r) && isDigit(r[i+1]):
			i = numberEnd(r, i)
			p.list = append(p.list, token{'n', string(r[start:i]), start + 1})
		case unicode.IsLetter(c):
			for i < len(r) && (unicode.IsLetter(r[i]) || unicode.IsDigit(r[i]) || unicode.IsMark(r[i]) || r[i] == '_') {
				i++
			}
			p.list = append(p.list, token{'w', string(r[start:i]), start + 1})
		default:
			text := string(c)
			if m, ok := marks[c]; ok {
				text = m
			}
			if !strings.Contains("+-*/^()=", text) {
				return p.fail(i+1, "%q has no meaning in an equation", text)
			}
			i++
			p.list = append(p.list, token{'m', text, start + 1})
		}
	}
	p.list = append(p.list, token{0, "", len(r) + 1})
	return nil
}

func isDigit(c rune) bool { return c >= '0' && c <= '9' }

// numberEnd returns where the number that starts at i ends: 12, 1.5, 2e-3.
func numberEnd(r []rune, i int) int {
	digits := func() {
		for i < len(r) && isDigit(r[i]) {
			i++
		}
	}
	digits()
	if i < len(r) && r[i] == '.' {
		i++
		digits()
	}
	if i < len(r) && (r[i] == 'e' || r[i] == 'E') {
		mark := i
		i++
		if i < len(r) && (r[i] == '-' || r[i] == '+') {
			i++
		}
		if i >= len(r) || !isDigit(r[i]) {
			return mark
		}
		digits()
	}
	return i
}

// parseEquation reads "name = expression"; comment lines give an empty name.
func parseEquation(text string, line int) (name string, column int, root *node, err error) {
	p := &equationReader{line: line, text: text}
	if err := p.tokens(); err != nil {
		return "", 0, nil, err
	}
	if len(p.list) == 1 {
		return "", 0, nil, nil
	}
	head := p.list[0]
	if head.kind != 'w' || p.list[1].text != "=" {
		return "", 0, nil, p.fail(head.column, "an equation begins with a name and =, such as c = m / V")
	}
	if reserved(head.text) {
		return "", 0, nil, p.fail(head.column, "%s is taken: it cannot be the name of a quantity", head.text)
	}
	p.at = 2
	root, err = p.expression(1)
	if err != nil {
		return "", 0, nil, err
	}
	if t := p.list[p.at]; t.kind != 0 {
		return "", 0, nil, p.unexpected(t)
	}
	return head.text, head.column, root, nil
}

func reserved(name string) bool {
	_, isFunction := findFunction(name)
	return isFunction || name == "pi"
}

func findFunction(name string) (opcode, bool) {
	for _, f := range functions {
		if f.name == name {
			return f.op, true
		}
	}
	return 0, false
}

func (p *equationReader) unexpected(t token) error {
	switch {
	case t.kind == 'n' || t.kind == 'w' || t.text == "(":
		return p.fail(t.column, "an operator is missing before %s", t.text)
	case t.text == ")":
		return p.fail(t.column, "this ) closes nothing")
	}
	return p.fail(t.column, "%s does not belong here", t.text)
}

// expression reads operators that bind at least as tightly as binding.
func (p *equationReader) expression(binding int) (*node, error) {
	p.depth++
	defer func() { p.depth-- }()
	if p.depth > maxDepth {
		return nil, p.fail(p.list[p.at].column, "more than %d expressions inside one another", maxDepth)
	}
	left, err := p.operand()
	if err != nil {
		return nil, err
	}
	for {
		t := p.list[p.at]
		o, ok := operators[t.text]
		if !ok || t.kind != 'm' || o.binding < binding {
			return left, nil
		}
		p.at++
		if t.text == "*" && p.list[p.at].text == "*" {
			return nil, p.fail(t.column, "write ^ for a power")
		}
		next := o.binding + 1
		if o.op == opPow { // 2^3^2 is 2^(3^2)
			next = o.binding
		}
		right, err := p.expression(next)
		if err != nil {
			return nil, err
		}
		left = &node{op: o.op, column: t.column, a: left, b: right}
	}
}

func (p *equationReader) operand() (*node, error) {
	t := p.list[p.at]
	p.at++
	switch {
	case t.kind == 'n':
		v, err := strconv.ParseFloat(t.text, 64)
		if err != nil {
			return nil, p.fail(t.column, "%s is not a number within range", t.text)
		}
		return &node{op: opConst, column: t.column, value: v}, nil
	case t.kind == 'w':
		return p.word(t)
	case t.text == "(":
		return p.parentheses(t)
	case t.text == "-":
		x, err := p.expression(bindingOfMinus)
		return &node{op: opNeg, column: t.column, a: x}, err
	case t.text == "+":
		return p.expression(bindingOfMinus)
	case t.kind == 0:
		return nil, p.fail(t.column, "the equation ends where a number, a name or ( should stand")
	}
	return nil, p.fail(t.column, "%s stands where a number, a name or ( should", t.text)
}

// parentheses reads up to the ) that closes open.
func (p *equationReader) parentheses(open token) (*node, error) {
	x, err := p.expression(1)
	if err != nil {
		return nil, err
	}
	switch t := p.list[p.at]; {
	case t.text == ")":
		p.at++
		return x, nil
	case t.kind == 0:
		return nil, p.fail(open.column, "this ( is not closed")
	default:
		return nil, p.unexpected(t)
	}
}

func (p *equationReader) word(t token) (*node, error) {
	call := p.list[p.at].text == "("
	op, ok := findFunction(t.text)
	switch {
	case ok && call:
		open := p.list[p.at]
		p.at++
		x, err := p.parentheses(open)
		return &node{op: op, column: t.column, a: x}, err
	case ok:
		return nil, p.fail(t.column, "%s needs its argument in parentheses", t.text)
	case call && t.text == "log":
		return nil, p.fail(t.column, "log is not said for which base: write ln or log10")
	case call:
		return nil, p.fail(t.column, "%s is no function; have %s (for a product write *)", t.text, functionNames())
	case t.text == "pi":
		return &node{op: opConst, column: t.column, value: pi}, nil
	}
	return &node{op: opName, column: t.column, name: t.text}, nil
}
