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

// unzip reads all files of the zip of one record into memory.
func unzip(from io.ReaderAt, size int64) (map[string][]byte, error) {
	b, err := openBundle(from, size, maxFiles)
	if err != nil {
		return nil, err
	}
	files, room := map[string][]byte{}, int64(maxUnzipped)
	for _, name := range b.names {
		if files[name], err = b.read(name, min(room, maxBytes)); err != nil {
			return nil, err
		}
		room -= int64(len(files[name]))
	}
	return files, nil
}

// A bundle is a zip with a manifest that lists all its files. Nothing of it is
// written to disk, and names are looked up, never followed.
type bundle struct {
	entry map[string]*zip.File
	sums  map[string]string
	names []string // but for the manifest, in the order of the manifest
}

func openBundle(from io.ReaderAt, size int64, most int) (*bundle, error) {
	z, err := zip.NewReader(from, size)
	if errors.Is(err, zip.ErrFormat) {
		return nil, &InvalidError{"zip", "the file is no zip, or only the beginning of one; a backup or an exported record is meant"}
	}
	if err != nil {
		return nil, &InvalidError{"zip", err.Error()}
	}
	if len(z.File) > most {
		return nil, &InvalidError{"zip", fmt.Sprintf("%d files in it; at most %d are read", len(z.File), most)}
	}
	b := &bundle{entry: map[string]*zip.File{}, sums: map[string]string{}}
	for _, f := range z.File {
		if strings.HasSuffix(f.Name, "/") {
			continue
		}
		if f.Name != path.Clean(f.Name) || strings.HasPrefix(f.Name, "/") || strings.HasPrefix(f.Name, "..") || strings.ContainsAny(f.Name, "\\:\x00") {
			return nil, &InvalidError{"zip", fmt.Sprintf("the name %q leads out of the folder", shorten(f.Name))}
		}
		if b.entry[f.Name] != nil {
			return nil, &InvalidError{"zip", fmt.Sprintf("%q is in it twice", shorten(f.Name))}
		}
		b.entry[f.Name] = f
	}
	return b, b.readManifest()
}

func (b *bundle) readManifest() error {
	f, ok := b.entry[manifestName]
	if !ok {
		return &InvalidError{"zip", "no " + manifestName + " in it: this is no export of meniscus"}
	}
	manifest, err := readEntry(f, maxBytes)
	if err != nil {
		return err
	}
	for line := range strings.Lines(string(manifest)) {
		hash, name, ok := strings.Cut(strings.TrimSuffix(line, "\n"), "  ")
		if !ok || b.entry[name] == nil || b.sums[name] != "" {
			return &InvalidError{manifestName, fmt.Sprintf("%q is listed and not there", shorten(name))}
		}
		b.sums[name] = hash
		b.names = append(b.names, name)
	}
	for name := range b.entry {
		if b.sums[name] == "" && name != manifestName {
			return &InvalidError{manifestName, fmt.Sprintf("%q is there and not listed", shorten(name))}
		}
	}
	return nil
}

// read returns a file of at most limit bytes, checked against the manifest.
func (b *bundle) read(name string, limit int64) ([]byte, error) {
	data, err := readEntry(b.entry[name], limit)
	if err != nil {
		return nil, err
	}
	if sum(data) != b.sums[name] {
		return nil, &InvalidError{name, "its content does not have the SHA-256 of the manifest: it was changed or damaged after the export"}
	}
	return data, nil
}

func readEntry(f *zip.File, limit int64) ([]byte, error) {
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
