package web

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"strconv"
	"strings"
)

//go:embed static
var staticFiles embed.FS

// static holds the files of the pages in memory, packed where that helps.
// The address of a file holds a hash of its content, so that browsers may keep
// it for ever; style sheets name fonts by those addresses too.
type static struct {
	byURL map[string]staticFile
	urls  map[string]string // file name under static to address
}

type staticFile struct {
	kind          string
	plain, packed []byte
}

func newStatic(tree fs.FS) (*static, error) {
	st := &static{byURL: map[string]staticFile{}, urls: map[string]string{}}
	var sheets []string
	err := fs.WalkDir(tree, "static", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		if path.Ext(name) == ".css" {
			sheets = append(sheets, name) // last: they name others
			return nil
		}
		return st.add(tree, name)
	})
	for _, name := range sheets {
		if err == nil {
			err = st.add(tree, name)
		}
	}
	return st, err
}

// kinds are the media types of what we serve; the machine's own list may lack
// some.
var kinds = map[string]string{".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8", ".woff2": "font/woff2", ".svg": "image/svg+xml", ".map": "application/json"}

func (st *static) add(tree fs.FS, name string) error {
	data, err := fs.ReadFile(tree, name)
	if err != nil {
		return err
	}
	st.put(strings.TrimPrefix(name, "static/"), data)
	return nil
}

// put serves data under the name of a file.
func (st *static) put(short string, data []byte) {
	ext := path.Ext(short)
	if ext == ".css" {
		for file, url := range st.urls {
			data = bytes.ReplaceAll(data, []byte(`url("`+file+`")`), []byte(`url("`+url+`")`))
		}
	}
	f := staticFile{kind: kinds[ext], plain: data}
	if f.kind == "" {
		f.kind = mime.TypeByExtension(ext)
	}
	if ext != ".woff2" {
		var b bytes.Buffer
		z, _ := gzip.NewWriterLevel(&b, gzip.BestCompression) // the level is a valid one
		z.Write(data)
		z.Close()
		f.packed = b.Bytes()
	}
	sum := sha256.Sum256(data)
	url := "/static/" + strings.TrimSuffix(short, ext) + "." + hex.EncodeToString(sum[:6]) + ext
	st.byURL[url], st.urls[short] = f, url
}

// url is the address of a file; "" if there is none, which a test looks for.
func (st *static) url(name string) string { return st.urls[name] }

func (s *Server) showStatic(w http.ResponseWriter, r *http.Request) error {
	f, ok := s.static.byURL[r.URL.Path]
	if !ok {
		return notFound("There is no file at %s.", r.URL.Path)
	}
	h := w.Header()
	h.Set("Content-Type", f.kind)
	h.Set("Cache-Control", "public, max-age=31536000, immutable")
	data := f.plain
	if f.packed != nil && acceptsGzip(r) {
		h.Set("Content-Encoding", "gzip")
		data = f.packed
	}
	h.Set("Content-Length", strconv.Itoa(len(data)))
	w.Write(data) // a browser that has gone needs no file
	return nil
}
