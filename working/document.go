// Package working is worked text: sections, paragraphs, tables and steps whose
// equations are trees of symbols and numbers with units. One tree gives plain
// text, HTML, LaTeX and JSON. It knows how working is set out, no chemistry:
// see explain for what is worked out.
//
// A step holds a formula of symbols, each with its value. The line with numbers
// is the same tree filled in, and the result is the tree's value, so the three
// cannot disagree. Numbers are in the unit they are shown in, and the units
// must fit together as written: mL times mol/L gives mmol.
package working

import (
	"fmt"
	"strings"
)

// A Document is worked text with a title.
type Document struct {
	Title    string
	Lead     Paragraph // what it is about, in a sentence
	Sections []Section
}

// A Kind is what a section is about, for those who pick sections out of a
// document: titles are for reading and may change. The package that writes a
// document names its kinds; "" is no kind in particular.
type Kind string

// A Section is a titled part of a document.
type Section struct {
	Kind    Kind
	Title   string
	NewPage bool // begins a page when printed
	Blocks  []Block
}

// A Block is a Paragraph, Step, Table, Display, List, Caution or Definitions.
type Block interface{ block() }

// A Paragraph is running text.
type Paragraph []Inline

// A Display is a relation on a line of its own, such as a mass balance.
type Display struct {
	Say  Paragraph // may be empty
	Expr Expr
}

// A Reaction is a reaction equation on a line of its own, as chem.ParseReaction
// reads it.
type Reaction struct {
	Say      Paragraph
	Equation string
}

// A Step is one line of working. Quantity is what is found, with its value;
// Formula, if there is one, has that value.
type Step struct {
	Say      Paragraph
	Quantity Symbol
	Formula  Expr // nil where the value is taken from somewhere, as Say tells
	// Approximate says that the formula neglects something: it is set with ≈.
	Approximate bool
	Note        Paragraph
}

// A Table has a header for columns; the first column heads the rows.
type Table struct {
	Caption Paragraph
	Head    []Paragraph
	Rows    [][]Paragraph
}

// A List is a list of points.
type List []Paragraph

// A Caution is text that must not be overlooked.
type Caution Paragraph

// Definitions says what symbols mean. Explain puts them where they are needed.
type Definitions []Symbol

func (Paragraph) block()   {}
func (Display) block()     {}
func (Reaction) block()    {}
func (Step) block()        {}
func (Table) block()       {}
func (List) block()        {}
func (Caution) block()     {}
func (Definitions) block() {}

// An Inline is a piece of running text: Text, Chem or Math.
type Inline interface{ inline() }

// Text is plain text.
type Text string

// Chem is a species or a reaction as package chem reads it, typeset.
type Chem string

// Math is an expression within a line.
type Math struct{ Expr Expr }

func (Text) inline() {}
func (Chem) inline() {}
func (Math) inline() {}

// P makes a paragraph: {Fe^2+} in the format is typeset as chemistry, and each
// @ stands for the next expression. It panics where the number of expressions
// does not fit, as only a program can get that wrong. Text from elsewhere, which
// may hold these signs, is appended as Text.
func P(format string, exprs ...Expr) Paragraph {
	var p Paragraph
	used := 0
	for format != "" {
		i := strings.IndexAny(format, "{@")
		if i < 0 {
			p = append(p, Text(format))
			break
		}
		if i > 0 {
			p = append(p, Text(format[:i]))
		}
		if format[i] == '@' {
			if used == len(exprs) {
				panic(fmt.Sprintf("working: too few expressions for %q", format))
			}
			p = append(p, Math{exprs[used]})
			used++
			format = format[i+1:]
			continue
		}
		end := strings.IndexByte(format[i:], '}')
		if end < 0 {
			panic(fmt.Sprintf("working: { without } in %q", format))
		}
		p = append(p, Chem(format[i+1:i+end]))
		format = format[i+end+1:]
	}
	if used != len(exprs) {
		panic(fmt.Sprintf("working: %d expressions for %d places", len(exprs), used))
	}
	return p
}

// Plain returns text from elsewhere as a paragraph.
func Plain(s string) Paragraph { return Paragraph{Text(s)} }
