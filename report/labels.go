package report

import (
	"bytes"
	"fmt"
	"html/template"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"meniscus/constants"
	"meniscus/report/font"
	"meniscus/solution"
	"meniscus/uncertainty"
)

// A Label is what goes onto a bottle. Made, Expires and Lot are empty where
// they are left to write in.
type Label struct {
	Name       string // typeset, with the concentration wanted
	Made       string
	Expires    string
	Keeps      string // in words, for the person who writes the date
	Lot        string
	Conc       string // as weighed, with U; "" to write in
	Medium     string
	From       string // the bottles
	Signal     string
	Pictograms string
	Hazards    string
	Roughly    bool // no exact concentration is to be written
}

// labelSource says what the hazard words of a label are.
const labelSource = "Hazards of the reagents as bought, usual classification; the safety data sheet decides."

// A LabelWriter writes a sheet of labels.
type LabelWriter func(io.Writer, []Label) error

var labelWriters = []struct {
	extension string
	write     LabelWriter
}{{".html", labelsHTML}, {".pdf", labelsPDF}}

// FindLabelWriter returns the writer for a file's name.
func FindLabelWriter(file string) (LabelWriter, bool) {
	for _, w := range labelWriters {
		if strings.EqualFold(filepath.Ext(file), w.extension) {
			return w.write, true
		}
	}
	return nil, false
}

// Labels returns the labels of the solutions: of a class one for each bottle of
// a litre. A zero time leaves the dates to write in.
func (p *Preparation) Labels(made time.Time, lot string) []Label {
	var list []Label
	add := func(s Prepared, n int) {
		for range n {
			list = append(list, s.label(made, lot))
		}
	}
	for i, s := range p.Solutions {
		n := 1
		if p.Stockroom != nil {
			n = p.Stockroom.Batches[i].Bottles()
		}
		if s.Exact != nil || len(s.ByLot) == 0 {
			add(s, n)
			continue
		}
		for k := range s.Lots { // each lot stands alone
			one := s
			if k < len(s.ByLot) {
				one.Exact = s.ByLot[k]
			}
			add(one, n/s.Lots)
		}
	}
	for _, d := range p.Indicators {
		l := Label{Name: d.Title(), Lot: clean(lot), Keeps: Keeps(d.Reagent.Keeps), From: d.Weighed(), Roughly: true}
		l.hazards(d.Cautions)
		l.dates(made, d.Reagent.Keeps)
		list = append(list, l)
	}
	if p.Buffer != nil {
		add(Prepared{Recipe: p.Buffer.Recipe}, 1)
	}
	if d := p.Diluted; d != nil {
		l := Label{Name: concentration(d.Want) + " " + formula(d.Name), Lot: clean(lot), Keeps: "as the stock does"}
		x, u := uncertainty.Round(d.Ways[0].Budget.X, 2*d.Ways[0].Budget.U)
		l.Conc = x + " ± " + u + " mol/L (k = 2)"
		l.From = d.Ways[0].TakeWords() + " of " + concentration(d.Stock.Conc) + " in " + figures(d.Ways[0].Flask.Millilitres(), 4) + " mL"
		if c, err := constants.CautionsFor(d.Name); err == nil {
			l.hazards(c)
		}
		l.dates(made, -1)
		list = append(list, l)
	}
	return list
}

func (l *Label) dates(made time.Time, days int) {
	if made.IsZero() {
		return
	}
	l.Made = made.Format(time.DateOnly)
	if days >= 0 && days < 3650 {
		l.Expires = made.AddDate(0, 0, days).Format(time.DateOnly)
	}
}

func (s Prepared) label(made time.Time, lot string) Label {
	l := Label{Name: s.name(), Medium: typeset(s.Recipe.Wanted.Medium), Lot: clean(lot), Keeps: Keeps(s.Recipe.Keeps)}
	l.dates(made, s.Recipe.Keeps)
	if s.Exact != nil {
		x, u := uncertainty.Round(s.Exact.X, 2*s.Exact.U)
		l.Conc = x + " ± " + u + " mol/L (k = 2)"
	}
	var from []string
	for _, q := range s.Recipe.Portions {
		from = append(from, q.Reagent.Name()+" "+solution.Pretty(q.Reagent))
	}
	l.From = strings.Join(from, "; ")
	l.hazards(s.Recipe.Cautions)
	return l
}

func (l *Label) hazards(c constants.Cautions) {
	var words, pictures []string
	for _, h := range c.Hazards {
		if h.Signal == "danger" || l.Signal == "" {
			l.Signal = h.Signal
		}
		for _, w := range h.Words() {
			if !slices.Contains(words, w) {
				words = append(words, w)
			}
		}
		for _, p := range h.Pictograms() {
			if !slices.Contains(pictures, p) {
				pictures = append(pictures, p)
			}
		}
	}
	for _, u := range c.Unknown {
		words = append(words, u+": not in the table, which does not mean harmless")
	}
	l.Hazards = strings.Join(words, "; ")
	if l.Hazards == "" {
		l.Hazards = "usually not classified"
	}
	if len(pictures) > 0 {
		l.Pictograms = "Pictograms: " + strings.Join(pictures, ", ")
	}
	l.Signal = strings.ToUpper(l.Signal)
}

