package web_test

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"meniscus/internal/browser"
	"meniscus/store"
	"meniscus/web"
)

// slowLine serves a bench behind time limits that a large backup is not done
// in: longer than one breath, shorter than what the tests wait.
func slowLine(t *testing.T, h http.Handler) string {
	t.Helper()
	server := httptest.NewUnstartedServer(h)
	server.Config.ReadTimeout, server.Config.WriteTimeout = 200*time.Millisecond, 200*time.Millisecond
	server.Start()
	t.Cleanup(server.Close)
	return server.URL
}

const longerThanTheLimit = 600 * time.Millisecond

// largeStore is more than the buffers between two programs hold.
func largeStore(t *testing.T) *store.Store {
	t.Helper()
	s := aStore(t)
	id := example(t, bench(t, web.Options{Loopback: true, Store: s}))
	for range 3 {
		if _, err := s.AddOriginal(t.Context(), id, "spectrum.bin", "application/octet-stream", bytes.Repeat([]byte("0123456789abcdef"), 1<<19), store.By{Author: "R. Kessler"}); err != nil {
			t.Fatal(err)
		}
	}
	return s
}

// A backup over a slow line takes longer than any other answer may, there and
// back: what goes on is not cut off.
func TestBackupOverSlowLine(t *testing.T) {
	address := slowLine(t, bench(t, web.Options{Loopback: true, Store: largeStore(t)}))
	r, err := http.Get(address + "/records/backup")
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	time.Sleep(longerThanTheLimit)
	saved, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatalf("the backup broke off after %d bytes: %v", len(saved), err)
	}
	if _, err := zip.NewReader(bytes.NewReader(saved), int64(len(saved))); err != nil {
		t.Fatal(err)
	}

	to := aStore(t)
	address = slowLine(t, bench(t, web.Options{Loopback: true, Store: to}))
	var b bytes.Buffer
	form := multipart.NewWriter(&b)
	part, err := form.CreateFormFile("file", "b.zip")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := part.Write(saved); err != nil {
		t.Fatal(err)
	}
	if err := form.Close(); err != nil {
		t.Fatal(err)
	}
	sent, err := http.Post(address+"/records/restore", form.FormDataContentType(), &halting{data: b.Bytes()})
	if err != nil {
		t.Fatal(err)
	}
	sent.Body.Close()
	if found, err := to.Find(t.Context(), store.Query{}); err != nil || found.Total != 1 || sent.StatusCode != http.StatusOK {
		t.Errorf("status %d, %d records restored: %v", sent.StatusCode, found.Total, err)
	}
}

// halting is a body that stands still in the middle.
type halting struct {
	data   []byte
	at     int
	halted bool
}

func (h *halting) Read(p []byte) (int, error) {
	if h.at > len(h.data)/2 && !h.halted {
		h.halted = true
		time.Sleep(longerThanTheLimit)
	}
	n := copy(p, h.data[h.at:])
	if h.at += n; n == 0 {
		return 0, io.EOF
	}
	return n, nil
}

// sendTelling restores a backup and returns the lines that say how far it is.
func sendTelling(t *testing.T, h http.Handler, saved []byte) (lines []map[string]any) {
	t.Helper()
	accept := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.Header.Set("Accept", "application/x-ndjson")
		h.ServeHTTP(w, r)
	})
	code, head, text := send(t, accept, "/records/restore", "b.zip", saved)
	if code != http.StatusOK || head.Get("Content-Type") != "application/x-ndjson" {
		t.Fatalf("%d %v %s", code, head, text)
	}
	for d := json.NewDecoder(strings.NewReader(text)); d.More(); {
		var line map[string]any
		if err := d.Decode(&line); err != nil {
			t.Fatalf("%v in %s", err, text)
		}
		lines = append(lines, line)
	}
	return lines
}

// severalRecords is a backup of some records.
func severalRecords(t *testing.T) []byte {
	t.Helper()
	s := aStore(t)
	for i := range 3 {
		if _, err := s.Create(t.Context(), store.Record{Title: fmt.Sprintf("Sample %d", i+1)}, store.By{Author: "R. Kessler"}); err != nil {
			t.Fatal(err)
		}
	}
	var b bytes.Buffer
	if err := s.Backup(t.Context(), &b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestRestoreTells(t *testing.T) {
	saved := severalRecords(t)
	h := bench(t, web.Options{Loopback: true, Store: aStore(t)})
	lines := sendTelling(t, h, saved)
	if n := len(lines); n < 2 || lines[n-1]["to"] != "/records" || lines[n-2]["done"] != 3.0 || lines[n-2]["of"] != 3.0 {
		t.Errorf("told %v", lines)
	}
	// Into a bench that is no longer empty nothing goes, and the reason is told.
	lines = sendTelling(t, h, saved)
	if problem, _ := lines[len(lines)-1]["error"].(string); !strings.Contains(problem, "holds records already (3)") {
		t.Errorf("told %v", lines)
	}
}

// The form by hand: a file that is none is refused where it was chosen, and
// the backup after it leads to the list.
func TestRestoreByHand(t *testing.T) {
	ctx, address := browser.Start(t, bench(t, web.Options{Loopback: true, Store: aStore(t)}))
	dir := t.TempDir()
	wrong, right := filepath.Join(dir, "notes.zip"), filepath.Join(dir, "backup.zip")
	for name, data := range map[string][]byte{wrong: []byte("not a zip at all"), right: severalRecords(t)} {
		if err := os.WriteFile(name, data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	browser.Open(t, ctx, browser.Desktop, address+"/records")
	give := func(name string) {
		t.Helper()
		browser.Do(t, ctx, "choosing a file", chromedp.SetUploadFiles("#restore", []string{name}), chromedp.Click("form.restore button:not([type=button])"))
	}
	give(wrong)
	soon(t, ctx, "the refusal", `document.querySelector("form.restore output").textContent.includes("the file is no zip")`)
	soon(t, ctx, "the form at rest", `document.querySelector("form.restore progress").hidden && !document.querySelector("form.restore button").disabled`)
	browser.Picture(t, ctx, "restore-refused")
	give(right)
	soon(t, ctx, "the list", `(document.querySelector("main")?.textContent ?? "").includes("Sample 2")`)
}
