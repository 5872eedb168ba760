package report

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"meniscus/report/figure"
	"meniscus/titration"
)

// number formats x with all its digits, or nothing where it is undefined.
func number(x float64) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return ""
	}
	return strconv.FormatFloat(x, 'g', 17, 64)
}

// millilitres undoes the rounding of a volume kept in litres.
func millilitres(pt titration.Point) string {
	return strconv.FormatFloat(math.Round(float64(pt.Volume)*1e15)/1e12, 'f', -1, 64)
}

// volume is millilitres for reading: as asked for, or to a tenth of a
// microlitre where the program chose.
func (p *Prediction) volume(pt titration.Point) string {
	if p.asked {
		return millilitres(pt)
	}
	return strconv.FormatFloat(math.Round(float64(pt.Volume)*1e7)/1e4, 'f', -1, 64)
}

// curveCSV begins with the columns of the contract; further ones follow.
func curveCSV(w io.Writer, p *Prediction) error {
	b := bufio.NewWriter(w)
	fmt.Fprintln(b, "volume_mL,potential_mV,pH,potential_SHE_mV,pIon,undefined")
	for _, pt := range p.Points {
		fmt.Fprintf(b, "%s,%s,%s,%s,%s,%s\n", millilitres(pt), number(pt.Potential*1e3), number(pt.PH),
			number(pt.Standard*1e3), number(pt.PIon), pt.Undefined)
	}
	return b.Flush()
}

type curveDocument struct {
	Schema       string       `json:"schema"`
	Title        string       `json:"title"`
	Reference    string       `json:"reference"`
	Temperature  float64      `json:"temperature_C"`
	Points       []curvePoint `json:"points"`
	Equivalences []curveMark  `json:"equivalence_points"`
	Warnings     []string     `json:"warnings"`
	Notes        []string     `json:"notes"`
}

type curvePoint struct {
	Volume    float64  `json:"volume_mL"`
	Potential *float64 `json:"potential_mV"`
	Standard  *float64 `json:"potential_SHE_mV"`
	PH        *float64 `json:"pH"`
	PIon      *float64 `json:"pIon"`
	Undefined string   `json:"undefined,omitempty"`
}

type curveMark struct {
	Order     int      `json:"order"`
	Species   string   `json:"species"`
	Volume    float64  `json:"volume_mL"`
	Potential *float64 `json:"potential_mV"`
	PH        *float64 `json:"pH"`
}

func optional(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return &x
}

func curveJSON(w io.Writer, p *Prediction) error {
	d := curveDocument{
		Schema: "meniscus.curve/1", Title: p.Setup.Title, Reference: p.Setup.Electrode.Reference,
		Temperature: p.Setup.Temperature.Celsius(), Points: []curvePoint{}, Equivalences: []curveMark{},
		Warnings: append([]string{}, p.Setup.Warnings...), Notes: append(append([]string{}, p.Setup.Notes...), p.Far...),
	}
	for _, pt := range p.Points {
		v, _ := strconv.ParseFloat(millilitres(pt), 64)
		d.Points = append(d.Points, curvePoint{v, optional(pt.Potential * 1e3), optional(pt.Standard * 1e3), optional(pt.PH), optional(pt.PIon), pt.Undefined})
	}
	for i, e := range p.Equivalences {
		v, _ := strconv.ParseFloat(millilitres(e.Point), 64)
		d.Equivalences = append(d.Equivalences, curveMark{i + 1, e.Species, v, optional(e.Point.Potential * 1e3), optional(e.Point.PH)})
	}
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	return enc.Encode(d)
}

// curveTable is for reading: rounded, with what was taken for granted.
func curveTable(w io.Writer, p *Prediction) error {
	b := bufio.NewWriter(w)
	if p.Setup.Title != "" {
		fmt.Fprintf(b, "%s\n\n", p.Setup.Title)
	}
	if p.Sketch {
		if err := p.sketch(b); err != nil {
			return err
		}
	}
	t := p.Setup.Titration
	head := []string{"V/mL"}
	if t.Cell.Known {
		head = append(head, "E/mV", "E(SHE)/mV")
	}
	ph := t.System().Index("H^+") >= 0
	if ph {
		head = append(head, "pH")
	}
	if t.Cell.Sensor == titration.Ion {
		head = append(head, "p"+pretty(p.Setup.Electrode.Ion))
	}
	fmt.Fprintf(b, "%10s", head[0])
	for _, h := range head[1:] {
		fmt.Fprintf(b, "%s%s", strings.Repeat(" ", 11-len([]rune(h))), h)
	}
	fmt.Fprintln(b)
	for _, pt := range p.Points {
		fmt.Fprintf(b, "%10s", p.volume(pt))
		if t.Cell.Known {
			fmt.Fprintf(b, "%11s%11s", cell(pt.Potential*1e3, 1), cell(pt.Standard*1e3, 1))
		}
		if ph {
			fmt.Fprintf(b, "%11s", cell(pt.PH, 3))
		}
		if t.Cell.Sensor == titration.Ion {
			fmt.Fprintf(b, "%11s", cell(pt.PIon, 3))
		}
		if pt.Undefined != "" {
			fmt.Fprintf(b, "  undefined (%s)", pt.Undefined)
		}
		fmt.Fprintln(b)
	}
	p.footnotes(b)
	return b.Flush()
}

