package web_test

import (
	"archive/zip"
	"bytes"
	"fmt"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"meniscus/store"
	"meniscus/web"
)

// hand posts a file of readings as the form of the Read page does.
func hand(t *testing.T, h http.Handler, record, name string, data []byte, header ...string) *httptest.ResponseRecorder {
	t.Helper()
	var b bytes.Buffer
	f := multipart.NewWriter(&b)
	part, err := f.CreateFormFile("file", name)
	if err == nil {
		_, err = part.Write(data)
	}
	for k, v := range map[string]string{"record": record, "author": "R. Kessler", "kind": "sample"} {
		if err == nil {
			err = f.WriteField(k, v)
		}
	}
	if err == nil {
		err = f.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
	return post(h, "/read/file", f.FormDataContentType(), &b, header...)
}

// A file is kept byte for byte; cells that cannot be read are named by row and
// column.
func TestFileOfReadings(t *testing.T) {
	s := aStore(t)
	record := blankRecord(t, s)
	h := bench(t, web.Options{Store: s})
	data := []byte("volume (mL);potential (mV)\n1,5;405,7\n3,0;4O5\n4,5;<script>alert(1)</script>\n6,0;446,7\n")
	w := hand(t, h, record, `..\..\<b>lab</b>.csv`, data)
	body := w.Body.String()
	if w.Code != http.StatusOK || !strings.Contains(body, "row 3, column potential (mV): &#34;4O5&#34;") || !strings.Contains(body, "row 4") {
		t.Errorf("%d: the bad cells are not named:\n%s", w.Code, body)
	}
	if strings.Contains(body, "<script>alert") || strings.Contains(body, "<b>lab") {
		t.Error("a cell or name stands in the page as HTML")
	}
	files, err := s.Originals(t.Context(), record)
	if err != nil || len(files) != 1 || files[0].Name != "b>.csv" {
		t.Fatalf("%v, %v", files, err)
	}
	if kept, err := s.Content(t.Context(), record, files[0].No); err != nil || !bytes.Equal(kept, data) {
		t.Errorf("kept %q, %v", kept, err)
	}
	if got := typedRows(t, s, record); got != "1.5:405.7 6:446.7 " {
		t.Errorf("read %q", got)
	}
}

func TestHostileFiles(t *testing.T) {
	s := aStore(t)
	record := blankRecord(t, s)
	h := bench(t, web.Options{Store: s})
	var bomb bytes.Buffer
	z := zip.NewWriter(&bomb)
	for _, name := range []string{"xl/workbook.xml", "xl/worksheets/sheet1.xml"} {
		f, err := z.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		for range 160 {
			f.Write(make([]byte, 1<<20))
		}
	}
	z.Close()
	for name, data := range map[string][]byte{"bomb.xlsx": bomb.Bytes(), "program.exe": {0x7f, 'E', 'L', 'F', 0, 0, 1}, "empty.csv": {}, "words.csv": []byte("nothing to read here")} {
		if w := hand(t, h, record, name, data); w.Code != http.StatusBadRequest {
			t.Errorf("%s: %d", name, w.Code)
		}
	}
	if w := hand(t, h, record, "readings.csv", []byte("1;2\n3;4\n"), "Sec-Fetch-Site", "cross-site"); w.Code != http.StatusForbidden {
		t.Errorf("from another site: %d", w.Code)
	}
	for _, target := range []string{"/read", "/read/run", "/api/records/" + record + "/runs/0/readings"} {
		if w := post(h, target, "application/json", strings.NewReader("{}"), "Origin", "http://elsewhere.test"); w.Code != http.StatusForbidden {
			t.Errorf("%s from another site: %d", target, w.Code)
		}
	}
	body := &endless{left: 200 << 20}
	if w := post(h, "/read/file", "multipart/form-data; boundary=x", body); w.Code != http.StatusRequestEntityTooLarge && w.Code != http.StatusBadRequest {
		t.Errorf("200 MB: %d", w.Code)
	} else if read := 200<<20 - body.left; read > 70<<20 {
		t.Errorf("200 MB: %d bytes were read", read)
	}
	if files, err := s.Originals(t.Context(), record); err != nil || len(files) != 0 {
		t.Errorf("kept %v, %v", files, err)
	}
}

// A database file that was damaged gives a page that says what to do.
func TestDamagedStore(t *testing.T) {
	s, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "bench.db"), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close() // which may say that the file is damaged
	record := blankRecord(t, s)
	// The bench has the file open; a second program writes to it, so that
	// nothing is read from memory, and then the disk goes bad.
	copied, err := store.Open(t.Context(), s.Target(), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer copied.Close()
	if _, err := s.Create(t.Context(), store.Record{Title: "Iron", Notes: strings.Repeat("n", 1<<20)}, store.By{Author: "R. Kessler"}); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{s.Target(), s.Target() + "-wal"} {
		info, err := os.Stat(name)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, bytes.Repeat([]byte{0xa5}, int(info.Size())), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	h := bench(t, web.Options{Store: copied})
	w := get(t, h, "/read?record="+record)
	if w.Code != http.StatusInternalServerError || !strings.Contains(w.Body.String(), "is damaged") || !strings.Contains(w.Body.String(), "meniscus restore") {
		t.Errorf("%d: %s", w.Code, w.Body)
	}
	if w := post(h, "/read", formKind, form("record", record, "author", "R. Kessler", "volume", "1", "value", "2")); w.Code != http.StatusInternalServerError || !strings.Contains(w.Body.String(), "is damaged") {
		t.Errorf("%d", w.Code)
	}
}

// The description of the API lists what the Read page does.
func TestReadingsInDescription(t *testing.T) {
	body := get(t, bench(t, web.Options{}), "/api/openapi.json").Body.String()
	for _, path := range []string{"/runs/{run}", "/runs/{run}/readings", "/runs", "/runs/{run}/next"} {
		if !strings.Contains(body, fmt.Sprintf("%q", "/api/records/{record}"+path)) {
			t.Errorf("%s is not described", path)
		}
	}
}
