package working

import "fmt"

// Symbols calls see for every symbol of a block in reading order.
func Symbols(b Block, see func(Symbol)) {
	Exprs(b, func(e Expr) {
		if s, ok := e.(Symbol); ok {
			see(s)
		}
	})
}

// Exprs calls see for every node of every expression of a block, in reading
// order, parents first.
func Exprs(b Block, see func(Expr)) {
	switch b := b.(type) {
	case Paragraph:
		paragraph(b, see)
	case Caution:
		paragraph(Paragraph(b), see)
	case List:
		for _, p := range b {
			paragraph(p, see)
		}
	case Display:
		paragraph(b.Say, see)
		nodes(b.Expr, see)
	case Reaction:
		paragraph(b.Say, see)
	case Step:
		paragraph(b.Say, see)
		nodes(b.Quantity, see)
		if b.Formula != nil {
			nodes(b.Formula, see)
		}
		paragraph(b.Note, see)
	case Table:
		paragraph(b.Caption, see)
		for _, p := range b.Head {
			paragraph(p, see)
		}
		for _, row := range b.Rows {
			for _, p := range row {
				paragraph(p, see)
			}
		}
	case Definitions:
		for _, s := range b {
			nodes(s, see)
		}
	}
}

func paragraph(p Paragraph, see func(Expr)) {
	for _, i := range p {
		if m, ok := i.(Math); ok {
			nodes(m.Expr, see)
		}
	}
}

func nodes(e Expr, see func(Expr)) {
	if e == nil {
		return
	}
	see(e)
	for _, c := range children(e) {
		nodes(c, see)
	}
}

func children(e Expr) []Expr {
	switch e := e.(type) {
	case Symbol:
		if e.Value.IsZero() {
			return nil
		}
		return []Expr{e.Value}
	case Sum:
		return termExprs(e)
	case Product:
		return e
	case Frac:
		return []Expr{e.Num, e.Den}
	case Power:
		return []Expr{e.Base, e.Exp}
	case Func:
		return []Expr{e.Arg}
	case Relation:
		return []Expr{e.Left, e.Right}
	}
	return nil
}

// Explain puts Definitions behind each block that uses symbols for the first
// time; before the first of a document nothing is known. It is applied once,
// when the document is whole.
func (d *Document) Explain() {
	known := map[string]bool{}
	if lead := unknown(d.Lead, known); len(lead) > 0 && len(d.Sections) > 0 {
		d.Sections[0].Blocks = append([]Block{lead}, d.Sections[0].Blocks...)
	}
	for i := range d.Sections {
		var blocks []Block
		for _, b := range d.Sections[i].Blocks {
			blocks = append(blocks, b)
			if list := unknown(b, known); len(list) > 0 {
				blocks = append(blocks, list)
			}
		}
		d.Sections[i].Blocks = blocks
	}
}

// unknown returns the symbols of b that are not known, and makes them known. A
// definition needs no value: values change along a document.
func unknown(b Block, known map[string]bool) Definitions {
	var list Definitions
	Symbols(b, func(s Symbol) {
		if key := s.Key(); !known[key] {
			known[key] = true
			if _, ok := b.(Definitions); !ok {
				unit := s.Value
				s.Value = Number{Unit: unit.Unit, Pure: unit.Pure}
				list = append(list, s)
			}
		}
	})
	return list
}

// Check returns what is wrong with a document: numbers without a unit, symbols
// without a meaning, with two, or not explained by the block that follows,
// numbers that are none, and steps whose formula has another value.
func (d *Document) Check() []error {
	c := checker{meaning: map[string]string{}}
	c.block("lead", d.Lead)
	for _, s := range d.Sections {
		for i, b := range s.Blocks {
			c.block(s.Title, b)
			var next Block
			if i+1 < len(s.Blocks) {
				next = s.Blocks[i+1]
			}
			if defs, ok := next.(Definitions); ok {
				c.define(s.Title, defs)
			}
			c.undefined(s.Title, b)
		}
	}
	return c.errs
}

type checker struct {
	meaning map[string]string
	errs    []error
}

func (c *checker) fault(where, format string, args ...any) {
	c.errs = append(c.errs, fmt.Errorf("%s: %s", where, fmt.Sprintf(format, args...)))
}

func (c *checker) define(where string, defs Definitions) {
	for _, s := range defs {
		key := s.Key()
		if s.Meaning == "" {
			c.fault(where, "symbol %s is not explained", key)
		}
		if old, ok := c.meaning[key]; ok && old != s.Meaning {
			c.fault(where, "symbol %s means %q and %q", key, old, s.Meaning)
		}
		c.meaning[key] = s.Meaning
	}
}

func (c *checker) undefined(where string, b Block) {
	Symbols(b, func(s Symbol) {
		switch old, ok := c.meaning[s.Key()]; {
		case !ok:
			c.fault(where, "symbol %s is used before it is explained", s.Key())
		case s.Meaning != "" && s.Meaning != old:
			c.fault(where, "symbol %s means %q and %q", s.Key(), old, s.Meaning)
		}
	})
}

func (c *checker) block(where string, b Block) {
	if _, ok := b.(Definitions); ok {
		return
	}
	Exprs(b, func(e Expr) {
		if n, ok := e.(Number); ok {
			c.number(where, n)
		}
	})
	step, ok := b.(Step)
	if !ok {
		return
	}
	if step.Quantity.Value.IsZero() {
		c.fault(where, "step for %s has no result", step.Quantity.Key())
		return
	}
	if step.Formula == nil {
		return
	}
	x, err := Eval(step.Formula)
	if err != nil {
		c.fault(where, "step for %s: %v", step.Quantity.Key(), err)
	} else if y := step.Quantity.Value.Value; !near(x, y) {
		c.fault(where, "step for %s: the formula gives %g, shown is %g", step.Quantity.Key(), x, y)
	}
}

func (c *checker) number(where string, n Number) {
	if n.Unit == "" && !n.Pure {
		c.fault(where, "number %s has no unit", n.Text)
	}
	if n.Value != n.Value || n.Value-n.Value != 0 {
		c.fault(where, "number %s is none", n.Text)
	}
}

func near(x, y float64) bool {
	d := x - y
	if d < 0 {
		d = -d
	}
	return d <= 1e-9*max(x, -x, y, -y, 1e-300)
}
