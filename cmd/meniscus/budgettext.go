package main

import (
	"fmt"
	"io"
	"math"
	"strings"
	"unicode/utf8"

	"meniscus/uncertainty"
)

// textWidth is how wide the text of a budget may be.
const textWidth = 80

func writeBudgetText(w io.Writer, r *budgetResult) error {
	var t strings.Builder
	m, b := r.model, r.budget
	if m.Title != "" {
		t.WriteString(wrapped(m.Title, 0) + "\n\n")
	}
	for _, line := range strings.Split(m.Equations, "\n") {
		t.WriteString(wrapped("  "+strings.TrimSpace(line), 6) + "\n")
	}
	x, u := uncertainty.Round(b.X, b.U)
	fmt.Fprintf(&t, "\n%s = %s%s\n", m.Measurand, x, unitText(m.Unit))
	fmt.Fprintf(&t, "standard uncertainty u = %s%s%s\n", u, unitText(m.Unit), relative(b.U, b.X))
	_, expanded := uncertainty.Round(b.X, b.Expanded)
	t.WriteString(wrapped(fmt.Sprintf("expanded uncertainty U = %s%s (%g %%, k = %.2f, %s)", expanded, unitText(m.Unit), 100*uncertainty.Level, b.K, freedomText(b.DoF)), 26) + "\n")
	for i, d := range b.Intermediate {
		if i == 0 {
			t.WriteString("\nOn the way\n")
		}
		v := uncertainty.Value{X: d.X, U: d.U}
		fmt.Fprintf(&t, "  %s = %s%s\n", d.Name, v, relative(d.U, d.X))
	}
	budgetTable(&t, b)
	halvingText(&t, b)
	if r.simulation != nil {
		simulationText(&t, r)
	}
	_, err := io.WriteString(w, t.String())
	return err
}

func unitText(unit string) string {
	if unit == "" {
		return ""
	}
	return " " + unit
}

// relative is " (relative 0.12 %)", or nothing where there is no ratio.
func relative(u, x float64) string {
	if p := 100 * u / math.Abs(x); p > 0 && !math.IsInf(p, 0) {
		return fmt.Sprintf(" (relative %.2g %%)", p)
	}
	return ""
}

func freedomText(dof float64) string {
	if math.IsInf(dof, 1) {
		return "no limit to the degrees of freedom"
	}
	if dof >= 10 {
		return fmt.Sprintf("%.0f effective degrees of freedom", math.Floor(dof))
	}
	return fmt.Sprintf("%.2g effective degrees of freedom", dof)
}

// wrapped breaks text between words; the further lines begin with indent spaces.
func wrapped(text string, indent int) string {
	var b strings.Builder
	width := 0
	lead := len(text) - len(strings.TrimLeft(text, " "))
	for i, word := range strings.Fields(text) {
		n := utf8.RuneCountInString(word)
		switch {
		case i == 0:
			b.WriteString(strings.Repeat(" ", lead))
			width = lead
		case width+1+n > textWidth:
			b.WriteString("\n" + strings.Repeat(" ", indent))
			width = indent
		default:
			b.WriteString(" ")
			width++
		}
		b.WriteString(word)
		width += n
	}
	return b.String()
}

const (
	budgetHead = "%-11s %-26s %-13s %9s %9s %6s\n"
	nameWidth  = 11
	headWidth  = nameWidth + 1 + 26 + 1
)

