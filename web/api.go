package web

import (
	"context"
	"errors"
	"net/http"
	"slices"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"meniscus/report"
	"meniscus/setup"
)

// addAPI adds the operations as JSON, with their description at
// /api/openapi.json.
func (s *Server) addAPI(mux *http.ServeMux) {
	config := huma.DefaultConfig("meniscus", "1")
	config.Info.Description = "What the pages of the bench do, as JSON."
	config.OpenAPIPath = "/api/openapi"
	config.DocsPath = ""      // its page would fetch from elsewhere
	config.SchemasPath = ""   // the description holds them
	config.CreateHooks = nil  // no links to schemas in the answers
	config.Transformers = nil //
	api := humago.New(lockedMux{s, mux}, config)
	huma.Register(api, huma.Operation{
		OperationID: "predict", Method: http.MethodPost, Path: "/api/predict", MaxBodyBytes: maxBody,
		Summary:     "The curve of a setup",
		Description: "Reads a setup file, changes what is asked for in its text, and predicts the curve. A setup that cannot be read is an answer too: problem says where and what.",
	}, func(_ context.Context, in *predictInput) (*predictOutput, error) {
		out, err := predict(in.Body)
		if err != nil {
			s.opt.Report(err)
			return nil, huma.Error500InternalServerError("the program met an error of its own")
		}
		return &predictOutput{Body: *out}, nil
	})
	s.addReadAPI(api)
	huma.Register(api, huma.Operation{
		OperationID: "explain", Method: http.MethodPost, Path: "/api/explain", MaxBodyBytes: maxBody,
		Summary:     "The working for a volume",
		Description: "Works a titration out by hand at a volume: amounts, the expression that governs with its numbers, and the exact value beside it.",
	}, func(_ context.Context, in *struct{ Body explainRequest }) (*struct{ Body explanation }, error) {
		out, err := explainAt(in.Body)
		if err != nil {
			s.opt.Report(err)
			return nil, huma.Error500InternalServerError("the program met an error of its own")
		}
		return &struct{ Body explanation }{*out}, nil
	})
	s.addFeasibility(api)
	s.addExercises(api)
}

// A lockedMux puts the password in front of the API.
type lockedMux struct {
	s   *Server
	mux *http.ServeMux
}

func (m lockedMux) HandleFunc(pattern string, f func(http.ResponseWriter, *http.Request)) {
	m.mux.HandleFunc(pattern, func(w http.ResponseWriter, r *http.Request) {
		if !m.s.allowed(r) {
			http.Error(w, `{"title":"Unauthorized","status":401,"detail":"give the password at /login first"}`, http.StatusUnauthorized)
			return
		}
		f(&oneStatus{ResponseWriter: w}, r)
	})
}

// A oneStatus lets the first status through. Where a browser has gone, the
// library of the API sets another for its own log after the answer has begun.
type oneStatus struct {
	http.ResponseWriter
	said bool
}

func (w *oneStatus) WriteHeader(status int) {
	if !w.said {
		w.said = true
		w.ResponseWriter.WriteHeader(status)
	}
}

func (w *oneStatus) Write(b []byte) (int, error) {
	w.said = true // a body without a status begins with 200
	return w.ResponseWriter.Write(b)
}

// Unwrap lets http.ResponseController reach the connection.
func (w *oneStatus) Unwrap() http.ResponseWriter { return w.ResponseWriter }

func (m lockedMux) ServeHTTP(w http.ResponseWriter, r *http.Request) { m.mux.ServeHTTP(w, r) }

type predictInput struct{ Body predictRequest }

type predictRequest struct {
	Setup   string   `json:"setup" maxLength:"1000000" doc:"the text of a setup file"`
	Changes []change `json:"changes,omitempty" maxItems:"100" doc:"values to change in that text first"`
	At      *float64 `json:"at_mL,omitempty" minimum:"0" maximum:"100000" doc:"a volume to include"`
	Points  int      `json:"points,omitempty" minimum:"0" maximum:"5000" doc:"about how many points; 0 for 500"`
	Without []string `json:"without,omitempty" maxItems:"2" enum:"slope,shares" doc:"columns of the curve that are not needed"`
}

// A change is a new value for a place in a setup.
type change struct {
	Place []string `json:"place" minItems:"1" maxItems:"10"`
	Value string   `json:"value" maxLength:"1000" doc:"a number keeps the unit and uncertainty that stood there"`
}

type predictOutput struct{ Body prediction }

type prediction struct {
	Schema   string     `json:"schema"`
	Setup    string     `json:"setup" doc:"the text after the changes"`
	Title    string     `json:"title"`
	Fields   []field    `json:"fields"`
	Curve    *curveData `json:"curve,omitempty"`
	Warnings []string   `json:"warnings"`
	Notes    []string   `json:"notes"`
	Problem  *problem   `json:"problem,omitempty" doc:"why there is no curve"`
}

// A problem is what is wrong with a setup, and where.
type problem struct {
	Message string `json:"message"`
	Line    int    `json:"line,omitempty" doc:"from 1"`
	Column  int    `json:"column,omitempty"`
	Key     string `json:"key,omitempty"`
	Excerpt string `json:"excerpt,omitempty"`
}

// predict answers a request. What is wrong with the setup is in the answer.
func predict(req predictRequest) (*prediction, error) {
	text := []byte(req.Setup)
	p := &prediction{Schema: "meniscus.bench.prediction/1", Fields: []field{}, Warnings: []string{}, Notes: []string{}}
	for _, c := range req.Changes {
		changed, err := turn(text, c.Place, c.Value)
		if err != nil {
			p.Setup, p.Problem = string(text), &problem{Message: report.Typeset(err.Error())}
			return p, nil
		}
		text = changed
	}
	p.Setup = string(text)
	s, err := setup.Read(text, "setup")
	if err != nil {
		p.Problem = explainProblem(err)
		return p, nil
	}
	p.Title = s.Title
	p.Fields = fields(text, s)
	for _, w := range s.Warnings {
		p.Warnings = append(p.Warnings, report.Typeset(w))
	}
	for _, n := range s.Notes {
		p.Notes = append(p.Notes, report.Typeset(n))
	}
	if s.Titration == nil {
		p.Problem = &problem{Message: "The setup gives only a ratio. A curve needs species under flask and burette."}
		return p, nil
	}
	if p.Curve, err = drawCurve(s, req.wanted()); err != nil {
		p.Curve, p.Problem = nil, explainProblem(err)
		return p, nil
	}
	p.Notes = append(p.Notes, p.Curve.far...)
	return p, nil
}

func (r *predictRequest) wanted() wanted {
	want := allOf(500)
	if r.Points > 0 {
		want.points = r.Points
	}
	if r.At != nil {
		want.at = *r.At
	}
	want.slope, want.shares = !slices.Contains(r.Without, "slope"), !slices.Contains(r.Without, "shares")
	return want
}

func explainProblem(err error) *problem {
	var se *setup.Error
	if errors.As(err, &se) {
		return &problem{Message: report.Typeset(se.Message), Line: se.Line, Column: se.Column, Key: report.Typeset(se.Key), Excerpt: se.Excerpt}
	}
	return &problem{Message: report.Typeset(err.Error())}
}
