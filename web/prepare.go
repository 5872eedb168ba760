package web

import (
	"bytes"
	"fmt"
	"html/template"
	"maps"
	"mime"
	"net/http"
	"net/url"
	"path"
	"slices"
	"strconv"
	"strings"
	"time"

	"meniscus/plan"
	"meniscus/report"
	"meniscus/setup"
	"meniscus/solution"
	"meniscus/uncertainty"
	"meniscus/unit"
)

// A preparePage is how to make the solutions of a setup.
type preparePage struct {
	page
	Example    string
	Examples   []exampleGroup
	Volume     string
	Students   string
	Sections   string
	Replicates string
	Spare      string
	Problem    string
	Unmade     []string // solutions that nobody sells the parts of, in words
	Date, Lot  string   // for the labels
	Weighed    []weighedField
	Report     template.HTML
	query      url.Values // of this page
}

// A weighedField asks for what was really weighed of one bottle.
type weighedField struct {
	For            string // the species, by which it is sent
	Bottle, Meant  string
	Mass, Purity   string // as typed
	Exact          string // the concentration that follows, in mol/L; "" without a mass
	Lots           int
	MassID, PureID string
}

func (s *Server) showPrepare(w http.ResponseWriter, r *http.Request) error {
	text, name, err := s.setupOf(r, "Prepare")
	if err != nil {
		return err
	}
	p := newPreparePage(r, name)
	title := "Solutions"
	st, err := setup.Read([]byte(text), "setup")
	if err != nil {
		p.Problem = report.Typeset(err.Error())
	} else {
		title = orElse(st.Title, title)
		if err := p.show(st, text); err != nil {
			return err
		}
	}
	p.page = s.newPage("Prepare", title, "")
	p.Style = "report.css"
	if id := r.FormValue("record"); id != "" {
		p.about(id)
	}
	return s.render(w, http.StatusOK, "prepare", p)
}

func newPreparePage(r *http.Request, example string) *preparePage {
	q := r.URL.Query()
	return &preparePage{
		Example: example, Examples: exampleGroups(), Volume: orElse(q.Get("volume"), "1000 mL"), Students: q.Get("students"),
		Sections: orElse(q.Get("sections"), "1"), Replicates: orElse(q.Get("replicates"), "3"), Spare: orElse(q.Get("spare"), "25"),
		Date: q.Get("date"), Lot: q.Get("lot"), query: q,
	}
}

// show makes the recipes and sets them. What was weighed amiss leaves them standing.
func (p *preparePage) show(s *setup.Setup, text string) error {
	prepared, err := p.prepare(s, text)
	if err == nil {
		p.askMasses(prepared)
		err = p.weigh(prepared)
	}
	switch {
	case err != nil:
		p.Problem = report.Typeset(err.Error())
	case len(prepared.Solutions) == 0 && len(p.Unmade) == 0:
		p.Problem = nothingToMake
	default:
		p.answerMasses(prepared)
	}
	if prepared != nil {
		p.Report, err = report.PrepareFragment(prepared)
		return err
	}
	return nil
}

// nothingToMake is said of a setup that gives only a ratio.
const nothingToMake = "The setup names nothing that a solution could be made of. That needs species under flask and burette, such as Fe^2+: 0.05 mol/L."

// massPrefix and purityPrefix begin the names of the fields of one species.
const (
	massPrefix   = "mass:"
	purityPrefix = "purity:"
)

// askMasses makes a field for each bottle that is weighed.
func (p *preparePage) askMasses(prepared *report.Preparation) {
	for _, s := range prepared.Solutions {
		for _, q := range s.Recipe.Portions {
			if q.Volume > 0 {
				continue
			}
			id := fmt.Sprint("mass-", len(p.Weighed))
			p.Weighed = append(p.Weighed, weighedField{
				For: q.For, Bottle: report.Typeset(solution.Pretty(q.Reagent)), Meant: fmt.Sprintf("%.4f g", float64(q.Mass)), Lots: s.Lots,
				Mass: p.query.Get(massPrefix + q.For), Purity: p.query.Get(purityPrefix + q.For), MassID: id, PureID: "pure-" + id,
			})
		}
	}
}

