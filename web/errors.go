package web

import (
	"errors"
	"fmt"
	"net/http"
)

// A statusError is an error that has a status and words for the reader.
type statusError struct {
	status  int
	message string
}

func (e *statusError) Error() string { return e.message }

func notFound(format string, args ...any) error {
	return &statusError{http.StatusNotFound, fmt.Sprintf(format, args...)}
}

func badRequest(format string, args ...any) error {
	return &statusError{http.StatusBadRequest, fmt.Sprintf(format, args...)}
}

// badForm is an error of reading a form: too large, or no form.
func badForm(err error) error {
	var big *http.MaxBytesError
	if errors.As(err, &big) {
		return err
	}
	return badRequest("What was sent cannot be read as a form: %v.", err)
}

type errorPage struct {
	page
	Status  int
	Message string
}

// fail is where every error of a page becomes a status and words.
func (s *Server) fail(w http.ResponseWriter, r *http.Request, err error) {
	p := errorPage{}
	p.Status, p.Message = s.words(r, err)
	p.page = s.newPage("", http.StatusText(p.Status), "")
	if err := s.render(w, p.Status, "error", p); err != nil {
		s.opt.Report(err)
		http.Error(w, p.Message, p.Status)
	}
}

// words is the status of an error and what a reader is told of it; what is the
// program's own fault is reported in full where it runs.
func (s *Server) words(r *http.Request, err error) (int, string) {
	var se *statusError
	var big *http.MaxBytesError
	if of := ofStore(err); of != nil {
		err = of
	}
	switch {
	case errors.As(err, &se):
		return se.status, se.message
	case errors.As(err, &big):
		return http.StatusRequestEntityTooLarge, fmt.Sprintf("What was sent is larger than the %d kB that this page takes. Nothing was changed.", big.Limit/1000)
	}
	s.opt.Report(fmt.Errorf("%s %s: %w", r.Method, r.URL.Path, err))
	return http.StatusInternalServerError, "The program met an error of its own and has written it to its terminal. Nothing that was saved is lost."
}
