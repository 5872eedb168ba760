package working

import (
	"fmt"
	"math"
)

// An Expr is a node of an expression: Number, Symbol, Sum, Product, Frac, Power,
// Func, Relation or Word.
type Expr interface{ expr() }

// A Symbol stands for a quantity. Two symbols are the same where they look the
// same.
type Symbol struct {
	Letter  string // E, n, [ for a concentration in brackets
	Degree  bool   // with ° behind the letter, as in E°
	Prime   bool   // with ′, as in E°′
	Sub     string // lowered, upright
	Of      string // the species or couple it belongs to, as chem reads them
	Meaning string // in words, for the first use
	Value   Number
}

// A Sum is terms added up; those with a Minus are taken off.
type Sum []Term

// A Term is a part of a sum.
type Term struct {
	Expr  Expr
	Minus bool
}

// A Product is factors.
type Product []Expr

// A Frac is a fraction.
type Frac struct{ Num, Den Expr }

// A Power is a base with an exponent.
type Power struct{ Base, Exp Expr }

// A Func is lg (decadic logarithm), ln, exp or sqrt of an argument.
type Func struct {
	Name string
	Arg  Expr
}

// A Relation joins expressions: =, ≈, <, >, ≪, ≫, ≤, ≥ or →.
type Relation struct {
	Left  Expr
	Sign  string
	Right Expr
}

// A Word is upright text in an expression, such as the name of a method.
type Word string

func (Number) expr()   {}
func (Symbol) expr()   {}
func (Sum) expr()      {}
func (Product) expr()  {}
func (Frac) expr()     {}
func (Power) expr()    {}
func (Func) expr()     {}
func (Relation) expr() {}
func (Word) expr()     {}

// Add returns the sum of terms.
func Add(terms ...Expr) Sum {
	s := make(Sum, len(terms))
	for i, t := range terms {
		s[i] = Term{Expr: t}
	}
	return s
}

// Less returns a − b − ...
func Less(a Expr, others ...Expr) Sum {
	s := Sum{{Expr: a}}
	if sum, ok := a.(Sum); ok {
		s = append(Sum(nil), sum...)
	}
	for _, b := range others {
		s = append(s, Term{Expr: b, Minus: true})
	}
	return s
}

// Times returns the product of factors.
func Times(factors ...Expr) Product { return Product(factors) }

// Over returns a fraction.
func Over(num, den Expr) Frac { return Frac{num, den} }

// Lg returns the decadic logarithm of an argument.
func Lg(arg Expr) Func { return Func{"lg", arg} }

// Root returns the square root of an argument.
func Root(arg Expr) Func { return Func{"sqrt", arg} }

// TenTo returns ten to the power x.
func TenTo(x Expr) Power { return Power{Count(10), x} }

// An EvalError reports an expression that has no value.
type EvalError struct{ Reason string }

func (e *EvalError) Error() string { return "expression without a value: " + e.Reason }

// Eval returns the value of an expression in the units that its numbers are
// shown in.
func Eval(e Expr) (float64, error) {
	switch e := e.(type) {
	case Number:
		return e.Value, nil
	case Symbol:
		if e.Value.IsZero() {
			return 0, &EvalError{"no number for " + textExpr(e)}
		}
		return e.Value.Value, nil
	case Sum:
		return evalAll(termExprs(e), func(acc, x float64, i int) float64 {
			if e[i].Minus {
				return acc - x
			}
			return acc + x
		}, 0)
	case Product:
		return evalAll(e, func(acc, x float64, _ int) float64 { return acc * x }, 1)
	case Frac:
		return evalAll([]Expr{e.Num, e.Den}, func(acc, x float64, i int) float64 {
			if i == 0 {
				return x
			}
			return acc / x
		}, 0)
	case Power:
		return evalAll([]Expr{e.Base, e.Exp}, func(acc, x float64, i int) float64 {
			if i == 0 {
				return x
			}
			return math.Pow(acc, x)
		}, 0)
	case Func:
		x, err := Eval(e.Arg)
		if err != nil {
			return 0, err
		}
		f, ok := functions[e.Name]
		if !ok {
			return 0, &EvalError{fmt.Sprintf("unknown function %q", e.Name)}
		}
		return f(x), nil
	}
	return 0, &EvalError{fmt.Sprintf("%T", e)}
}

var functions = map[string]func(float64) float64{"lg": math.Log10, "ln": math.Log, "exp": math.Exp, "sqrt": math.Sqrt}

func evalAll(list []Expr, join func(acc, x float64, i int) float64, acc float64) (float64, error) {
	for i, e := range list {
		x, err := Eval(e)
		if err != nil {
			return 0, err
		}
		acc = join(acc, x, i)
	}
	return acc, nil
}

func termExprs(s Sum) []Expr {
	list := make([]Expr, len(s))
	for i, t := range s {
		list[i] = t.Expr
	}
	return list
}

// Fill returns the expression with a number in place of each symbol that has
// one.
func Fill(e Expr) Expr {
	switch e := e.(type) {
	case Symbol:
		if e.Value.IsZero() {
			return e
		}
		return e.Value
	case Sum:
		s := make(Sum, len(e))
		for i, t := range e {
			s[i] = Term{Fill(t.Expr), t.Minus}
		}
		return s
	case Product:
		p := make(Product, len(e))
		for i, f := range e {
			p[i] = Fill(f)
		}
		return p
	case Frac:
		return Frac{Fill(e.Num), Fill(e.Den)}
	case Power:
		return Power{Fill(e.Base), Fill(e.Exp)}
	case Func:
		return Func{e.Name, Fill(e.Arg)}
	case Relation:
		return Relation{Fill(e.Left), e.Sign, Fill(e.Right)}
	}
	return e
}

// Key returns how a symbol looks: what tells it from others.
func (s Symbol) Key() string { return textExpr(s) }

// With returns the symbol with a value.
func (s Symbol) With(n Number) Symbol {
	s.Value = n
	return s
}

// Find makes a step: the value of the quantity is that of the formula, shown to
// the decimals of n as many times as given by format.
func Find(say Paragraph, quantity Symbol, formula Expr, format Format, unit string) (Step, error) {
	x, err := Eval(formula)
	if err != nil {
		return Step{}, fmt.Errorf("working out %s: %w", quantity.Key(), err)
	}
	quantity.Value = format.Number(x, unit)
	return Step{Say: say, Quantity: quantity, Formula: formula}, nil
}
