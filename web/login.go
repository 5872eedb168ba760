package web

import (
	"crypto/rand"
	"crypto/sha256"
	"net/http"
	"strings"
	"sync"
	"time"
)

const (
	cookieName  = "meniscus_session"
	sessionTime = 12 * time.Hour
	maxSessions = 1000
	// tries is how many wrong passwords in a minute close the door for the rest
	// of it, whoever sends them: the bench has one password.
	tries = 10
)

// sessions are who has given the password. They end with the program.
type sessions struct {
	now   func() time.Time
	mu    sync.Mutex
	until map[[32]byte]time.Time
	wrong []time.Time // in the last minute
	gate  chan struct{}
}

func newSessions(now func() time.Time) *sessions {
	// One hash at a time: each takes 19 MiB.
	return &sessions{now: now, until: map[[32]byte]time.Time{}, gate: make(chan struct{}, 1)}
}

func (s *sessions) begin() string {
	token := rand.Text()
	s.mu.Lock()
	defer s.mu.Unlock()
	for k, t := range s.until {
		if !t.After(s.now()) || len(s.until) >= maxSessions {
			delete(s.until, k)
		}
	}
	s.until[sha256.Sum256([]byte(token))] = s.now().Add(sessionTime)
	return token
}

func (s *sessions) valid(token string) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	t, ok := s.until[sha256.Sum256([]byte(token))]
	return ok && t.After(s.now())
}

func (s *sessions) end(token string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.until, sha256.Sum256([]byte(token)))
}

// closed says whether too many wrong passwords came lately.
func (s *sessions) closed() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	recent := s.wrong[:0]
	for _, t := range s.wrong {
		if s.now().Sub(t) < time.Minute {
			recent = append(recent, t)
		}
	}
	s.wrong = recent
	return len(recent) >= tries
}

func (s *sessions) miss() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.wrong = append(s.wrong, s.now())
}

// allowed says whether the reader may see pages.
func (s *Server) allowed(r *http.Request) bool {
	if s.opt.Password == nil {
		return true
	}
	c, err := r.Cookie(cookieName)
	return err == nil && s.sessions.valid(c.Value)
}

type loginPage struct {
	page
	To     string
	Wrong  bool
	Closed bool
}

func (s *Server) showLogin(w http.ResponseWriter, r *http.Request) error {
	if s.allowed(r) {
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return nil
	}
	return s.loginForm(w, http.StatusOK, loginPage{To: inside(r.FormValue("to"))})
}

func (s *Server) loginForm(w http.ResponseWriter, status int, p loginPage) error {
	p.page = s.newPage("", "Password", "")
	p.Menu, p.Login = nil, false
	return s.render(w, status, "login", p)
}

// inside keeps a redirect on this bench.
func inside(to string) string {
	if !strings.HasPrefix(to, "/") || strings.HasPrefix(to, "//") || strings.ContainsAny(to, "\\\r\n") {
		return "/"
	}
	return to
}

func (s *Server) login(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	p := loginPage{To: inside(r.PostFormValue("to"))}
	if s.opt.Password == nil {
		http.Redirect(w, r, p.To, http.StatusSeeOther)
		return nil
	}
	select {
	case s.sessions.gate <- struct{}{}:
		defer func() { <-s.sessions.gate }()
	case <-r.Context().Done():
		return nil
	}
	if s.sessions.closed() {
		p.Closed = true
		w.Header().Set("Retry-After", "60")
		return s.loginForm(w, http.StatusTooManyRequests, p)
	}
	if text := r.PostFormValue("password"); len(text) > 1000 || !s.opt.Password.Matches(text) {
		s.sessions.miss()
		p.Wrong = true
		return s.loginForm(w, http.StatusForbidden, p)
	}
	http.SetCookie(w, &http.Cookie{
		Name: cookieName, Value: s.sessions.begin(), Path: "/",
		MaxAge: int(sessionTime / time.Second), HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: r.TLS != nil,
	})
	http.Redirect(w, r, p.To, http.StatusSeeOther)
	return nil
}

func (s *Server) logout(w http.ResponseWriter, r *http.Request) error {
	if c, err := r.Cookie(cookieName); err == nil {
		s.sessions.end(c.Value)
	}
	http.SetCookie(w, &http.Cookie{Name: cookieName, Path: "/", MaxAge: -1, HttpOnly: true, SameSite: http.SameSiteStrictMode})
	http.Redirect(w, r, "/login", http.StatusSeeOther)
	return nil
}