// answerMasses puts beside each mass the concentration that follows from it.
func (p *preparePage) answerMasses(prepared *report.Preparation) {
	for i := range p.Weighed {
		f := &p.Weighed[i]
		for _, s := range prepared.Solutions {
			if f.Mass != "" && s.Exact != nil && slices.ContainsFunc(s.Recipe.Portions, func(q solution.Portion) bool { return q.For == f.For }) {
				x, u := uncertainty.Round(s.Exact.X, s.Exact.U)
				f.Exact = x + " ± " + u
			}
		}
	}
}

// weigh gives the exact concentrations for the masses that were typed; of several
// lots they stand behind each other with semicolons.
func (p *preparePage) weigh(prepared *report.Preparation) error {
	var list []report.Weighing
	for _, name := range slices.Sorted(maps.Keys(p.query)) {
		of, ok := strings.CutPrefix(name, massPrefix)
		if !ok || strings.TrimSpace(p.query.Get(name)) == "" {
			continue
		}
		if strings.TrimSpace(of) == "" {
			return badRequest("a mass was sent without the species that it is of")
		}
		x, u, err := purityOf(p.query.Get(purityPrefix + of))
		if err != nil {
			return badRequest("purity of the bottle for %s: %v", of, err)
		}
		for text := range strings.SplitSeq(p.query.Get(name), ";") {
			m, mu, err := measure(text, unit.DimMass, "9.8123 g")
			if err != nil {
				return badRequest("mass weighed for %s: %v", of, err)
			}
			list = append(list, report.Weighing{Of: of, Text: strings.TrimSpace(text), Mass: unit.Mass(m), U: unit.Mass(mu), Purity: x, PurityU: u})
		}
	}
	if err := prepared.Weigh(list); err != nil {
		return badRequest("mass weighed: %v", err)
	}
	return nil
}

// purityOf reads a purity; "" takes it as 100 %.
func purityOf(text string) (x, u float64, err error) {
	if strings.TrimSpace(text) == "" {
		return 0, 0, nil
	}
	if x, u, err = measure(text, unit.DimFraction, "99.5 ± 0.2 %"); err != nil {
		return 0, 0, err
	}
	if !(x > 0 && x <= 1) || u > x/10 {
		return 0, 0, fmt.Errorf("%q: above 0 and at most 100 %% is meant, known to a tenth of it at least", text)
	}
	return x, u, nil
}

func measure(text string, dim unit.Dimension, example string) (x, u float64, err error) {
	q, err := unit.ParseQuantity(strings.TrimSpace(text))
	if err != nil {
		return 0, 0, err
	}
	d, u, err := q.In(dim, example)
	return d.Float(), u, err
}

// LabelPath is the address of the labels for what the page shows.
func (p *preparePage) LabelPath(extension string) string {
	return "/prepare/labels." + extension + "?" + p.query.Encode()
}

// sendLabels sends the labels of the solutions, with the concentrations as weighed.
func (s *Server) sendLabels(w http.ResponseWriter, r *http.Request) error {
	file := path.Base(r.URL.Path)
	write, ok := report.FindLabelWriter(file)
	if !ok {
		return notFound("There are labels as .pdf and .html.")
	}
	text, name, err := s.setupOf(r, "Prepare")
	if err != nil {
		return err
	}
	st, err := setup.Read([]byte(text), "setup")
	if err != nil {
		return badRequest("There are no labels yet: %s.", report.Typeset(err.Error()))
	}
	p := newPreparePage(r, name)
	prepared, err := p.prepare(st, text)
	if err == nil {
		err = p.weigh(prepared)
	}
	var made time.Time
	if err == nil && len(prepared.Solutions) == 0 {
		return badRequest("There are no labels: %s", nothingToMake)
	}
	if err == nil && p.Date != "" {
		if made, err = time.Parse(time.DateOnly, p.Date); err != nil {
			err = fmt.Errorf("date %q: a date such as 2026-11-28 is meant", p.Date)
		}
	}
	if err != nil {
		return badRequest("There are no labels yet: %s.", report.Typeset(err.Error()))
	}
	var b bytes.Buffer
	if err := write(&b, prepared.Labels(made, p.Lot)); err != nil {
		return err
	}
	w.Header().Set("Content-Type", mime.TypeByExtension(path.Ext(file)))
	w.Header().Set("Content-Disposition", `attachment; filename="`+file+`"`)
	w.Write(b.Bytes()) // a browser that has gone needs no file
	return nil
}