func cell(x float64, decimals int) string {
	if math.IsNaN(x) {
		return "-"
	}
	s := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		return strings.TrimPrefix(s, "-") // no sign before a zero
	}
	return strings.Replace(s, "-", "−", 1)
}

func (p *Prediction) sketch(w io.Writer) error {
	f, err := p.figure()
	if err != nil {
		return err
	}
	if err := figure.Sketch(w, f, 78, 20, true); err != nil {
		return err
	}
	fmt.Fprintln(w)
	return nil
}

// footnotes says where the equivalence points are and what was used.
func (p *Prediction) footnotes(w io.Writer) {
	fmt.Fprintln(w)
	for _, e := range p.Equivalences {
		v := strconv.FormatFloat(math.Round(float64(e.Point.Volume)*1e7)/1e4, 'f', -1, 64)
		fmt.Fprintf(w, "equivalence: %s used up at %s mL, %s\n", pretty(e.Species), v, p.said(p.reading(e.Point)))
		p.inflectionNote(w, e)
	}
	if p.Setup.Titration.Cell.Known && p.Setup.Titration.Cell.Sensor != titration.Glass {
		fmt.Fprintf(w, "E is against %s (%.4g V against SHE), at %.4g °C\n", p.Setup.Electrode.Reference, p.Setup.Electrode.ReferenceV, p.Setup.Temperature.Celsius())
	}
	fmt.Fprintln(w, "\nused:")
	for _, rx := range p.Setup.Reactions {
		src := rx.Source
		if src == "" {
			src = "setup file"
		}
		line := fmt.Sprintf("%s: %s %s", rx.Equation, rx.Kind, strings.TrimSpace(strconv.FormatFloat(rx.Value, 'f', -1, 64)+" "+rx.Unit))
		if rx.Medium != "" {
			line += " in " + rx.Medium
		}
		hang(w, "  ", line+" ["+src+"]")
	}
	for _, n := range append(slices.Clone(p.Setup.Notes), p.Far...) {
		hang(w, "", "note: "+n)
	}
}

// hang writes a paragraph of at most 78 columns, its further lines indented.
func hang(w io.Writer, margin, text string) {
	for i, l := range wrap(text, 76-len(margin)) {
		if i > 0 {
			l = "  " + l
		}
		fmt.Fprintln(w, margin+l)
	}
}

// said writes a reading with what it is.
func (p *Prediction) said(r float64) string {
	switch {
	case math.IsNaN(r):
		return "where the reading is undefined"
	case strings.HasSuffix(p.axis(), "mV"):
		return "E = " + cell(r, 1) + " mV"
	}
	return p.axis() + " = " + cell(r, 3)
}

// inflectionNote says where the curve is steepest, in parts of the equivalence
// volume.
func (p *Prediction) inflectionNote(w io.Writer, m Mark) {
	if m.Inflection == nil {
		return
	}
	fmt.Fprintf(w, "inflection:  %s from the equivalence volume, %s\n", smallPart(m.Shift/float64(m.Point.Volume)), p.said(p.reading(*m.Inflection)))
}

func curveSVG(w io.Writer, p *Prediction) error {
	f, err := p.drawn()
	if err != nil {
		return err
	}
	return figure.SVG(w, f, figure.SVGOptions{Theme: p.theme(), Embed: true})
}

func curvePNG(w io.Writer, p *Prediction) error {
	f, err := p.drawn()
	if err != nil {
		return err
	}
	return figure.PNG(w, f, figure.PNGOptions{Theme: p.theme()})
}

func curvePDF(w io.Writer, p *Prediction) error {
	f, err := p.drawn()
	if err != nil {
		return err
	}
	return figure.PDF(w, f, figure.PDFOptions{Theme: p.theme()})
}

func (p *Prediction) drawn() (figure.Figure, error) {
	c, err := p.figure()
	if err != nil {
		return figure.Figure{}, err
	}
	return figure.Draw(c)
}

func (p *Prediction) theme() figure.Theme {
	if p.Dark {
		return figure.Dark
	}
	return figure.Light
}
