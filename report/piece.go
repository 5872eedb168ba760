package report

import (
	"strings"

	"meniscus/report/figure"
)

// A piece is something to be set on a page: how high it is, and how it is drawn
// with its top left corner at a point.
type piece struct {
	height float64
	draw   func(s *sheet, x, y float64)
}

// A hand is how a line is written.
type hand struct {
	face       figure.Face
	size, lead float64 // points; lead is from base line to base line
	role       figure.Role
}

var (
	titleHand   = hand{figure.Serif, 17, 21, figure.Ink}
	longHand    = hand{figure.Serif, 12.5, 15.5, figure.Ink} // titles of many words
	resultHand  = hand{figure.Serif, 15, 19, figure.Ink}
	textHand    = hand{figure.Serif, 9.2, 11.8, figure.Ink}
	boldHand    = hand{figure.SerifBold, 9.2, 11.8, figure.Ink}
	smallHand   = hand{figure.Serif, 8, 10, figure.Ink}
	smallBold   = hand{figure.SerifBold, 8, 10, figure.Ink}
	labelHand   = hand{figure.Sans, 7.2, 9.2, figure.Muted}
	sectionHand = hand{figure.SansBold, 8.6, 12, figure.Ink}
	doubtHand   = hand{figure.SansBold, 8.6, 12, figure.Warn}
	footHand    = hand{figure.Sans, 7, 9, figure.Muted}
)

// runsOf lowers the index of symbols in s.
func runsOf(s string) []figure.Run {
	s = strings.ReplaceAll(s, "\x00", " ")
	var runs []figure.Run
	for {
		m := lowered.FindStringSubmatchIndex(s)
		if m == nil {
			return append(runs, figure.Run{Text: s})
		}
		runs = append(runs, figure.Run{Text: s[:m[3]]}, figure.Run{Text: s[m[4]:m[5]], Shift: figure.Sub})
		s = s[m[1]:]
	}
}

func (h hand) width(s string) float64 { return figure.Width(runsOf(s), h.face, h.size) }

// text is a line with its base line at y.
func (h hand) text(s string, x, y float64, a figure.Anchor) figure.Mark {
	return figure.Text{At: figure.Point{X: x, Y: y}, Runs: runsOf(s), Size: h.size, Anchor: a, Face: h.face, Paint: figure.Paint{Role: h.role}}
}

// rule is a horizontal hairline.
func rule(x, y, width float64, role figure.Role) figure.Mark {
	return figure.Path{
		Lines:  [][]figure.Point{{{X: x, Y: y}, {X: x + width, Y: y}}},
		Stroke: figure.Stroke{Paint: figure.Paint{Role: role}, Width: 0.5},
	}
}