// setupOf is the setup that a page is about: that of a record, or an example.
func (s *Server) setupOf(r *http.Request, page string) (text, example string, err error) {
	if r.FormValue("record") != "" {
		rec, err := s.record(r)
		return rec.Setup, "", err
	}
	e, ok := findExample(r.FormValue("example"))
	if !ok {
		return "", "", notFound("There is no example named %q. The list on the %s page has all of them.", r.FormValue("example"), page)
	}
	return string(e.Setup), e.Name, nil
}

func orElse(text, other string) string {
	if strings.TrimSpace(text) == "" {
		return other
	}
	return text
}

// prepare makes the recipes that the fields ask for.
func (p *preparePage) prepare(s *setup.Setup, text string) (*report.Preparation, error) {
	v, _, err := measure(p.Volume, unit.DimVolume, "1000 mL")
	if err != nil {
		return nil, badRequest("volume: %v", err)
	}
	uses, err := plan.Solutions(s, nil, unit.Volume(v))
	if err != nil {
		return nil, err
	}
	out := &report.Preparation{Title: s.Title}
	if p.Students != "" {
		class, err := p.class()
		if err != nil {
			return nil, err
		}
		if out.Stockroom, err = class.For(uses, plan.BuretteVolume(s), plan.FlaskVolume(s)); err != nil {
			return nil, err
		}
		plan.AddGear(out.Stockroom, s)
		for _, b := range out.Stockroom.Batches {
			out.Solutions = append(out.Solutions, report.Prepared{Place: b.Place, Recipe: b.Recipe, Lots: b.Lots, Flasks: b.Flasks})
		}
		out.HoldPH(setup.NewOutline([]byte(text)), unit.Volume(v))
		return out, addIndicators(out, s)
	}
	for _, u := range uses {
		recipe, err := solution.Make(u.Wanted)
		if err != nil {
			p.Unmade = append(p.Unmade, report.Typeset("solution for the "+u.Place+": "+err.Error()))
			continue
		}
		out.Solutions = append(out.Solutions, report.Prepared{Place: u.Place, Recipe: recipe})
	}
	out.HoldPH(setup.NewOutline([]byte(text)), unit.Volume(v))
	return out, addIndicators(out, s)
}

// addIndicators adds what fits each end point; a setup without chemistry has none.
func addIndicators(p *report.Preparation, s *setup.Setup) error {
	if s.Titration == nil {
		return nil
	}
	list, err := plan.Suggest(s, 0)
	if err != nil {
		return err
	}
	return p.AddSuggested(list)
}

// mostInClass is the most students, sections or replicates.
const mostInClass = 10_000

func (p *preparePage) class() (solution.Class, error) {
	var c solution.Class
	for _, f := range []struct {
		text, what string
		into       *int
	}{{p.Students, "students", &c.Students}, {p.Sections, "sections", &c.Sections}, {p.Replicates, "replicates", &c.Replicates}} {
		n, err := strconv.Atoi(strings.TrimSpace(f.text))
		if err != nil || n < 1 || n > mostInClass {
			return c, badRequest("%s: %q is no number from 1 to %d", f.what, f.text, mostInClass)
		}
		*f.into = n
	}
	spare, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(p.Spare), ",", ".", 1), 64)
	if err != nil || !(spare >= 0 && spare <= 400) {
		return c, badRequest("spare: %q is no percentage from 0 to 400", p.Spare)
	}
	c.Spare = spare / 100
	return c, nil
}
