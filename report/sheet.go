package report

import (
	"fmt"
	"io"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"meniscus/report/figure"
)

// A Paper is a size of paper, in points.
type Paper struct {
	Name          string
	Width, Height float64
}

// Papers lists the sizes; the first is taken where none is asked for.
var Papers = []Paper{{"a4", 595.276, 841.890}, {"letter", 612, 792}}

// PaperNames lists their names.
func PaperNames() []string {
	var list []string
	for _, p := range Papers {
		list = append(list, p.Name)
	}
	return list
}

// FindPaper returns the size of that name; "" is the first.
func FindPaper(name string) (Paper, bool) {
	for _, p := range Papers {
		if name == "" || strings.EqualFold(p.Name, name) {
			return p, true
		}
	}
	return Paper{}, false
}

// Margins of a page, points: inside them everything stands but the foot.
const (
	sideMargin = 51
	topMargin  = 45
	footMargin = 52
	footLine   = 30 // above the lower edge
)

// A sheet is one page while it is set.
type sheet struct {
	marks   []figure.Mark
	figures []placed
}

type placed struct {
	fig         figure.Figure
	x, y, scale float64
}

// A setter sets pieces on pages, one below the other.
type setter struct {
	paper Paper
	pages []*sheet
	y     float64 // where the next piece begins
	foot  string  // at the left of each foot
}

func newSetter(p Paper, foot string) *setter { return &setter{paper: p, foot: foot} }

func (s *setter) width() float64  { return s.paper.Width - 2*sideMargin }
func (s *setter) height() float64 { return s.paper.Height - topMargin - footMargin }

func (s *setter) newPage() {
	s.pages = append(s.pages, &sheet{})
	s.y = topMargin
}

// fits says whether a piece of that height has room below the last one.
func (s *setter) fits(height float64) bool {
	return len(s.pages) > 0 && s.y+height <= s.paper.Height-footMargin
}

// put sets a piece, on a new page where the last has no room.
func (s *setter) put(p piece, gap float64) {
	if s.y > topMargin {
		s.y += gap
	}
	if !s.fits(p.height) {
		s.newPage()
	}
	p.draw(s.pages[len(s.pages)-1], sideMargin, s.y)
	s.y += p.height
}

// heading begins a section; room follows it on the same page.
func (s *setter) heading(text string) {
	const gap, follow = 16, 40
	p := paragraph(text, s.width(), sectionHand)
	if !s.fits(gap + p.height + follow) {
		s.newPage()
	}
	s.put(p, gap)
	s.y += 3
}

// flow sets paragraphs line by line, so that they may go on overleaf.
func (s *setter) flow(text string, h hand) {
	for i, l := range paragraphLines(text, s.width(), h) {
		gap := 0.0
		if i == 0 {
			gap = 2
		}
		s.put(l, gap)
	}
}

// table sets rows; the head is repeated on every page.
func (s *setter) table(rows [][]string, right string, h hand) {
	columns := fitColumns(rows, right, s.width(), h)
	head := headRow(rows[0], columns)
	s.put(head, 4)
	for _, row := range rows[1:] {
		p := tableRow(row, columns, h)
		if !s.fits(p.height) {
			s.newPage()
			s.put(head, 0)
		}
		s.put(p, 0)
	}
}

// pdfInfo is what a PDF says about itself.
type pdfInfo struct {
	title, author string
	date          time.Time // zero for the first second of 1970
}

// write writes all pages as PDF: the same pages give the same bytes.
func (s *setter) write(w io.Writer, info pdfInfo) error {
	doc := fpdf.NewCustom(&fpdf.InitType{UnitStr: "pt", Size: fpdf.SizeType{Wd: s.paper.Width, Ht: s.paper.Height}})
	doc.SetMargins(0, 0, 0)
	doc.SetAutoPageBreak(false, 0)
	if info.date.IsZero() {
		info.date = time.Unix(0, 0).UTC()
	}
	doc.SetCreationDate(info.date)
	doc.SetModificationDate(info.date)
	doc.SetCatalogSort(true)
	doc.SetTitle(info.title, true)
	doc.SetAuthor(info.author, true)
	doc.SetProducer("", true)
	doc.SetLang("en")
	for i, page := range s.pages {
		doc.AddPage()
		all := append(page.marks, s.footMarks(i)...)
		if err := figure.Place(doc, figure.Figure{Layers: []figure.Layer{{Marks: all}}}, 0, 0, 1, figure.Print); err != nil {
			return err
		}
		for _, f := range page.figures {
			if err := figure.Place(doc, f.fig, f.x, f.y, f.scale, figure.Print); err != nil {
				return err
			}
		}
	}
	if err := doc.Output(w); err != nil {
		return fmt.Errorf("writing the pages as PDF: %w", err)
	}
	return nil
}

func (s *setter) footMarks(i int) []figure.Mark {
	y := s.paper.Height - footLine
	number := fmt.Sprintf("page %d of %d", i+1, len(s.pages))
	left := breakLines(s.foot, s.width()-80, footHand)
	marks := []figure.Mark{
		rule(sideMargin, y-10, s.width(), figure.Faint),
		footHand.text(number, s.paper.Width-sideMargin, y, figure.End),
	}
	if len(left) > 0 {
		text := left[0]
		if len(left) > 1 {
			text += " …"
		}
		marks = append(marks, footHand.text(text, sideMargin, y, figure.Start))
	}
	return marks
}
