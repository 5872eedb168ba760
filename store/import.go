package store

import (
	"archive/zip"
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"
)

// Imported says what an import did.
type Imported struct {
	Record  Record
	Was     string // the id in the export, where a record here had that id already and the import got a new one
	Already bool   // the very same record was here; nothing was written
}

// Limits of what is read from a zip.
const (
	maxFiles    = 20000
	maxUnzipped = 1 << 30 // bytes of all files
)

// Import reads what Export wrote. The record keeps its id and its whole history;
// if another record here has that id it gets a new one, and Was says so. A zip
// that is not whole, or was changed, is refused with an InvalidError.
func (s *Store) Import(ctx context.Context, from io.ReaderAt, size int64) (Imported, error) {
	files, err := unzip(from, size)
	if err != nil {
		return Imported{}, err
	}
	w, err := parseWhole(files)
	if err != nil {
		return Imported{}, err
	}
	var done Imported
	err = s.write(ctx, "importing a record", func(tx *sql.Tx) error {
		done = Imported{Record: w.Record}
		here, err := getWhole(ctx, tx, w.Record.ID)
		if err == nil {
			same, err := equal(here, w)
			if err != nil || same {
				done.Already = same
				return err
			}
			done.Was = w.Record.ID
			w.Record.ID = newID(s.now())
			done.Record = w.Record
		} else if !errors.As(err, new(*NotFoundError)) {
			return err
		}
		return insertWhole(ctx, tx, w)
	})
	return done, err
}

func equal(a, b whole) (bool, error) {
	x, err := a.zip()
	if err != nil {
		return false, err
	}
	y, err := b.zip()
	return bytes.Equal(x, y), err
}

// unzip reads all files of a zip into memory and checks them against the
// manifest. Nothing is written to disk, and names are looked up, never followed.
func unzip(from io.ReaderAt, size int64) (map[string][]byte, error) {
	z, err := zip.NewReader(from, size)
	if err != nil {
		return nil, &InvalidError{"zip", err.Error()}
	}
	if len(z.File) > maxFiles {
		return nil, &InvalidError{"zip", fmt.Sprintf("%d files in it; at most %d are read", len(z.File), maxFiles)}
	}
	files, room := map[string][]byte{}, int64(maxUnzipped)
	for _, f := range z.File {
		if strings.HasSuffix(f.Name, "/") {
			continue
		}
		if f.Name != path.Clean(f.Name) || strings.HasPrefix(f.Name, "/") || strings.HasPrefix(f.Name, "..") || strings.ContainsAny(f.Name, "\\:\x00") {
			return nil, &InvalidError{"zip", fmt.Sprintf("the name %q leads out of the folder", shorten(f.Name))}
		}
		if _, twice := files[f.Name]; twice {
			return nil, &InvalidError{"zip", fmt.Sprintf("%q is in it twice", shorten(f.Name))}
		}
		data, err := readEntry(f, room)
		if err != nil {
			return nil, err
		}
		room -= int64(len(data))
		files[f.Name] = data
	}
	return files, checkManifest(files)
}

func readEntry(f *zip.File, room int64) ([]byte, error) {
	limit := min(room, maxBytes)
	tooLarge := &InvalidError{"zip", fmt.Sprintf("%q is larger than the %d MB that are read", shorten(f.Name), limit>>20)}
	if f.UncompressedSize64 > uint64(limit) {
		return nil, tooLarge
	}
	r, err := f.Open()
	if err != nil {
		return nil, &InvalidError{f.Name, err.Error()}
	}
	data, err := io.ReadAll(io.LimitReader(r, limit+1))
	if err = errors.Join(err, r.Close()); err != nil {
		return nil, &InvalidError{f.Name, err.Error()}
	}
	if int64(len(data)) > limit {
		return nil, tooLarge
	}
	return data, nil
}

func checkManifest(files map[string][]byte) error {
	manifest, ok := files[manifestName]
	if !ok {
		return &InvalidError{"zip", "no " + manifestName + " in it: this is no export of meniscus"}
	}
	listed := map[string]bool{manifestName: true}
	for line := range strings.Lines(string(manifest)) {
		hash, name, ok := strings.Cut(strings.TrimSuffix(line, "\n"), "  ")
		data, there := files[name]
		switch {
		case !ok || !there:
			return &InvalidError{manifestName, fmt.Sprintf("%q is listed and not there", shorten(name))}
		case sum(data) != hash:
			return &InvalidError{name, "its content does not have the SHA-256 of the manifest: it was changed or damaged after the export"}
		}
		listed[name] = true
	}
	for name := range files {
		if !listed[name] {
			return &InvalidError{manifestName, fmt.Sprintf("%q is there and not listed", shorten(name))}
		}
	}
	return nil
}

// parseWhole makes the record of an export. The tables for people must say the
// same as record.json, so that nobody imports what they have not seen.
func parseWhole(files map[string][]byte) (whole, error) {
	var w whole
	data, ok := files["record.json"]
	if !ok {
		return w, &InvalidError{"zip", "no record.json in it: this is no export of one record"}
	}
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(&w); err != nil {
		return w, &InvalidError{"record.json", err.Error()}
	}
	w.Record.Setup = string(files["setup.yaml"])
	for _, o := range w.Originals {
		content := files[originalName(o)]
		if sum(content) != o.SHA256 || int64(len(content)) != o.Size {
			return w, &InvalidError{originalName(o), "it is not the file that record.json describes"}
		}
		w.contents = append(w.contents, content)
	}
	for i, r := range w.Results {
		w.Results[i].JSON = string(files[resultName(r)])
	}
	if err := w.verify(); err != nil {
		return w, err
	}
	made, err := w.files()
	if err != nil {
		return w, err
	}
	for _, f := range made {
		if !bytes.Equal(f.data, files[f.name]) {
			return w, &InvalidError{f.name, "it does not say what record.json says"}
		}
	}
	return w, nil
}
