package figure

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"unicode"
)

// Smallest sketch that still shows something, in columns and rows.
const (
	leastColumns = 30
	leastRows    = 5
	mostColumns  = 1000
)

// Sketch draws the curve with characters: the model as a line of Braille dots
// (or of full stops), readings as o, readings left out as x, and under the
// scale a row with the place of each landmark. No line is longer than width;
// the plot itself has height rows. Sizes below 30 columns by 5 rows and above
// 1000 are brought to those. Without unicode only ASCII is written. Slices of
// unequal length are an error, as in [Draw].
func Sketch(w io.Writer, c Curve, width, height int, unicode bool) error {
	if err := c.check(); err != nil {
		return err
	}
	s := &sketch{Curve: c, unicode: unicode, columns: min(max(width, leastColumns), mostColumns), rows: min(max(height, leastRows), mostColumns)}
	s.rs, _ = c.readings()
	s.model = unbroken(c.ModelVolume, c.ModelValue)
	s.draw()
	if _, err := io.WriteString(w, s.out.String()); err != nil {
		return fmt.Errorf("writing the sketch: %w", err)
	}
	return nil
}

type sketch struct {
	Curve
	unicode       bool
	columns, rows int
	rs            []reading
	model         [][]Point
	x, y          Interval
	scale         Ticks
	left          int // columns before the axis
	cells         [][]rune
	out           strings.Builder
}

func (s *sketch) draw() {
	s.text(or(s.YLabel, "value"))
	if len(s.rs)+len(s.model) == 0 {
		s.line("  no readings to draw yet")
		return
	}
	s.x, s.y = volumeSpan(s.rs, s.model, s.Landmarks), valueSpan(s.rs, s.model)
	pad := 0.04 * (s.y.High - s.y.Low)
	s.y = Interval{s.y.Low - pad, s.y.High + pad}
	ticks := NiceTicks(s.y.Low, s.y.High, max(2, s.rows/3))
	labels := map[int]string{} // by row
	for _, v := range ticks.Values {
		text := s.plain(Number(v, ticks.Decimals, s.Comma))
		labels[s.row(v)] = text
		s.left = max(s.left, columnsOf(text))
	}
	s.left = min(s.left, s.columns/3)
	s.cells = make([][]rune, s.rows)
	for i := range s.cells {
		s.cells[i] = slices.Repeat([]rune{' '}, s.width())
	}
	s.plot()
	for i, row := range s.cells {
		bar := s.pick('│', '|')
		if labels[i] != "" {
			bar = s.pick('┤', '+')
		}
		s.line(fmt.Sprintf("%s %c%s", padLeft(labels[i], s.left), bar, string(row)))
	}
	s.axis()
	s.landmarks()
	s.text(or(s.XLabel, "volume added"))
}

// width is the number of columns of the plot itself.
func (s *sketch) width() int { return s.columns - s.left - 2 }

func (s *sketch) pick(u, a rune) rune {
	if s.unicode {
		return u
	}
	return a
}

func (s *sketch) column(v float64) int {
	return cellOf((v-s.x.Low)/(s.x.High-s.x.Low), s.width())
}

func (s *sketch) row(v float64) int {
	return s.rows - 1 - cellOf((v-s.y.Low)/(s.y.High-s.y.Low), s.rows)
}

// cellOf maps a share of an axis to one of n cells.
func cellOf(share float64, n int) int {
	return min(max(int(math.Floor(share*float64(n))), 0), n-1)
}

// plot fills the cells: the line first, the readings over it.
func (s *sketch) plot() {
	s.drawLine()
	for _, r := range s.rs {
		mark := 'o'
		if r.out {
			mark = 'x'
		}
		s.cells[s.row(r.y)][s.column(r.x)] = mark
	}
}

// drawLine walks each segment in steps below one dot. Braille cells hold 2 by 4
// dots, ASCII cells one.
func (s *sketch) drawLine() {
	across, down := 1, 1
	if s.unicode {
		across, down = 2, 4
	}
	nx, ny := s.width()*across, s.rows*down
	for _, data := range s.model {
		for _, line := range clip(data, s.y.Low, s.y.High) {
			for i := 1; i < len(line); i++ {
				a, b := s.dot(line[i-1], nx, ny), s.dot(line[i], nx, ny)
				steps := int(math.Ceil(max(math.Abs(b.X-a.X), math.Abs(b.Y-a.Y)))) + 1
				for k := range steps + 1 {
					t := float64(k) / float64(steps)
					x := min(max(int(a.X+(b.X-a.X)*t), 0), nx-1)
					y := min(max(int(a.Y+(b.Y-a.Y)*t), 0), ny-1)
					s.light(x, y, across, down)
				}
			}
		}
	}
}

// dot maps a data point to the grid of dots, y down.
func (s *sketch) dot(p Point, nx, ny int) Point {
	return Point{
		(p.X - s.x.Low) / (s.x.High - s.x.Low) * float64(nx),
		(s.y.High - p.Y) / (s.y.High - s.y.Low) * float64(ny),
	}
}

// brailleDots are the bits of the pattern U+2800, by row and column of the dot
// (The Unicode Standard, block Braille Patterns; from memory).
var brailleDots = [4][2]rune{{0x01, 0x08}, {0x02, 0x10}, {0x04, 0x20}, {0x40, 0x80}}

