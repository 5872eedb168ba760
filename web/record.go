package web

import (
	"errors"
	"net/http"
	"net/url"
	"strings"

	"meniscus/setup"
	"meniscus/store"
)

// keepRecord keeps the setup on the Plan page as a new record.
func (s *Server) keepRecord(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	if err := s.needStore(); err != nil {
		return err
	}
	text := unix(r.PostFormValue("setup"))
	author := strings.TrimSpace(r.PostFormValue("author"))
	if author == "" {
		return badRequest("Not kept: a record says who made it. Go back, what you typed is still there, and fill in your name.")
	}
	rec := store.Record{Title: "A titration", Setup: text}
	// A setup that is not right yet is kept too: nothing typed is lost.
	if read, err := setup.Read([]byte(text), "setup"); err == nil && read.Title != "" {
		rec.Title = read.Title
	}
	rec, err := s.opt.Store.Create(r.Context(), rec, store.By{Author: author})
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/plan?kept=1&record="+url.QueryEscape(rec.ID), http.StatusSeeOther)
	return nil
}

// record reads the record that a request names.
func (s *Server) record(r *http.Request) (store.Record, error) {
	if err := s.needStore(); err != nil {
		return store.Record{}, err
	}
	return s.opt.Store.Record(r.Context(), r.FormValue("record"))
}

// planRecord shows the setup of a record.
func (s *Server) planRecord(w http.ResponseWriter, r *http.Request) error {
	rec, err := s.record(r)
	if err != nil {
		return err
	}
	p := planPage{Author: rec.SavedBy}
	if r.FormValue("kept") != "" {
		p.Flash = "Kept as a record, “" + rec.Title + "”, by " + rec.SavedBy + " on " + rec.Saved.Local().Format("2 January 2006 at 15:04") + "."
	}
	return s.plan(w, p, rec.Setup)
}

// ofStore gives the errors of the store their status; nil for others.
func ofStore(err error) *statusError {
	var missing *store.NotFoundError
	var behind *store.BehindError
	var conflict *store.ConflictError
	var invalid *store.InvalidError
	var locked *store.LockedError
	var damaged *store.DamagedError
	var full *store.FullError
	switch {
	case errors.As(err, &missing):
		return &statusError{http.StatusNotFound, "T" + missing.Error()[1:] + "."}
	case errors.As(err, &behind):
		return &statusError{http.StatusConflict, "Not kept: " + behind.Error() + "."}
	case errors.As(err, &conflict):
		return &statusError{http.StatusConflict, conflict.Error() + "."}
	case errors.As(err, &invalid):
		return &statusError{http.StatusBadRequest, "Not kept: " + invalid.Error() + "."}
	case errors.As(err, &locked):
		return &statusError{http.StatusServiceUnavailable, "Not kept: " + locked.Error() + "."}
	case errors.As(err, &full):
		return &statusError{http.StatusInsufficientStorage, "Not kept: " + full.Error() + "."}
	case errors.As(err, &damaged):
		return &statusError{http.StatusInternalServerError, "Not kept: " + damaged.Error() + "."}
	}
	return nil
}
