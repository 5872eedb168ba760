// Package web is the bench in the browser: pages by the job, served by the
// program itself, and the same operations as JSON. It computes nothing of its
// own: what a page shows comes from the packages below it.
package web

import (
	"embed"
	"fmt"
	"html/template"
	"net/http"
	"time"

	"meniscus/report"
	"meniscus/setup"
	"meniscus/store"
)

//go:embed templates/*.html
var templateFiles embed.FS

// Options is what a bench needs. The zero value serves without a password.
type Options struct {
	// Loopback says that only this machine can connect. Requests that name
	// another host are then refused: a page elsewhere could have pointed its
	// own name here.
	Loopback bool
	// Password is asked of everybody unless it is nil.
	Password *Password
	// Store keeps records; nil keeps none.
	Store *store.Store
	// Now is the clock of sessions; nil is time.Now.
	Now func() time.Time
	// Report is told of errors that are the program's own fault; nil drops them.
	Report func(error)
}

// A Server answers the requests of the bench. It is safe for concurrent use.
type Server struct {
	opt       Options
	static    *static
	templates map[string]*template.Template
	sessions  *sessions
	planners  chan struct{} // a place for each plan being made
	handler   http.Handler
}

// New makes the server of a bench.
func New(opt Options) (*Server, error) {
	if opt.Now == nil {
		opt.Now = time.Now
	}
	if opt.Report == nil {
		opt.Report = func(error) {}
	}
	s := &Server{opt: opt, sessions: newSessions(opt.Now), planners: planners()}
	var err error
	if s.static, err = newStatic(staticFiles); err != nil {
		return nil, fmt.Errorf("reading the files of the pages: %w", err)
	}
	css, err := report.FragmentStyle()
	if err != nil {
		return nil, fmt.Errorf("reading the style of a report: %w", err)
	}
	s.static.put("report.css", []byte(css))
	worked, err := report.WorkingStyle()
	if err != nil {
		return nil, fmt.Errorf("reading the style of worked text: %w", err)
	}
	s.static.put("working.css", []byte(worked))
	if s.templates, err = parseTemplates(s.static); err != nil {
		return nil, fmt.Errorf("reading the templates: %w", err)
	}
	// The first setup reads the tables of constants; let it be this one.
	if _, err := setup.Read(firstSetup(), "example"); err != nil {
		return nil, fmt.Errorf("reading the worked example: %w", err)
	}
	s.handler = s.guard(s.mux())
	return s, nil
}

func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.handler.ServeHTTP(w, r) }
