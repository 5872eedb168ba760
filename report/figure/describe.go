package figure

import (
	"fmt"
	"strings"
)

// describe says in sentences what the figure shows.
func (d *drawing) describe() string {
	if d.empty() {
		return strings.Join(append([]string{"An empty figure: no readings to draw yet."}, d.remarks()...), " ")
	}
	var out []string
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	say("%s against %s.", String(or(d.YLabel, "value")), String(or(d.XLabel, "volume added")))
	if n := len(d.rs); n > 0 {
		var x, y span
		left := 0
		for _, r := range d.rs {
			x.add(r.x)
			y.add(r.y)
			if r.out {
				left++
			}
		}
		say("%s, volume %s to %s, value %s to %s.", count(n, "reading"), d.short(x.low), d.short(x.high), d.short(y.low), d.short(y.high))
		if left > 0 {
			say("%s left out.", count(left, "reading"))
		}
	}
	if len(d.model) > 0 {
		a, b := d.model[0][0], d.model[len(d.model)-1]
		end := b[len(b)-1]
		say("The line (%s) runs from %s at %s to %s at %s.", String(or(d.ModelLabel, "model")), d.short(a.Y), d.short(a.X), d.short(end.Y), d.short(end.X))
	}
	for i, o := range d.Overlays {
		var y span
		y.addLines(d.others[i], ofY)
		if y.any {
			say("%s: value %s to %s.", String(or(o.Label, "another curve")), d.short(y.low), d.short(y.high))
		}
	}
	for _, m := range d.Landmarks {
		say("%s.", String(d.words(m)))
	}
	for _, m := range d.Methods {
		say("End point by %s.", String(d.words(m)))
	}
	for _, s := range sameWords(d.swatches()) {
		say("Colour of the solution from %s to %s: %s.", d.short(s.From), d.short(s.To), s.Words)
	}
	return strings.Join(append(out, d.remarks()...), " ")
}

// short writes a number with up to six significant figures.
func (d *drawing) short(v float64) string {
	text := fmt.Sprintf("%.6g", v)
	return sign(text, d.Comma)
}

func (d *drawing) remarks() []string {
	var out []string
	for _, n := range d.notes {
		out = append(out, n.text)
	}
	return out
}