// budgetTable writes a line for each input, the largest share first: its value,
// sensitivity coefficient c_i, contribution and share. A name or value too long
// for its column gets a line of its own.
func budgetTable(t *strings.Builder, b *uncertainty.Budget) {
	fmt.Fprintf(t, "\n"+budgetHead, "input", "value, u", "distribution", "c_i", "|c_i| u", "share")
	for _, s := range b.Shares {
		v := s.Value.String() + unitText(s.Unit)
		shape := s.Type + " " + string(s.Shape)
		if s.U == 0 {
			v, shape = fmt.Sprintf("%g", s.X)+unitText(s.Unit), "exact"
		}
		head := pad(pad(s.Name+" ", nameWidth+1)+v+" ", headWidth)
		fmt.Fprintf(t, "%s%-13s %9.3g %9.3g %6s\n", head, shape, s.Sensitivity, s.Contribution, percent(s.Share))
		if s.Note != "" {
			t.WriteString(wrapped("            "+s.Note, 12) + "\n")
		}
	}
	if b.Correlation != 0 {
		fmt.Fprintf(t, budgetHead, "correlation", "", "", "", "", percent(b.Correlation))
	}
}

// pad fills the last line of text up to width, or goes on to a new line.
func pad(text string, width int) string {
	last := text[strings.LastIndexByte(text, '\n')+1:]
	if n := utf8.RuneCountInString(last); n <= width {
		return text + strings.Repeat(" ", width-n)
	}
	return strings.TrimRight(text, " ") + "\n" + strings.Repeat(" ", width)
}

func percent(share float64) string { return fmt.Sprintf("%.1f%%", 100*share) }

func halvingText(t *strings.Builder, b *uncertainty.Budget) {
	if len(b.Halving) == 0 {
		return
	}
	t.WriteString("\nWhat would halve u\n")
	for _, h := range b.Halving {
		text := fmt.Sprintf("  %s: ", h.Name)
		switch {
		case h.Factor == 0:
			text += fmt.Sprintf("not alone; with this input exact, u is still %.0f %% of what it is", 100*h.Rest)
		case h.Readings > 0:
			text += fmt.Sprintf("%s times smaller, that is %d readings", factorText(h.Factor), h.Readings)
		default:
			text += factorText(h.Factor) + " times smaller"
		}
		t.WriteString(wrapped(text, 4) + "\n")
	}
	if g := b.Together; len(g.Names) > 1 {
		t.WriteString(wrapped(fmt.Sprintf("  %s together: each %s times smaller", g, factorText(g.Factor)), 4) + "\n")
	}
}

// factorText rounds up, so that the factor is enough.
func factorText(f float64) string {
	if f >= 100 {
		return fmt.Sprintf("%.0f", math.Ceil(f))
	}
	return fmt.Sprintf("%.1f", math.Ceil(10*f-1e-9)/10)
}

func simulationText(t *strings.Builder, r *budgetResult) {
	s, b, c := r.simulation, r.budget, r.comparison
	fine := func(x float64) string { // one digit more than u has
		text, _ := uncertainty.Round(x, s.StdDev/10)
		return text
	}
	fmt.Fprintf(t, "\nMonte Carlo, %d trials, seed %d\n", s.Trials, r.seed)
	fmt.Fprintf(t, "  mean %s, u = %s\n", fine(s.Mean), fine(s.StdDev))
	row := "  %-34s %s to %s\n"
	level := fmt.Sprintf("%g %% interval, ", 100*s.Level)
	fmt.Fprintf(t, row, level+"symmetric", fine(s.Symmetric[0]), fine(s.Symmetric[1]))
	fmt.Fprintf(t, row, level+"shortest", fine(s.Shortest[0]), fine(s.Shortest[1]))
	fmt.Fprintf(t, row, level+"by propagation", fine(b.X-b.Expanded), fine(b.X+b.Expanded))
	worst := fmt.Sprintf("the ends differ by up to %.2g, and half the last digit of u is %.2g (JCGM 101, 8.1)", math.Max(c.Low, c.High), c.Tolerance)
	verdict := "Propagation is validated: " + worst + "."
	switch {
	case c.Undecided:
		verdict = "The trials do not decide whether propagation is validated: " + worst + "."
	case !c.Agrees:
		verdict = "Propagation is not validated here, use the Monte Carlo interval: " + worst + "."
	}
	t.WriteString(wrapped("  "+verdict, 2) + "\n")
}
