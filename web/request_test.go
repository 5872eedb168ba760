package web_test

import (
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"testing"
)

func httptestPost(path string, body io.Reader) *http.Request {
	r := httptest.NewRequest(http.MethodPost, "http://127.0.0.1:7480"+path, body)
	r.Header.Set("Content-Type", formKind)
	return r
}

func postRequest(h http.Handler, r *http.Request) *httptest.ResponseRecorder {
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

func quote(tb testing.TB, text []byte) string {
	tb.Helper()
	out, err := json.Marshal(string(text))
	if err != nil {
		tb.Fatal(err)
	}
	return string(out)
}
