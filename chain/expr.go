package chain

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"

	"meniscus/uncertainty"
)

// An expr is a piece of an equation with the value it has.
type expr struct {
	text string
	x    float64
}

// within makes name the step that is written, and returns what ends it.
func (b *builder) within(name string) func() {
	before := b.scope
	if b.apart {
		b.scope += " for " + name
	}
	return func() { b.scope = before }
}

func constant(x float64) expr { return expr{strconv.FormatFloat(x, 'g', -1, 64), x} }

func times(list ...expr) expr {
	out := expr{"", 1}
	for _, e := range list {
		if e.text == "1" {
			continue
		}
		if out.text != "" {
			out.text += "*"
		}
		out.text, out.x = out.text+e.text, out.x*e.x
	}
	if out.text == "" {
		out.text = "1"
	}
	return out
}

func over(a, b expr) expr {
	if b.text == "1" {
		return a
	}
	return expr{a.text + "/" + bracket(b.text), a.x / b.x}
}

func plus(a, b expr) expr { return expr{a.text + " + " + b.text, a.x + b.x} }

func minus(a, b expr) expr { return expr{a.text + " - " + bracket(b.text), a.x - b.x} }

// bracketed makes a sum one factor.
func bracketed(e expr) expr { return expr{bracket(e.text), e.x} }

func bracket(text string) string {
	if !strings.ContainsAny(text, "+-*/ ") || enclosed(text) {
		return text
	}
	return "(" + text + ")"
}

// enclosed says whether one pair of brackets holds all of text.
func enclosed(text string) bool {
	depth := 0
	for i, r := range text {
		switch r {
		case '(':
			depth++
		case ')':
			depth--
		}
		if depth == 0 {
			return i == len(text)-1 && text[0] == '('
		}
	}
	return false
}

// names gives every name of a shelf a name that equations can use.
type names struct {
	of    map[string]string
	taken map[string]bool
}

func (n *names) name(prefix, text string) string {
	key := prefix + "\x00" + text
	if id, ok := n.of[key]; ok {
		return id
	}
	id := prefix + "_" + strings.Trim(strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return r
		}
		return '_'
	}, text), "_")
	for base, k := id, 2; n.taken[id]; k++ {
		id = fmt.Sprintf("%s_%d", base, k)
	}
	n.of[key], n.taken[id] = id, true
	return id
}

// builder writes the measurement model of one solution or determination.
type builder struct {
	s     *Shelf
	names *names
	apart bool   // each step draws errors of its own, whatever it shares with others
	scope string // the step, where apart

	equations []string
	inputs    []uncertainty.Input
	have      map[string]expr
	notes     []string
	path      []string // solutions and substances it rests on, in the order met
	runs      map[string]Scatter
}

// input adds an input, once for each name, and returns it as an expression.
func (b *builder) input(prefix, text string, in uncertainty.Input) expr {
	in.Name = b.names.name(prefix, text+b.scope)
	if e, ok := b.have[in.Name]; ok {
		return e
	}
	e := expr{in.Name, in.X}
	if in.Readings != nil {
		e.x, _ = uncertainty.MeanSD(in.Readings)
	}
	b.have[in.Name] = e
	b.inputs = append(b.inputs, in)
	return e
}

// define adds an equation and returns its left side.
func (b *builder) define(prefix, text string, right expr) expr {
	id := b.names.name(prefix, text+b.scope)
	b.equations = append(b.equations, id+" = "+right.text)
	e := expr{id, right.x}
	b.have[id] = e
	return e
}

func (b *builder) note(format string, args ...any) {
	b.notes = append(b.notes, fmt.Sprintf(format, args...))
}

// normal is an input known by its standard uncertainty; by limits where that
// makes no difference to propagation.
func normal(x, u float64, unit, note string) uncertainty.Input {
	return uncertainty.Input{X: x, Unit: unit, Note: note, Stated: uncertainty.Stated{Width: u}}
}

// nodes is how many points of a burette's scale have errors of their own.
const nodes = 5

// delivered is the volume in mL that a burette gave: what was read, and its
// error. A class limits the error of every delivery, and neighbouring ones
// share it: the error is drawn at every fifth of the capacity and mixed between
// them, with the same standard uncertainty throughout. So errors of like volumes
// cancel in a ratio, and those of unlike ones do not.
func (b *builder) delivered(w *Ware, volume expr, label string) expr {
	v := volume.x
	if w.Certificate != nil {
		c, err := w.Certificate.Delivered(0, millilitres(v))
		if err == nil {
			add := float64(c)*1e3 - v
			volume = plus(volume, constant(math.Round(add*1e6)/1e6))
		} else {
			b.note("%s: %v; the certificate is not applied to %.2f mL", w.Name, err, v)
		}
	}
	if w.StdUnc == 0 {
		return bracketed(volume)
	}
	capacity := float64(w.Volume) * 1e3
	for ; v > capacity*(1+1e-9); v -= capacity {
		volume = plus(volume, b.node(w, nodes))
	}
	at := v / capacity * nodes
	k := int(at)
	switch {
	case k < 1:
		volume = plus(volume, b.node(w, 1))
	case k >= nodes:
		volume = plus(volume, b.node(w, nodes))
	default:
		right := at - float64(k)
		norm := math.Hypot(right, 1-right)
		for _, p := range []struct {
			node   int
			weight float64
		}{{k, (1 - right) / norm}, {k + 1, right / norm}} {
			if weight := math.Round(p.weight*1e4) / 1e4; weight > 0 {
				volume = plus(volume, times(constant(weight), b.node(w, p.node)))
			}
		}
	}
	return bracketed(volume)
}

// node is the error of a burette at k fifths of its capacity.
func (b *builder) node(w *Ware, k int) expr {
	at := float64(w.Volume) * 1e3 * float64(k) / nodes
	return b.input("e", fmt.Sprintf("%s at %g", w.Name, at), normal(0, float64(w.StdUnc)*1e3, "mL", fmt.Sprintf("error of %s near %g mL; %s", w.Name, at, w.Note)))
}

// volumeOf is the volume of a pipette or flask in mL.
func (b *builder) volumeOf(w *Ware) expr {
	return b.input("V", w.Name, normal(inML(float64(w.Volume)), float64(w.StdUnc)*1e3, "mL", w.Name+"; "+w.Note))
}
