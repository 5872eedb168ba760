package web

import (
	"net/http"
	"slices"
	"strings"

	"meniscus/examples"
)

// A planPage is the curve of a setup with what turns it.
type planPage struct {
	page
	Example  string // name of the example shown; "" for the reader's own setup
	First    bool   // nothing was chosen yet
	Examples []exampleGroup
	Setup    *prediction
	Records  bool   // there is a store to keep it in
	Author   string // who kept it last
}

// An exampleGroup is the titrations of one kind.
type exampleGroup struct {
	Kind string
	List []examples.Example
}

func firstSetup() []byte { return examples.Worked().Setup }

func (s *Server) showPlan(w http.ResponseWriter, r *http.Request) error {
	if r.FormValue("record") != "" {
		return s.planRecord(w, r)
	}
	text, name, err := s.setupOf(r, "Plan")
	if err != nil {
		return err
	}
	return s.plan(w, planPage{Example: name, First: r.FormValue("example") == ""}, text)
}

// planSetup shows a setup that was written or pasted.
func (s *Server) planSetup(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	return s.plan(w, planPage{}, unix(r.PostFormValue("setup")))
}

// planFile sends the setup back as a file.
func (s *Server) planFile(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	w.Header().Set("Content-Type", "application/yaml; charset=utf-8")
	w.Header().Set("Content-Disposition", `attachment; filename="setup.yaml"`)
	w.Write([]byte(unix(r.PostFormValue("setup")))) // a browser that has gone needs no file
	return nil
}

// unix undoes the line ends that a form puts into a text.
func unix(text string) string { return strings.ReplaceAll(text, "\r\n", "\n") }

func (s *Server) plan(w http.ResponseWriter, p planPage, text string) error {
	var err error
	if p.Setup, err = predict(predictRequest{Setup: text}); err != nil {
		return err
	}
	title := p.Setup.Title
	if title == "" {
		title = "A titration"
	}
	flash := p.Flash
	p.page = s.newPage("Plan", title, "plan")
	p.Flash, p.Records = flash, s.opt.Store != nil
	p.Examples = exampleGroups()
	return s.render(w, http.StatusOK, "plan", p)
}

func findExample(name string) (examples.Example, bool) {
	worked := examples.Worked()
	if name == "" || name == worked.Name {
		return worked, true
	}
	list := examples.Systems()
	i := slices.IndexFunc(list, func(e examples.Example) bool { return e.Name == name })
	if i < 0 {
		return examples.Example{}, false
	}
	return list[i], true
}

// exampleGroups sorts the examples by what the setup's electrode follows.
func exampleGroups() []exampleGroup {
	groups := []exampleGroup{
		{"With readings of our own", []examples.Example{examples.Worked()}},
		{Kind: "Oxidation and reduction"},
		{Kind: "Acids and bases"},
		{Kind: "Silver and ion electrodes"},
	}
	for _, e := range examples.Systems() {
		text := string(e.Setup)
		i := 3
		switch {
		case strings.Contains(text, "indicator: platinum"), strings.Contains(text, "indicator: gold"):
			i = 1
		case strings.Contains(text, "indicator: glass"):
			i = 2
		}
		groups[i].List = append(groups[i].List, e)
	}
	return groups
}
