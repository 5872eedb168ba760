package web_test

import (
	"bytes"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"meniscus/store"
	"meniscus/web"
)

// send posts a file as the forms of the Records page do.
func send(tb testing.TB, h http.Handler, path, name string, data []byte) (int, http.Header, string) {
	tb.Helper()
	var b bytes.Buffer
	form := multipart.NewWriter(&b)
	part, err := form.CreateFormFile("file", name)
	if err == nil {
		_, err = part.Write(data)
	}
	if err == nil {
		err = form.Close()
	}
	if err != nil {
		tb.Fatal(err)
	}
	r := httptest.NewRequestWithContext(tb.Context(), "POST", "http://127.0.0.1:7480"+path, &b)
	r.Header.Set("Content-Type", form.FormDataContentType())
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w.Code, w.Header(), w.Body.String()
}

func TestRecordsList(t *testing.T) {
	s := aStore(t)
	h := bench(t, web.Options{Loopback: true, Store: s})
	if code, _, text := ask(t, h, "GET", "/records", nil); code != http.StatusOK || !strings.Contains(text, "Nothing has been kept yet") {
		t.Errorf("an empty bench: %d", code)
	}
	id := example(t, h)
	by := store.By{Author: "R. Kessler"}
	for _, title := range []string{"Vanadium in a catalyst", "<b>bold</b> & more"} {
		if _, err := s.Create(t.Context(), store.Record{Title: title, Tags: []string{"summer"}}, by); err != nil {
			t.Fatal(err)
		}
	}
	for query, want := range map[string][]string{
		"":               {"Vanadium in a catalyst", "&lt;b&gt;bold&lt;/b&gt; &amp; more", "Iron in moss-control granules", "3 found"},
		"?words=vanad":   {"Vanadium", "1 found"},
		"?tag=summer":    {"Vanadium", "2 found"},
		"?words=zzz":     {"No record holds all of that"},
		"?removed=1":     {"No record holds all of that"},
		"?from=-5":       {"3 found"},
		"?from=nonsense": {"3 found"},
	} {
		code, _, text := ask(t, h, "GET", "/records"+query, nil)
		for _, w := range want {
			if code != http.StatusOK || !strings.Contains(text, w) {
				t.Errorf("/records%s: %d, does not say %q", query, code, w)
			}
		}
	}
	code, _, text := ask(t, h, "GET", "/compare?id="+id+"&id="+id, nil)
	if code != http.StatusOK || strings.Count(text, "11.939 ± 0.034 %") != 2 {
		t.Errorf("side by side: %d", code)
	}
	for _, want := range []string{"0.000 ± 0.048 %", "no more than the uncertainty of both explains", "takes the results to be independent"} {
		if !strings.Contains(text, want) {
			t.Errorf("side by side does not say %q", want)
		}
	}
	if _, _, text := ask(t, h, "GET", "/compare?by=share&id="+id+"&id="+id, nil); !strings.Contains(text, "volume added / equivalence volume") {
		t.Error("volumes divided: the axis does not say so")
	}
	if _, _, text := ask(t, h, "GET", "/records/"+id, nil); strings.Index(text, "11.939 ± 0.034 %") > strings.Index(text, "What was changed") {
		t.Error("the page of a record does not begin with what it gives")
	}
	if code, _, _ := ask(t, h, "GET", "/compare?id="+id, nil); code != http.StatusBadRequest {
		t.Errorf("one record beside none: %d", code)
	}
}

// Two tabs change one record: the second is shown the first one's text, keeps
// its own, and overwrites only when it is saved again.
func TestTwoTabs(t *testing.T) {
	s := aStore(t)
	h := bench(t, web.Options{Loopback: true, Store: s})
	id := example(t, h)
	form := func(version, title string) url.Values {
		return url.Values{"version": {version}, "title": {title}, "tags": {"a, b,a"}, "notes": {"one\r\ntwo"}, "author": {"R. Kessler"}}
	}
	if code, _, text := ask(t, h, "POST", "/records/"+id, form("1", "First tab")); code != http.StatusSeeOther {
		t.Fatalf("%d %s", code, text)
	}
	code, _, text := ask(t, h, "POST", "/records/"+id, form("1", "Second tab"))
	if code != http.StatusConflict || !strings.Contains(text, "First tab") || !strings.Contains(text, `value="Second tab"`) {
		t.Errorf("the second tab: %d", code)
	}
	rec, err := s.Record(t.Context(), id)
	if err != nil || rec.Title != "First tab" || rec.Notes != "one\ntwo" || strings.Join(rec.Tags, "|") != "a|b" {
		t.Errorf("the record is %+v, %v", rec, err)
	}
	if code, _, _ := ask(t, h, "POST", "/records/"+id, form("2", "Second tab")); code != http.StatusSeeOther {
		t.Errorf("saved again: %d", code)
	}
	_, _, text = ask(t, h, "GET", "/records/"+id, nil)
	for _, want := range []string{"Second tab", "First tab", "R. Kessler"} {
		if !strings.Contains(text, want) {
			t.Errorf("the history does not say %q", want)
		}
	}
	if code, _, _ := ask(t, h, "POST", "/records/"+id, form("", "x")); code != http.StatusBadRequest {
		t.Errorf("without a version: %d", code)
	}
}

