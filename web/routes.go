package web

import "net/http"

// A route is one row of the table of pages and actions. A row with a place in
// the job stands in the navigation of every page.
type route struct {
	pattern string // method and path, as net/http reads it
	handle  func(*Server, http.ResponseWriter, *http.Request) error
	job     string // the word in the navigation; "" for none
	open    bool   // answered without the password
}

// routes is the table of every page and action but the API, which api.go lists.
func routes() []route {
	return []route{
		{"GET /{$}", (*Server).home, "", false},
		{"GET /plan", (*Server).showPlan, "Plan", false},
		{"POST /plan", (*Server).planSetup, "", false},
		{"POST /plan/file", (*Server).planFile, "", false},
		{"POST /plan/record", (*Server).keepRecord, "", false},
		{"GET /prepare", (*Server).showPrepare, "Prepare", false},
		{"GET /prepare/labels.pdf", (*Server).sendLabels, "", false},
		{"GET /prepare/labels.html", (*Server).sendLabels, "", false},
		{"GET /read", (*Server).showRead, "Read", false},
		{"POST /read", (*Server).readReading, "", false},
		{"POST /read/run", (*Server).readRunForm, "", false},
		{"POST /read/file", (*Server).readFile, "", false},
		{"GET /evaluate", (*Server).showEvaluate, "Evaluate", false},
		{"POST /evaluate/readings", (*Server).leaveOut, "", false},
		{"POST /evaluate/archive", (*Server).archive, "", false},
		{"GET /evaluate/report/{format}", (*Server).sendReport, "", false},
		{"GET /explain", (*Server).showExplain, "Explain", false},
		{"GET /exercises", (*Server).showExercises, "", false},
		{"GET /exercises/key", (*Server).showExerciseKey, "", false},
		{"GET /exercises/file/{name}", (*Server).sendExercises, "", false},
		{"GET /records", (*Server).showRecords, "Records", false},
		{"GET /records/{id}", (*Server).showRecord, "", false},
		{"POST /records/{id}", (*Server).saveRecord, "", false},
		{"POST /records/{id}/remove", (*Server).removeRecord, "", false},
		{"POST /records/{id}/duplicate", (*Server).duplicateRecord, "", false},
		{"GET /records/{id}/export", (*Server).exportRecord, "", false},
		{"GET /records/{id}/file/{no}", (*Server).sendFile, "", false},
		{"POST /records/import", (*Server).importRecord, "", false},
		{"GET /records/backup", (*Server).sendBackup, "", false},
		{"POST /records/restore", (*Server).restoreBackup, "", false},
		{"GET /compare", (*Server).compareRecords, "", false},
		{"POST /records/example", (*Server).beginExample, "", false},
		{"GET /login", (*Server).showLogin, "", true},
		{"POST /login", (*Server).login, "", true},
		{"POST /logout", (*Server).logout, "", true},
		{"GET /static/", (*Server).showStatic, "", true},
		{"GET /favicon.ico", (*Server).favicon, "", true},
		{"/", (*Server).missing, "", false},
	}
}

// mux joins the table and the API.
func (s *Server) mux() http.Handler {
	mux := http.NewServeMux()
	for _, rt := range routes() {
		mux.Handle(rt.pattern, s.action(rt))
	}
	s.addAPI(mux)
	return mux
}

// action adapts a row to net/http: the password first, errors to one place.
func (s *Server) action(rt route) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !rt.open && !s.allowed(r) {
			http.Redirect(w, r, "/login?to="+escapePath(r), http.StatusSeeOther)
			return
		}
		if err := rt.handle(s, w, r); err != nil {
			s.fail(w, r, err)
		}
	})
}

func (s *Server) home(w http.ResponseWriter, r *http.Request) error {
	http.Redirect(w, r, "/plan", http.StatusSeeOther)
	return nil
}

func (s *Server) favicon(w http.ResponseWriter, r *http.Request) error {
	http.Redirect(w, r, s.static.url("icon.svg"), http.StatusFound)
	return nil
}

func (s *Server) missing(_ http.ResponseWriter, r *http.Request) error {
	return notFound("There is no page at %s.", r.URL.Path)
}