func (s *sketch) light(x, y, across, down int) {
	cell := &s.cells[y/down][x/across]
	if !s.unicode {
		*cell = '.'
		return
	}
	if *cell == ' ' {
		*cell = 0x2800
	}
	*cell |= brailleDots[y%down][x%across]
}

// axis writes the scale and its numbers.
func (s *sketch) axis() {
	n := s.width()
	s.scale = s.fit(n)
	rule := slices.Repeat([]rune{s.pick('─', '-')}, n)
	numbers := slices.Repeat([]rune{' '}, s.columns)
	from := 0 // first column free for a number
	for _, v := range s.scale.Values {
		c := s.column(v)
		rule[c] = s.pick('┬', '+')
		text := []rune(s.plain(Number(v, s.scale.Decimals, s.Comma)))
		at := min(s.left+2+c-len(text)/2, s.columns-len(text))
		if at >= from {
			copy(numbers[at:], text)
			from = at + len(text) + 1
		}
	}
	s.line(padLeft("", s.left) + " " + string(s.pick('└', '+')) + string(rule))
	s.line(string(numbers))
}

// fit chooses as many numbers as leave two columns between them.
func (s *sketch) fit(n int) Ticks {
	for most := n / 6; most > 1; most-- {
		t := NiceTicks(s.x.Low, s.x.High, most)
		widest := 0
		for _, v := range t.Values {
			widest = max(widest, columnsOf(s.plain(Number(v, t.Decimals, s.Comma))))
		}
		if float64(widest+2) <= t.Step/(s.x.High-s.x.Low)*float64(n) {
			return t
		}
	}
	return NiceTicks(s.x.Low, s.x.High, 1)
}

// landmarks writes a row with a digit at each landmark and says what they are.
func (s *sketch) landmarks() {
	row := slices.Repeat([]rune{' '}, s.columns)
	var words []string
	d := drawing{Curve: s.Curve}
	for i, m := range s.Landmarks {
		name := 'a' + rune(i)
		if i < 9 {
			name = '1' + rune(i)
		}
		if i > 30 || !drawable(m.Volume) {
			break
		}
		beyond := ""
		if m.Volume < s.x.Low || m.Volume > s.x.High {
			beyond = " (beyond the scale)"
		} else {
			at := s.left + 2 + s.column(m.Volume)
			for at < s.columns && row[at] != ' ' {
				at++
			}
			if at < s.columns {
				row[at] = name
			}
		}
		words = append(words, fmt.Sprintf("%c %s%s", name, s.plain(d.words(m)), beyond))
	}
	if len(words) == 0 {
		return
	}
	s.line(string(row))
	s.list(words)
}

// list writes the items in lines no longer than the sketch.
func (s *sketch) list(items []string) {
	line := ""
	for _, item := range items {
		if line != "" && columnsOf(line)+3+columnsOf(item) > s.columns {
			s.line(line)
			line = ""
		}
		if line != "" {
			line += "   "
		}
		line += item
	}
	s.line(line)
}

// text writes the words of an axis.
func (s *sketch) text(runs []Run) { s.line(s.plain(runs)) }

// line writes one line, cut to the width, without spaces at its end.
func (s *sketch) line(text string) {
	n := 0
	for i, r := range text {
		if !unicode.Is(unicode.Mn, r) {
			n++
		}
		if n > s.columns {
			text = text[:i]
			break
		}
	}
	s.out.WriteString(strings.TrimRight(text, " "))
	s.out.WriteByte('\n')
}

// plain returns the runs as text that a terminal may show: no control
// characters, and only ASCII if that is asked for.
func (s *sketch) plain(runs []Run) string {
	text := String(runs)
	if !s.unicode {
		text = asciiOf(runs)
	}
	return strings.Map(func(r rune) rune {
		switch {
		case unicode.IsControl(r), r == unicode.ReplacementChar:
			return -1
		case !s.unicode && r > 0x7e:
			return '?'
		}
		return r
	}, text)
}

var asciiSigns = strings.NewReplacer("−", "-", "–", "-", "±", "+/-", "×", "x", "·", ".", "°", "deg ", "⇌", "<=>", "→", "->", "Δ", "d",
	"⁰", "^0", "¹", "^1", "²", "^2", "³", "^3", "⁴", "^4", "⁵", "^5", "⁶", "^6", "⁷", "^7", "⁸", "^8", "⁹", "^9", "⁺", "+", "⁻", "-",
	"₀", "0", "₁", "1", "₂", "2", "₃", "3", "₄", "4", "₅", "5", "₆", "6", "₇", "7", "₈", "8", "₉", "9")

func asciiOf(runs []Run) string {
	var b strings.Builder
	for _, r := range runs {
		if r.Shift == Sup && r.Text != "" {
			b.WriteByte('^')
		}
		b.WriteString(asciiSigns.Replace(r.Text))
	}
	return b.String()
}

// columnsOf counts the columns of a text, one a character.
func columnsOf(s string) int {
	n := 0
	for _, r := range s {
		if !unicode.Is(unicode.Mn, r) {
			n++
		}
	}
	return n
}

func padLeft(s string, width int) string {
	return strings.Repeat(" ", max(0, width-columnsOf(s))) + s
}
