package web

import (
	"bytes"
	"fmt"
	"net/http"

	"meniscus/explain"
	"meniscus/report"
	"meniscus/setup"
	"meniscus/unit"
	"meniscus/working"
)

// An explainPage is a titration to step through.
type explainPage struct {
	page
	Example  string
	Examples []exampleGroup
	Setup    *prediction
}

func (s *Server) showExplain(w http.ResponseWriter, r *http.Request) error {
	p := explainPage{Examples: exampleGroups()}
	text, name, err := s.setupOf(r, "Explain")
	if err != nil {
		return err
	}
	p.Example = name
	if p.Setup, err = predict(predictRequest{Setup: text}); err != nil {
		return err
	}
	title := p.Setup.Title
	if title == "" {
		title = "A titration"
	}
	p.page = s.newPage("Explain", title, "explain")
	p.Style = "working.css"
	if id := r.FormValue("record"); id != "" {
		p.about(id)
	}
	return s.render(w, http.StatusOK, "explain", p)
}

// An explainRequest is a setup and where the meniscus stands.
type explainRequest struct {
	Setup string  `json:"setup" maxLength:"1000000" doc:"the text of a setup file"`
	At    float64 `json:"at_mL" minimum:"0" maximum:"100000" doc:"the volume added"`
}

type explanation struct {
	Schema  string   `json:"schema"`
	Volume  float64  `json:"volume_mL"`
	Here    string   `json:"here" doc:"the working for this volume, as HTML with MathML"`
	Main    int      `json:"main" doc:"which step of it has the expression that governs; -1 for none"`
	Always  string   `json:"always" doc:"what is given, and what the curve tells, as HTML"`
	Problem *problem `json:"problem,omitempty" doc:"why there is no working"`
}

// explainAt works out one volume. What is wrong with the setup is in the answer.
func explainAt(req explainRequest) (*explanation, error) {
	e := &explanation{Schema: "meniscus.bench.explanation/1", Volume: req.At, Main: -1}
	s, err := setup.Read([]byte(req.Setup), "setup")
	if err != nil {
		e.Problem = explainProblem(err)
		return e, nil
	}
	v, ok := unit.DecimalOf(req.At)
	if !ok {
		e.Problem = &problem{Message: fmt.Sprintf("%g mL is no volume.", req.At)}
		return e, nil
	}
	d, err := explain.Volumes(s, []explain.Place{placeAt(s, v.Shift(-3))})
	if err != nil {
		e.Problem = &problem{Message: report.Typeset(err.Error())}
		return e, nil
	}
	var here, always working.Document
	for _, section := range d.Sections {
		if explain.AtVolume(section.Kind) {
			here.Sections = append(here.Sections, section)
		} else {
			always.Sections = append(always.Sections, section)
		}
	}
	e.Main = governs(&here)
	if e.Here, err = fragment(&here); err != nil {
		return nil, err
	}
	e.Always, err = fragment(&always)
	return e, err
}

// placeAt is a volume by its name, where it is one of the special points as the
// curve has them, to 0.1 μL.
func placeAt(s *setup.Setup, v unit.Decimal) explain.Place {
	places, err := explain.Places(s)
	if err != nil {
		return explain.Place{Volume: v} // working it out says why
	}
	for _, p := range places {
		if d := p.Volume.Float() - v.Float(); d < 6e-8 && d > -6e-8 {
			return p
		}
	}
	return explain.Place{Volume: v}
}

// governs is which step holds the expression of the textbook.
func governs(d *working.Document) int {
	n := 0
	for _, section := range d.Sections {
		for _, b := range section.Blocks {
			step, ok := b.(working.Step)
			if !ok {
				continue
			}
			if step.Quantity.Sub == "textbook" {
				return n
			}
			n++
		}
	}
	return -1
}

func fragment(d *working.Document) (string, error) {
	var b bytes.Buffer
	if err := working.WriteHTML(&b, d, working.HTMLOptions{Heading: 2}); err != nil {
		return "", fmt.Errorf("setting the working: %w", err)
	}
	return b.String(), nil
}
