package web_test

import (
	"context"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"meniscus/examples"
	"meniscus/store"
	"meniscus/web"
)

func get(t *testing.T, h http.Handler, target string) *httptest.ResponseRecorder {
	t.Helper()
	w := httptest.NewRecorder()
	h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, target, nil))
	return w
}

func post(h http.Handler, target, kind string, body io.Reader, header ...string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(http.MethodPost, target, body)
	r.Header.Set("Content-Type", kind)
	for i := 0; i+1 < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

const formKind = "application/x-www-form-urlencoded"

func form(pairs ...string) io.Reader {
	v := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		v.Set(pairs[i], pairs[i+1])
	}
	return strings.NewReader(v.Encode())
}

// Every answer, of errors too, forbids what a page does not need.
func TestHeaders(t *testing.T) {
	b := bench(t, web.Options{})
	for _, target := range []string{"/plan", "/nowhere", "/api/openapi.json", "/static/none.css"} {
		h := get(t, b, target).Header()
		csp := h.Get("Content-Security-Policy")
		for _, want := range []string{"default-src 'self'", "script-src 'self'", "style-src 'self'", "frame-ancestors 'none'", "form-action 'self'"} {
			if !strings.Contains(csp, want) {
				t.Errorf("%s: policy %q lacks %s", target, csp, want)
			}
		}
		if strings.Contains(csp, "unsafe") {
			t.Errorf("%s: policy %q", target, csp)
		}
		if h.Get("X-Content-Type-Options") != "nosniff" || h.Get("Referrer-Policy") != "no-referrer" {
			t.Errorf("%s: %v", target, h)
		}
	}
}

func TestPageNamesOnlyItself(t *testing.T) {
	body := get(t, bench(t, web.Options{}), "/plan").Body.String()
	for _, bad := range []string{`src=""`, `href=""`, "https://", "style=", "onclick", "ZgotmplZ"} {
		if strings.Contains(body, bad) {
			t.Errorf("the page holds %s", bad)
		}
	}
}

func TestStatic(t *testing.T) {
	b := bench(t, web.Options{})
	body := get(t, b, "/plan").Body.String()
	for _, name := range []string{"/static/style.", "/static/dist/plan.", "/static/dist/look.", "/static/fonts/serif."} {
		i := strings.Index(body, name)
		if i < 0 {
			t.Errorf("the page does not name %s", name)
			continue
		}
		end := strings.IndexByte(body[i:], '"')
		w := get(t, b, body[i:i+end])
		if w.Code != http.StatusOK || !strings.Contains(w.Header().Get("Cache-Control"), "immutable") {
			t.Errorf("%s: %d %v", body[i:i+end], w.Code, w.Header())
		}
	}
}

func TestPathTricks(t *testing.T) {
	b := bench(t, web.Options{})
	for _, target := range []string{"/static/../web.go", "/static/%2e%2e/web.go", "/static//etc/passwd", "/static/..%2f..%2fgo.mod", "/plan/../../etc/passwd", "/plan?example=../granules/setup"} {
		w := get(t, b, target)
		if w.Code == http.StatusOK || strings.Contains(w.Body.String(), "package web") {
			t.Errorf("%s: %d", target, w.Code)
		}
	}
}

func TestCrossSitePost(t *testing.T) {
	b := bench(t, web.Options{})
	for _, header := range [][]string{{"Sec-Fetch-Site", "cross-site"}, {"Origin", "http://elsewhere.test"}} {
		for target, kind := range map[string]string{"/plan": formKind, "/api/predict": "application/json"} {
			if w := post(b, target, kind, strings.NewReader("{}"), header...); w.Code != http.StatusForbidden {
				t.Errorf("%s with %v: %d", target, header, w.Code)
			}
		}
	}
	if w := post(b, "/plan", formKind, form("setup", string(examples.Worked().Setup)), "Sec-Fetch-Site", "same-origin"); w.Code != http.StatusOK {
		t.Errorf("from the page itself: %d", w.Code)
	}
}

// A name elsewhere that points to this machine is not answered.
func TestOtherHost(t *testing.T) {
	b := bench(t, web.Options{Loopback: true})
	for host, want := range map[string]int{
		"localhost:7480": http.StatusOK, "127.0.0.1:7480": http.StatusOK, "[::1]:7480": http.StatusOK,
		"elsewhere.test": http.StatusMisdirectedRequest, "127.0.0.1.elsewhere.test:7480": http.StatusMisdirectedRequest, "": http.StatusMisdirectedRequest,
	} {
		r := httptest.NewRequest(http.MethodGet, "/plan", nil)
		r.Host = host
		w := httptest.NewRecorder()
		b.ServeHTTP(w, r)
		if w.Code != want {
			t.Errorf("%q: %d, want %d", host, w.Code, want)
		}
	}
}

func TestScriptInTitle(t *testing.T) {
	text := strings.Replace(string(examples.Worked().Setup), "title: Iron", `title: </script><script>alert(1)</script>Iron`, 1)
	w := post(bench(t, web.Options{}), "/plan", formKind, form("setup", text))
	if body := w.Body.String(); w.Code != http.StatusOK || strings.Contains(body, "<script>alert") || strings.Contains(body, "</script><script>a") {
		t.Errorf("%d, and the script stands in the page", w.Code)
	}
}

// endless is a body that says it is 200 MB long.
type endless struct{ left int }

func (e *endless) Read(p []byte) (int, error) {
	if e.left <= 0 {
		return 0, io.EOF
	}
	n := min(len(p), e.left)
	for i := range p[:n] {
		p[i] = 'a'
	}
	e.left -= n
	return n, nil
}