func TestRemoveDuplicateAndFiles(t *testing.T) {
	s := aStore(t)
	h := bench(t, web.Options{Loopback: true, Store: s})
	id := example(t, h)
	who := url.Values{"author": {"R. Kessler"}, "readings": {"1"}}
	code, head, _ := ask(t, h, "POST", "/records/"+id+"/duplicate", who)
	copied := strings.TrimPrefix(head.Get("Location"), "/records/")
	d, err := s.Determination(t.Context(), copied)
	if code != http.StatusSeeOther || err != nil || len(d.Runs) != 1 || len(d.Runs[0].Readings) != 51 {
		t.Fatalf("duplicate: %d, %v, %d runs", code, err, len(d.Runs))
	}
	gone := url.Values{"author": {"R. Kessler"}, "version": {"1"}, "why": {"made twice"}}
	if code, _, text := ask(t, h, "POST", "/records/"+copied+"/remove", gone); code != http.StatusSeeOther {
		t.Fatalf("removed: %d %s", code, text)
	}
	if _, _, text := ask(t, h, "GET", "/records", nil); strings.Contains(text, copied) {
		t.Error("a removed record is in the list")
	}
	back := url.Values{"author": {"R. Kessler"}, "version": {"2"}, "do": {"back"}}
	if code, _, _ := ask(t, h, "POST", "/records/"+copied+"/remove", back); code != http.StatusSeeOther {
		t.Errorf("brought back: %d", code)
	}
	files, err := s.Originals(t.Context(), id)
	if err != nil || len(files) != 1 {
		t.Fatal(files, err)
	}
	code, head, text := ask(t, h, "GET", "/records/"+id+"/file/"+number(files[0].No), nil)
	if code != http.StatusOK || !strings.HasPrefix(head.Get("Content-Disposition"), "attachment; ") || head.Get("Content-Type") != "application/octet-stream" || !strings.HasPrefix(text, "# iron in moss") {
		t.Errorf("the file: %d %v", code, head)
	}
	for _, path := range []string{"/records/" + id + "/file/999", "/records/" + id + "/file/..%2f..%2fetc", "/records/nosuch", "/records/nosuch/export"} {
		if code, _, _ := ask(t, h, "GET", path, nil); code != http.StatusNotFound {
			t.Errorf("%s: %d", path, code)
		}
	}
}

// A file name that plays tricks is only ever a name.
func TestFileNamesPlayNoTricks(t *testing.T) {
	s := aStore(t)
	h := bench(t, web.Options{Loopback: true, Store: s})
	rec, err := s.Create(t.Context(), store.Record{Title: "Iron"}, store.By{Author: "R. Kessler"})
	if err != nil {
		t.Fatal(err)
	}
	o, err := s.AddOriginal(t.Context(), rec.ID, "..\\\"x;\u00e9.html", "text/html", []byte("<script>alert(1)</script>"), store.By{Author: "R. Kessler"})
	if err != nil {
		t.Fatal(err)
	}
	_, head, _ := ask(t, h, "GET", "/records/"+rec.ID+"/file/"+number(o.No), nil)
	if got, want := head.Get("Content-Disposition"), `attachment; filename="..__x__.html"; filename*=UTF-8''..%5C%22x%3B%C3%A9.html`; got != want {
		t.Errorf("disposition %q, want %q", got, want)
	}
	if head.Get("Content-Type") != "application/octet-stream" || head.Get("X-Content-Type-Options") != "nosniff" {
		t.Errorf("it may be shown as a page: %v", head)
	}
}

// A record goes to another bench as a zip and back up whole; a backup into an
// empty bench gives the same backup.
func TestZipsThroughTheBrowser(t *testing.T) {
	s := aStore(t)
	h := bench(t, web.Options{Loopback: true, Store: s})
	id := example(t, h)
	code, head, zip := ask(t, h, "GET", "/records/"+id+"/export", nil)
	if code != http.StatusOK || head.Get("Content-Type") != "application/zip" {
		t.Fatalf("export: %d", code)
	}
	other := bench(t, web.Options{Loopback: true, Store: aStore(t)})
	if code, _, text := send(t, other, "/records/import", "x.zip", []byte(zip)); code != http.StatusSeeOther {
		t.Fatalf("import: %d %s", code, text)
	}
	if _, _, text := ask(t, other, "GET", "/evaluate?record="+id, nil); !strings.Contains(text, "11.939 ± 0.034 %") {
		t.Error("the imported record gives another result")
	}
	_, _, saved := ask(t, h, "GET", "/records/backup", nil)
	third := bench(t, web.Options{Loopback: true, Store: aStore(t)})
	if code, _, text := send(t, third, "/records/restore", "b.zip", []byte(saved)); code != http.StatusSeeOther {
		t.Fatalf("restore: %d %s", code, text)
	}
	if _, _, again := ask(t, third, "GET", "/records/backup", nil); again != saved {
		t.Error("the backup of the restored bench differs")
	}
	if code, _, text := send(t, other, "/records/restore", "b.zip", []byte(saved)); code != http.StatusBadRequest || !strings.Contains(text, "holds records already") {
		t.Errorf("restored over records: %d", code)
	}
	for _, bad := range [][]byte{nil, []byte("no zip"), []byte(zip[:len(zip)/2])} {
		if code, _, _ := send(t, other, "/records/import", "x.zip", bad); code != http.StatusBadRequest {
			t.Errorf("%d bytes that are no record: %d", len(bad), code)
		}
	}
	r := httptest.NewRequestWithContext(t.Context(), "POST", "http://127.0.0.1:7480/records/import", io.LimitReader(zeros{}, 200<<20))
	r.Header.Set("Content-Type", "multipart/form-data; boundary=x")
	r.Header.Set("Sec-Fetch-Site", "cross-site")
	w := httptest.NewRecorder()
	if h.ServeHTTP(w, r); w.Code != http.StatusForbidden {
		t.Errorf("a cross-site upload of 200 MB: %d", w.Code)
	}
}

type zeros struct{}

func (zeros) Read(p []byte) (int, error) {
	clear(p)
	return len(p), nil
}
