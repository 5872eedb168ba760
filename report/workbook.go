package report

import (
	"fmt"
	"math"
	"time"

	"github.com/xuri/excelize/v2"
)

// A workbook is an XLSX file while it is filled. The first error stays. Words
// go into cells as text, so that one that begins with = is none to be
// calculated.
type workbook struct {
	f                                *excelize.File
	err                              error
	bold, head, struck, input, share int // styles
	places                           map[int]int
}

func newWorkbook(first string) *workbook {
	b := &workbook{f: excelize.NewFile(), places: map[int]int{}}
	b.keep(b.f.SetSheetName(b.f.GetSheetName(0), first))
	yes := true
	b.keep(b.f.SetCalcProps(&excelize.CalcPropsOptions{FullCalcOnLoad: &yes}))
	b.bold = b.style(&excelize.Style{Font: &excelize.Font{Bold: true, Size: 13}})
	b.head = b.style(&excelize.Style{
		Font:      &excelize.Font{Bold: true},
		Border:    []excelize.Border{{Type: "bottom", Style: 1, Color: "000000"}},
		Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"},
	})
	b.struck = b.style(&excelize.Style{Font: &excelize.Font{Strike: true}})
	b.input = b.style(&excelize.Style{Font: &excelize.Font{Color: "1F4E9E"}})
	return b
}

func (b *workbook) keep(err error) {
	if b.err == nil {
		b.err = err
	}
}

func (b *workbook) style(s *excelize.Style) int {
	id, err := b.f.NewStyle(s)
	b.keep(err)
	return id
}

// decimals is the style of a number with that many decimals.
func (b *workbook) decimals(n int) int {
	if id, ok := b.places[n]; ok {
		return id
	}
	format := "0"
	if n > 0 {
		format = "0." + fmt.Sprintf("%0*d", n, 0)
	}
	b.places[n] = b.style(&excelize.Style{CustomNumFmt: &format})
	return b.places[n]
}

// A sheetRows is a sheet of the workbook that is filled row by row.
type sheetRows struct {
	b    *workbook
	name string
	row  int // the last one that was written
}

func (b *workbook) sheet(name string, widths ...float64) *sheetRows {
	if i, err := b.f.GetSheetIndex(name); err != nil || i < 0 {
		_, err := b.f.NewSheet(name)
		b.keep(err)
	}
	for i, w := range widths {
		column, err := excelize.ColumnNumberToName(i + 1)
		b.keep(err)
		b.keep(b.f.SetColWidth(name, column, column, w))
	}
	one, none := 1, 0
	landscape, a4 := "landscape", 9
	fit := true
	b.keep(b.f.SetSheetProps(name, &excelize.SheetPropsOptions{FitToPage: &fit}))
	b.keep(b.f.SetPageLayout(name, &excelize.PageLayoutOptions{Orientation: &landscape, Size: &a4, FitToWidth: &one, FitToHeight: &none}))
	return &sheetRows{b: b, name: name}
}

// A formulaCell is calculated by whoever opens the workbook.
type formulaCell string

// A roundedCell keeps all digits and shows those that its uncertainty
// leaves.
type roundedCell struct{ x, u float64 }

// put writes a row of strings, numbers, formulas and styled cells.
func (s *sheetRows) put(cells ...any) int { return s.styled(0, cells...) }

func (s *sheetRows) styled(style int, cells ...any) int {
	s.row++
	for i, c := range cells {
		at, err := excelize.CoordinatesToCellName(i+1, s.row)
		s.b.keep(err)
		s.cell(at, c, style)
	}
	return s.row
}

func (s *sheetRows) cell(at string, c any, style int) {
	f, b := s.b.f, s.b
	switch c := c.(type) {
	case nil:
		return
	case string:
		if c == "" {
			return
		}
		b.keep(f.SetCellStr(s.name, at, clean(c)))
	case int:
		b.keep(f.SetCellInt(s.name, at, int64(c)))
	case float64:
		if math.IsNaN(c) || math.IsInf(c, 0) {
			b.keep(f.SetCellStr(s.name, at, "–"))
		} else {
			b.keep(f.SetCellFloat(s.name, at, c, -1, 64))
		}
	case formulaCell:
		b.keep(f.SetCellFormula(s.name, at, string(c)))
	case roundedCell:
		s.cell(at, c.x, style)
		if n := decimalsOf(c.u); n >= 0 && style == 0 {
			style = b.decimals(n)
		}
	default:
		b.keep(fmt.Errorf("cell %s of %s: a %T cannot be written", at, s.name, c))
	}
	if style != 0 {
		b.keep(f.SetCellStyle(s.name, at, at, style))
	}
}

// decimalsOf is how many decimals a number with that uncertainty has, two
// figures of it shown; -1 where nothing says.
func decimalsOf(u float64) int {
	if !(u > 0) || math.IsInf(u, 0) {
		return -1
	}
	_, text := rounded(u, u)
	for i, r := range text {
		if r == '.' {
			return min(len(text)-i-1, 15)
		}
	}
	return 0
}

// head writes the heads of columns.
func (s *sheetRows) head(cells ...any) { s.styled(s.b.head, cells...) }

// freeze keeps the rows so far in sight.
func (s *sheetRows) freeze() {
	at, err := excelize.CoordinatesToCellName(1, s.row+1)
	s.b.keep(err)
	s.b.keep(s.b.f.SetPanes(s.name, &excelize.Panes{Freeze: true, YSplit: s.row, TopLeftCell: at, ActivePane: "bottomLeft"}))
}

// about writes what the workbook says about itself.
func (b *workbook) about(title, by string, date time.Time) {
	if date.IsZero() {
		date = time.Unix(0, 0).UTC()
	}
	stamp := date.UTC().Format(time.RFC3339)
	b.keep(b.f.SetDocProps(&excelize.DocProperties{Title: title, Creator: by, LastModifiedBy: by, Created: stamp, Modified: stamp}))
}

// percent is the style of a share.
func (b *workbook) percent() int {
	if b.share == 0 {
		b.share = b.style(&excelize.Style{NumFmt: 9})
	}
	return b.share
}