// Lines are the rows that are written in or printed, in order.
func (l Label) Lines() [][2]string {
	const blank = "____________"
	var rows [][2]string
	if !l.Roughly {
		rows = append(rows, [2]string{"exact", orElse(l.Conc, "__________ ± _______ mol/L")})
	}
	if l.Medium != "" {
		rows = append(rows, [2]string{"in", l.Medium})
	}
	expires := orElse(l.Expires, blank)
	if l.Expires == "" {
		expires += " (keeps " + l.Keeps + ")"
	}
	return append(rows, [2]string{"made", orElse(l.Made, blank)}, [2]string{"expires", expires},
		[2]string{"lot", orElse(l.Lot, blank)}, [2]string{"initials", blank})
}

var labelPage = template.Must(template.New("").ParseFS(templates, "templates/labels.html"))

func labelsHTML(w io.Writer, list []Label) error {
	page := struct {
		Fonts  template.CSS
		Labels []Label
		Source string
	}{fontFaces(mostPage / 2), list, labelSource}
	var b bytes.Buffer
	if err := labelPage.ExecuteTemplate(&b, "labels.html", page); err != nil {
		return fmt.Errorf("writing labels as a page: %w", err)
	}
	if _, err := b.WriteTo(w); err != nil {
		return fmt.Errorf("writing labels as a page: %w", err)
	}
	return nil
}

// Labels are two across and four down on A4, in mm.
const (
	labelWidth, labelHeight = 95.0, 67.0
	labelLeft, labelTop     = 10.0, 14.5
	labelInset              = 4.0
)

func labelsPDF(w io.Writer, list []Label) error {
	doc := fpdf.New("P", "mm", "A4", "")
	doc.SetAutoPageBreak(false, 0)
	doc.SetMargins(0, 0, 0)
	doc.SetCellMargin(0)
	doc.SetCreationDate(time.Unix(0, 0).UTC()) // the same labels give the same file
	doc.SetModificationDate(time.Unix(0, 0).UTC())
	doc.SetCatalogSort(true)
	doc.SetProducer("", true)
	doc.SetTitle("Labels", true)
	doc.AddUTF8FontFromBytes("serif", "", font.Serif)
	doc.AddUTF8FontFromBytes("sans", "", font.Sans)
	doc.AddUTF8FontFromBytes("sans", "B", font.SansBold)
	for i, l := range list {
		if i%8 == 0 {
			doc.AddPage()
		}
		place := i % 8
		labelPDF(doc, l, labelLeft+float64(place%2)*labelWidth, labelTop+float64(place/2)*labelHeight)
	}
	if err := doc.Output(w); err != nil {
		return fmt.Errorf("writing labels as PDF: %w", err)
	}
	return nil
}

// labelPDF sets one label; text too long for its place is set smaller.
func labelPDF(doc *fpdf.Fpdf, l Label, x, y float64) {
	width := labelWidth - 2*labelInset
	doc.SetDrawColor(150, 150, 150)
	doc.SetLineWidth(0.1)
	doc.Rect(x, y, labelWidth, labelHeight, "D")
	left, top := x+labelInset, y+3
	put := func(family, style, text string, most, least, height float64) {
		size := most
		for ; size > least; size -= 0.25 {
			doc.SetFont(family, style, size)
			if float64(len(doc.SplitText(text, width)))*size*0.42 <= height {
				break
			}
		}
		doc.SetFont(family, style, size)
		doc.SetXY(left, top)
		doc.MultiCell(width, size*0.42, text, "", "L", false)
		top = doc.GetY()
	}
	put("serif", "", l.Name, 15, 8, 12.6)
	put("sans", "", l.From, 6.5, 4.5, 5.6)
	top += 0.8
	for _, row := range l.Lines() {
		doc.SetFont("sans", "", 7)
		doc.SetXY(left, top)
		doc.CellFormat(13, 3.9, row[0], "", 0, "L", false, 0, "")
		doc.SetFont("serif", "", 9)
		doc.CellFormat(width-13, 3.9, row[1], "", 0, "L", false, 0, "")
		top += 3.9
	}
	top += 0.8
	if l.Signal != "" {
		put("sans", "B", l.Signal, 9, 9, 4)
	}
	if l.Pictograms != "" {
		put("sans", "", l.Pictograms, 6.5, 4.5, 5.6)
	}
	put("sans", "", l.Hazards, 6.5, 4, y+labelHeight-5-top)
	doc.SetFont("sans", "", 5)
	doc.SetXY(left, y+labelHeight-3.6)
	doc.CellFormat(width, 2.4, labelSource, "", 0, "L", false, 0, "")
}
