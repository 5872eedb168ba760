package figure

import (
	"fmt"
	"slices"
	"strings"
)

// A drawing is a figure while it is made.
type drawing struct {
	Curve
	fig    Figure
	em     float64 // size of a label, points
	margin float64 // left and right of everything
	top    float64 // where the next row begins
	rs     []reading
	model  [][]Point
	slope  [][]Point
	others [][][]Point // the lines of each overlay
	main   Panel
	scale  Ticks
	place  placer
	right  bool // words of crowded landmarks stand to the right of their poles
	notes  []remark
	seen   map[place]bool // where readings were drawn, if they are many
}

// A remark is a sentence under the figure.
type remark struct {
	text string
	role Role
}

// Draw lays out the figure of a curve. Slices of unequal length and an unknown
// size are errors. Readings without a drawable number are left away and counted
// in a note under the figure; a curve with nothing to draw gives a figure that
// says so.
func Draw(c Curve) (Figure, error) {
	if err := c.check(); err != nil {
		return Figure{}, err
	}
	if _, err := parsed(); err != nil {
		return Figure{}, fmt.Errorf("drawing the curve: %w", err)
	}
	p := presets[c.Size]
	d := &drawing{Curve: c, em: p.em, margin: 0.7 * p.em}
	d.fig.Width = p.width
	var bad int
	d.rs, bad = c.readings()
	d.model = unbroken(c.ModelVolume, c.ModelValue)
	d.slope = unbroken(c.DerivativeVolume, c.DerivativeValue)
	for _, o := range c.Overlays {
		d.others = append(d.others, unbroken(o.Volume, o.Value))
	}
	if bad > 0 {
		d.note(Warn, "%s without a number %s not drawn.", count(bad, "reading"), isAre(bad))
	}
	d.heading()
	d.layMain(p.curve)
	if d.empty() {
		d.emptyMain()
	} else {
		d.drawMain()
		d.drawPanels(p.panel)
	}
	d.footnotes()
	d.fig.Height = d.top + d.margin
	d.fig.Title = orText(String(c.Title), "Titration curve")
	d.fig.Desc = d.describe()
	return d.fig, nil
}

// empty says that there is nothing to draw.
func (d *drawing) empty() bool { return len(d.rs)+len(d.lines()) == 0 }

// lines are all that the axes must cover.
func (d *drawing) lines() [][]Point {
	return slices.Concat(append([][][]Point{d.model}, d.others...)...)
}

// layerOrder is the order of painting: what guides first, what is read last.
var layerOrder = []string{"grid", "band", "scale", "axes", "drops", "overlays", "model", "readings", "residuals", "derivative", "methods", "landmarks", "labels", "notes"}

// add puts marks into the layer.
func (d *drawing) add(layer string, marks ...Mark) {
	for i := range d.fig.Layers {
		if d.fig.Layers[i].Name == layer {
			d.fig.Layers[i].Marks = append(d.fig.Layers[i].Marks, marks...)
			return
		}
	}
	d.fig.Layers = append(d.fig.Layers, Layer{layer, marks})
	slices.SortStableFunc(d.fig.Layers, func(a, b Layer) int {
		return slices.Index(layerOrder, a.Name) - slices.Index(layerOrder, b.Name)
	})
}

func (d *drawing) note(role Role, format string, args ...any) {
	d.notes = append(d.notes, remark{fmt.Sprintf(format, args...), role})
}

// hair is the thinnest line that every writer and printer still shows.
func (d *drawing) hair(r Role) Stroke { return Stroke{Paint{Role: r}, 0.055 * d.em, nil} }

func (d *drawing) line(r Role) Stroke { return Stroke{Paint{Role: r}, 0.085 * d.em, nil} }

// label makes a text at the size of labels times scale.
func (d *drawing) label(at Point, runs []Run, a Anchor, r Role, scale float64) Text {
	return Text{At: at, Runs: runs, Size: scale * d.em, Anchor: a, Paint: Paint{Role: r}}
}

// heading draws the title, over as many lines as it needs.
func (d *drawing) heading() {
	d.top = d.margin
	if len(d.Title) == 0 {
		return
	}
	const size = 1.3
	for _, line := range wrap(d.Title, SerifBold, size*d.em, d.fig.Width-2*d.margin) {
		d.top += size * d.em
		t := d.label(Point{d.margin, d.top}, line, Start, Ink, size)
		t.Face = SerifBold
		d.add("labels", t)
		d.top += 0.35 * d.em
	}
	d.top += 0.5 * d.em
}

// footnotes draws the notes under everything.
func (d *drawing) footnotes() {
	for _, n := range d.notes {
		for _, line := range wrap(Plain(n.text), Sans, 0.88*d.em, d.fig.Width-2*d.margin) {
			d.top += 1.25 * d.em
			d.add("notes", d.label(Point{d.margin, d.top}, line, Start, n.role, 0.88))
		}
	}
	if len(d.notes) > 0 {
		d.top += 0.3 * d.em
	}
}

// wrap breaks the runs into lines no wider than width, at spaces; a word that
// is wider alone is cut.
func wrap(runs []Run, face Face, size, width float64) [][]Run {
	var lines [][]Run
	var line []Run
	push := func() {
		if len(line) > 0 {
			line[len(line)-1].Text = strings.TrimRight(line[len(line)-1].Text, " ")
			lines = append(lines, line)
		}
		line = nil
	}
	for _, run := range runs {
		for _, piece := range pieces(run, face, size, width) {
			if len(line) > 0 && Width(append(slices.Clone(line), trimmed(piece)), face, size) > width {
				push()
				piece.Text = strings.TrimLeft(piece.Text, " ")
			}
			line = append(line, piece)
		}
	}
	push()
	for i := range lines {
		lines[i] = joined(lines[i])
	}
	return lines
}

func trimmed(r Run) Run {
	r.Text = strings.TrimRight(r.Text, " ")
	return r
}

// pieces cuts a run after each space, and inside words wider than a line.
func pieces(run Run, face Face, size, width float64) []Run {
	var out []Run
	for _, word := range strings.SplitAfter(run.Text, " ") {
		piece := Run{Shift: run.Shift}
		for _, r := range word {
			longer := Run{piece.Text + string(r), run.Shift}
			if piece.Text != "" && Width([]Run{longer}, face, size) > width {
				out = append(out, piece)
				longer.Text = string(r)
			}
			piece = longer
		}
		if piece.Text != "" {
			out = append(out, piece)
		}
	}
	return out
}

// joined merges neighbouring runs of the same shift.
func joined(runs []Run) []Run {
	var out []Run
	for _, r := range runs {
		if n := len(out); n > 0 && out[n-1].Shift == r.Shift {
			out[n-1].Text += r.Text
			continue
		}
		out = append(out, r)
	}
	return out
}

func orText(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

func isAre(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}
