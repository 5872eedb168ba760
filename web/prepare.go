package web

import (
	"html/template"
	"net/http"
	"strconv"
	"strings"

	"meniscus/plan"
	"meniscus/report"
	"meniscus/setup"
	"meniscus/solution"
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
	Report     template.HTML
}

func (s *Server) showPrepare(w http.ResponseWriter, r *http.Request) error {
	text, name, err := s.setupOf(r, "Prepare")
	if err != nil {
		return err
	}
	p := preparePage{
		Example: name, Examples: exampleGroups(), Volume: orElse(r.FormValue("volume"), "1000 mL"), Students: r.FormValue("students"),
		Sections: orElse(r.FormValue("sections"), "1"), Replicates: orElse(r.FormValue("replicates"), "3"), Spare: orElse(r.FormValue("spare"), "25"),
	}
	st, err := setup.Read([]byte(text), "setup")
	title := "Solutions"
	switch {
	case err != nil:
		p.Problem = report.Typeset(err.Error())
	default:
		if st.Title != "" {
			title = st.Title
		}
		prepared, err := p.prepare(st)
		if err != nil {
			p.Problem = report.Typeset(err.Error())
		} else if p.Report, err = report.PrepareFragment(prepared); err != nil {
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

// setupOf is the setup that a page is about: that of a record, or an example.
func (s *Server) setupOf(r *http.Request, page string) (text, example string, err error) {
	if id := r.FormValue("record"); id != "" {
		if s.opt.Store == nil {
			return "", "", notFound("This bench keeps no records.")
		}
		rec, err := s.opt.Store.Record(r.Context(), id)
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
func (p *preparePage) prepare(s *setup.Setup) (*report.Preparation, error) {
	q, err := unit.ParseQuantity(p.Volume)
	if err != nil {
		return nil, badRequest("volume: %v", err)
	}
	v, _, err := q.In(unit.DimVolume, "1000 mL")
	if err != nil {
		return nil, badRequest("volume: %v", err)
	}
	uses, err := plan.Solutions(s, nil, unit.Volume(v.Float()))
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