// breakLines breaks s between words, and inside one that is wider than a line.
func breakLines(s string, width float64, h hand) []string {
	s = together.ReplaceAllStringFunc(s, func(x string) string { return strings.ReplaceAll(x, " ", "\x00") })
	s = strings.ReplaceAll(s, "k =", "k\x00=")
	var lines []string
	line := ""
	for _, word := range strings.Fields(s) {
		if line != "" && h.width(line+" "+word) <= width {
			line += " " + word
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for h.width(word) > width {
			n := fitting(word, width, h)
			lines = append(lines, word[:n])
			word = word[n:]
		}
		line = word
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// fitting is how many bytes of a word fit into the width: one character at
// least.
func fitting(word string, width float64, h hand) int {
	n := 0
	for i := range word {
		if i > 0 && h.width(word[:i]) > width {
			break
		}
		if i > 0 {
			n = i
		}
	}
	if n == 0 {
		return len(word)
	}
	return n
}

// paragraphLines is a paragraph as one piece for each line.
func paragraphLines(text string, width float64, h hand) []piece {
	return anchored(text, width, h, figure.Start)
}

func anchored(text string, width float64, h hand, a figure.Anchor) []piece {
	var list []piece
	for _, l := range breakLines(text, width, h) {
		list = append(list, piece{h.lead, func(s *sheet, x, y float64) {
			if a == figure.End {
				x += width
			}
			s.marks = append(s.marks, h.text(l, x, y+0.78*h.lead, a))
		}})
	}
	return list
}

func paragraph(text string, width float64, h hand) piece {
	return stack(0, paragraphLines(text, width, h)...)
}

// stack sets pieces below each other, those without height left away.
func stack(gap float64, pieces ...piece) piece {
	var list []piece
	height := 0.0
	for _, p := range pieces {
		if p.height == 0 {
			continue
		}
		if len(list) > 0 {
			height += gap
		}
		height += p.height
		list = append(list, p)
	}
	return piece{height, func(s *sheet, x, y float64) {
		for _, p := range list {
			p.draw(s, x, y)
			y += p.height + gap
		}
	}}
}

// beside sets pieces side by side, each at its distance from the left.
func beside(at []float64, pieces ...piece) piece {
	height := 0.0
	for _, p := range pieces {
		height = max(height, p.height)
	}
	return piece{height, func(s *sheet, x, y float64) {
		for i, p := range pieces {
			if p.height > 0 {
				p.draw(s, x+at[i], y)
			}
		}
	}}
}

// space is room with nothing in it.
func space(height float64) piece { return piece{height, func(*sheet, float64, float64) {}} }

// placedFigure is a figure of the given width, its scale that of its height.
func placedFigure(f figure.Figure, width, scale float64) piece {
	return piece{f.Height * scale, func(s *sheet, x, y float64) {
		s.figures = append(s.figures, placed{f, x + (width-f.Width*scale)/2, y, scale})
	}}
}

// A column of a table.
type column struct {
	at, width float64
	right     bool
}

const columnGap = 9

// fitColumns gives every column the room its cells need. Where that is more
// than there is, the widest ones are made narrower.
func fitColumns(rows [][]string, right string, width float64, h hand) []column {
	columns := make([]column, len(rows[0]))
	for k, row := range rows {
		for i, c := range row {
			w := h.width(c)
			if k == 0 {
				w = labelHand.width(c)
			}
			columns[i].width = max(columns[i].width, w+0.5)
			columns[i].right = right[i] == 'r'
		}
	}
	room := width - columnGap*float64(len(columns)-1)
	for {
		sum, widest := 0.0, 0
		for i, c := range columns {
			sum += c.width
			if c.width > columns[widest].width {
				widest = i
			}
		}
		if sum <= room || columns[widest].width < 24 {
			break
		}
		columns[widest].width -= min(4, sum-room)
	}
	x := 0.0
	for i := range columns {
		columns[i].at = x
		x += columns[i].width + columnGap
	}
	return columns
}

func tableRow(row []string, columns []column, h hand) piece {
	var at []float64
	var cells []piece
	for i, c := range row {
		a := figure.Start
		if columns[i].right {
			a = figure.End
		}
		at = append(at, columns[i].at)
		cells = append(cells, stack(0, anchored(c, columns[i].width, h, a)...))
	}
	p := beside(at, cells...)
	p.height = max(p.height, h.lead)
	return p
}

// headRow is the head of a table with a rule under it.
func headRow(row []string, columns []column) piece {
	p := tableRow(row, columns, labelHand)
	last := columns[len(columns)-1]
	return piece{p.height + 4, func(s *sheet, x, y float64) {
		p.draw(s, x, y)
		s.marks = append(s.marks, rule(x, y+p.height+1, last.at+last.width, figure.Ink))
	}}
}

// items is a list, each item with a dash before it.
func items(list []string, width float64, h hand) []piece {
	const indent = 8
	var out []piece
	for _, text := range list {
		p := beside([]float64{0, indent}, paragraph("–", indent+2, h), paragraph(text, width-indent, h))
		out = append(out, p)
	}
	return out
}