func TestHugeBody(t *testing.T) {
	b := bench(t, web.Options{})
	for target, kind := range map[string]string{"/plan": formKind, "/plan/file": formKind, "/api/predict": "application/json"} {
		body := &endless{left: 200 << 20}
		w := post(b, target, kind, body)
		if w.Code != http.StatusRequestEntityTooLarge {
			t.Errorf("%s: %d", target, w.Code)
		}
		if read := 200<<20 - body.left; read > 4<<20 {
			t.Errorf("%s read %d bytes", target, read)
		}
	}
}

func TestWrongSetupKeepsTheText(t *testing.T) {
	text := strings.Replace(string(examples.Worked().Setup), "0.045 mol/L ", "0.045 ", 1)
	body := post(bench(t, web.Options{}), "/plan", formKind, form("setup", text)).Body.String()
	if !strings.Contains(body, "# a guess; the readings decide") {
		t.Error("the text is gone")
	}
	if !strings.Contains(body, `"line":7`) {
		t.Error("the page does not say that line 7 is wrong")
	}
}

func TestPassword(t *testing.T) {
	p, err := web.CheapPassword("correct horse")
	if err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
	b := bench(t, web.Options{Password: p, Now: func() time.Time { return now }})
	server := httptest.NewServer(b)
	defer server.Close()
	jar, _ := cookiejar.New(nil)
	c := &http.Client{Jar: jar}
	ask := func(path string) (int, string) {
		r, err := c.Get(server.URL + path)
		if err != nil {
			t.Fatal(err)
		}
		r.Body.Close()
		return r.StatusCode, r.Request.URL.Path
	}
	give := func(password, to string) (int, string) {
		r, err := c.PostForm(server.URL+"/login", url.Values{"password": {password}, "to": {to}})
		if err != nil {
			t.Fatal(err)
		}
		r.Body.Close()
		return r.StatusCode, r.Request.URL.String()
	}
	if code, path := ask("/plan"); code != http.StatusOK || path != "/login" {
		t.Errorf("without a password: %d at %s", code, path)
	}
	r, err := c.Post(server.URL+"/api/predict", "application/json", strings.NewReader("{}"))
	if err != nil {
		t.Fatal(err)
	}
	r.Body.Close()
	if r.StatusCode != http.StatusUnauthorized {
		t.Errorf("the API without a password: %d", r.StatusCode)
	}
	if code, _ := give("wrong horse", "/plan"); code != http.StatusForbidden {
		t.Errorf("a wrong password: %d", code)
	}
	if code, at := give("correct horse", "//elsewhere.test/"); code != http.StatusOK || !strings.HasPrefix(at, server.URL) {
		t.Errorf("the right password: %d at %s", code, at)
	}
	if code, path := ask("/plan"); code != http.StatusOK || path != "/plan" {
		t.Errorf("with the password: %d at %s", code, path)
	}
	for range 20 {
		give("guess", "/")
	}
	if code, _ := give("correct horse", "/"); code != http.StatusTooManyRequests {
		t.Errorf("after a flood: %d", code)
	}
	now = now.Add(61 * time.Second)
	if code, _ := give("correct horse", "/"); code != http.StatusOK {
		t.Errorf("a minute later: %d", code)
	}
	now = now.Add(13 * time.Hour)
	if _, path := ask("/plan"); path != "/login" {
		t.Error("the session does not end")
	}
}

func TestPasswordAsKept(t *testing.T) {
	p, err := web.CheapPassword("correct horse")
	if err != nil {
		t.Fatal(err)
	}
	q, err := web.ParsePassword(p.String())
	if err != nil || !q.Matches("correct horse") || q.Matches("correct horsf") {
		t.Errorf("%v", err)
	}
	if _, err := web.NewPassword("short"); err == nil {
		t.Error("a short password was taken")
	}
	if _, err := web.ParsePassword("$argon2id$v=19$m=4294967295,t=1,p=1$AA$AA"); err == nil {
		t.Error("a hash that would take all memory was taken")
	}
}

func TestKeepRecord(t *testing.T) {
	records, err := store.Open(context.Background(), filepath.Join(t.TempDir(), "bench.db"), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer records.Close()
	b := bench(t, web.Options{Store: records})
	text := string(examples.Worked().Setup)
	w := post(b, "/plan/record", formKind, form("setup", text, "author", "A. Student"))
	if w.Code != http.StatusSeeOther {
		t.Fatalf("%d: %s", w.Code, w.Body)
	}
	body := get(t, b, w.Header().Get("Location")).Body.String()
	if !strings.Contains(body, "Kept as a record") || !strings.Contains(body, "A. Student") {
		t.Error("the page does not say that it was kept")
	}
	page, err := records.Find(context.Background(), store.Query{})
	if err != nil || len(page.Records) != 1 || page.Records[0].Title != "Iron in moss-control granules, with cerium(IV)" {
		t.Fatalf("%v, %v", page, err)
	}
	if rec, err := records.Record(context.Background(), page.Records[0].ID); err != nil || rec.Setup != text {
		t.Errorf("kept %q, %v", rec.Setup, err)
	}
	if w := post(b, "/plan/record", formKind, form("setup", text)); w.Code != http.StatusBadRequest {
		t.Errorf("without an author: %d", w.Code)
	}
	if w := get(t, b, "/plan?record=none"); w.Code != http.StatusNotFound {
		t.Errorf("a record that is not there: %d", w.Code)
	}
}
