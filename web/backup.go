package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"strings"
	"time"
)

// A backup may be large and a line slow: what goes on may last, and only what
// stands still this long is given up.
const patience = 2 * time.Minute

// A patientBody gives each part of what is sent its own time.
type patientBody struct {
	io.ReadCloser
	line *http.ResponseController
}

func (b patientBody) Read(p []byte) (int, error) {
	b.line.SetReadDeadline(time.Now().Add(patience)) // where there is no deadline there is none to move
	return b.ReadCloser.Read(p)
}

// A patientAnswer gives each part of the answer its own time.
type patientAnswer struct {
	http.ResponseWriter
	line *http.ResponseController
}

func (a patientAnswer) Write(p []byte) (int, error) {
	a.line.SetWriteDeadline(time.Now().Add(patience)) // as above
	return a.ResponseWriter.Write(p)
}

// Unwrap lets http.ResponseController reach the connection.
func (a patientAnswer) Unwrap() http.ResponseWriter { return a.ResponseWriter }

// patient lets a request take as long as it goes on. Without this the deadline
// for reading, once past, would end the work of an upload that is here already.
func patient(w http.ResponseWriter, r *http.Request) http.ResponseWriter {
	line := http.NewResponseController(w)
	line.SetReadDeadline(time.Time{})
	line.SetWriteDeadline(time.Time{})
	r.Body = patientBody{r.Body, line}
	return patientAnswer{w, line}
}

// uploaded is the file of a form. A large one waits on disk, and net/http
// removes it when the request ends.
func uploaded(r *http.Request) (multipart.File, *multipart.FileHeader, error) {
	if err := r.ParseMultipartForm(8 << 20); err != nil {
		return nil, nil, badForm(err)
	}
	f, head, err := r.FormFile("file")
	if err != nil {
		return nil, nil, badRequest("No file was chosen.")
	}
	return f, head, nil
}

func (s *Server) importRecord(w http.ResponseWriter, r *http.Request) error {
	if err := s.needStore(); err != nil {
		return err
	}
	w = patient(w, r)
	f, head, err := uploaded(r)
	if err != nil {
		return err
	}
	defer f.Close() // only read
	done, err := s.opt.Store.Import(r.Context(), f, head.Size)
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/records/"+url.PathEscape(done.Record.ID), http.StatusSeeOther)
	return nil
}

// sendBackup writes everything as one zip, record by record.
func (s *Server) sendBackup(w http.ResponseWriter, r *http.Request) error {
	if err := s.needStore(); err != nil {
		return err
	}
	w = patient(w, r)
	name := "meniscus-backup-" + s.opt.Now().Format("2006-01-02-1504") + ".zip"
	w.Header().Set("Content-Type", "application/zip")
	w.Header().Set("Content-Disposition", disposition(name))
	if err := s.opt.Store.Backup(r.Context(), w); err != nil {
		s.opt.Report(fmt.Errorf("backing up: %w", err))
		panic(http.ErrAbortHandler) // half a zip must not look like a whole one
	}
	return nil
}

// told is the kind of an answer in lines of JSON, which says how far the work is.
const told = "application/x-ndjson"

// A restoring line says how far a restore is, or how it ended.
type restoring struct {
	Done  int    `json:"done,omitempty"`
	Of    int    `json:"of,omitempty"`
	To    string `json:"to,omitempty"`    // the page to go to: all is there
	Error string `json:"error,omitempty"` // nothing was restored
}

// restoreBackup reads a backup into the empty bench. Who accepts it is told how
// far the work is; hanging up stops it, and then nothing was restored.
func (s *Server) restoreBackup(w http.ResponseWriter, r *http.Request) error {
	if err := s.needStore(); err != nil {
		return err
	}
	w = patient(w, r)
	f, head, err := uploaded(r)
	if err != nil {
		return err
	}
	defer f.Close() // only read
	if !strings.Contains(r.Header.Get("Accept"), told) {
		if _, err := s.opt.Store.Restore(r.Context(), f, head.Size, nil); err != nil {
			return err
		}
		http.Redirect(w, r, "/records", http.StatusSeeOther)
		return nil
	}
	w.Header().Set("Content-Type", told)
	w.Header().Set("Cache-Control", "no-store")
	tell := func(x restoring) {
		json.NewEncoder(w).Encode(x)          // a browser that has gone ends the
		http.NewResponseController(w).Flush() // context, and so the work
	}
	last := time.Time{}
	_, err = s.opt.Store.Restore(r.Context(), f, head.Size, func(done, of int) {
		if now := time.Now(); done == of || now.Sub(last) > time.Second/10 {
			last = now
			tell(restoring{Done: done, Of: of})
		}
	})
	switch {
	case err == nil:
		tell(restoring{To: "/records"})
	case !errors.Is(err, context.Canceled):
		_, words := s.words(r, err)
		tell(restoring{Error: words})
	}
	return nil
}
