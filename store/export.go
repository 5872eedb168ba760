package store

import (
	"archive/zip"
	"bytes"
	"context"
	"database/sql"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"path"
	"strconv"
	"strings"
)

// Export writes one record as a zip that can be read without this program:
// setup.yaml, the runs as CSV with the texts as typed, the history of the
// readings, the changes, originals and results, a description in
// ro-crate-metadata.json, record.json with all of it, and the SHA-256 of each
// file in manifest-sha256.txt. The same record always gives the same bytes.
func (s *Store) Export(ctx context.Context, id string, to io.Writer) error {
	doing := "exporting record " + id
	var w whole
	err := s.read(ctx, doing, func(tx *sql.Tx) (err error) {
		w, err = getWhole(ctx, tx, id)
		return err
	})
	if err != nil {
		return err
	}
	data, err := w.zip()
	if err != nil {
		return fmt.Errorf("%s: %w", doing, err)
	}
	if _, err := to.Write(data); err != nil {
		return fmt.Errorf("%s: %w", doing, err)
	}
	return nil
}

// A file is an entry of a zip.
type file struct {
	name, mediaType, about string
	data                   []byte
}

const manifestName = "manifest-sha256.txt"

func (w *whole) zip() ([]byte, error) {
	files, err := w.files()
	if err != nil {
		return nil, err
	}
	crate, err := w.crate(files)
	if err != nil {
		return nil, err
	}
	return zipFiles(append([]file{crate}, files...))
}

// zipFiles makes one zip of the files.
func zipFiles(files []file) ([]byte, error) {
	var out bytes.Buffer
	a := newArchive(&out)
	for _, f := range files {
		if err := a.add(f.name, f.data); err != nil {
			return nil, err
		}
	}
	err := a.close()
	return out.Bytes(), err
}

// An archive is a zip that is being written: files with a manifest and no
// times. They are not compressed: a later compressor would give other bytes.
type archive struct {
	z        *zip.Writer
	manifest bytes.Buffer
}

func newArchive(to io.Writer) *archive { return &archive{z: zip.NewWriter(to)} }

func (a *archive) add(name string, data []byte) error {
	fmt.Fprintf(&a.manifest, "%s  %s\n", sum(data), name)
	return a.write(name, data)
}

func (a *archive) write(name string, data []byte) error {
	to, err := a.z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Store})
	if err == nil {
		_, err = to.Write(data)
	}
	return err
}

func (a *archive) close() error {
	if err := a.write(manifestName, a.manifest.Bytes()); err != nil {
		return err
	}
	return a.z.Close()
}

func (w *whole) files() ([]file, error) {
	all, err := jsonText(w)
	if err != nil {
		return nil, err
	}
	files := []file{
		{"record.json", "application/json", "the whole record, for programs", all},
		{"setup.yaml", "application/yaml", "the setup as written", []byte(w.Record.Setup)},
	}
	current := w.current()
	for i, run := range w.Runs {
		data, err := runCSV(run, current[run.No])
		if err != nil {
			return nil, err
		}
		files = append(files, file{fmt.Sprintf("runs/%02d.csv", i+1), "text/csv", "readings of run " + run.Name + ", as typed", data})
	}
	history, err := w.historyCSV()
	if err != nil {
		return nil, err
	}
	changes, err := w.changesCSV()
	if err != nil {
		return nil, err
	}
	files = append(files, file{"readings.csv", "text/csv", "every reading ever kept, in order of keeping", history},
		file{"changes.csv", "text/csv", "every change of the record", changes})
	for i, o := range w.Originals {
		files = append(files, file{originalName(o), o.MediaType, "file as received: " + o.Name, w.contents[i]})
	}
	for _, r := range w.Results {
		files = append(files, file{resultName(r), "application/json", "result by " + r.Program, []byte(r.JSON)})
	}
	return files, nil
}

// originalName holds no part of a name that somebody chose but an extension
// of letters: the name itself is in record.json.
func originalName(o Original) string {
	ext := strings.ToLower(path.Ext(o.Name))
	for _, c := range strings.TrimPrefix(ext, ".") {
		if (c < 'a' || c > 'z') && (c < '0' || c > '9') {
			ext = ""
			break
		}
	}
	if len(ext) > 8 {
		ext = ""
	}
	return fmt.Sprintf("originals/%d%s", o.No, ext)
}

func resultName(r Result) string { return fmt.Sprintf("results/%d.json", r.No) }

func jsonText(x any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	err := e.Encode(x)
	return b.Bytes(), err
}

// current is the readings that nothing replaces, by run and in order.
func (w *whole) current() map[int64][]Reading {
	replaced := map[int64]bool{}
	for _, r := range w.Readings {
		replaced[r.Replaces] = true
	}
	list := map[int64][]Reading{}
	for _, r := range w.Readings {
		if !replaced[r.No] && r.State != Withdrawn {
			list[r.Run] = append(list[r.Run], r)
		}
	}
	for _, l := range list {
		sortReadings(l)
	}
	return list
}

// CSV returns the readings with the texts as typed, in columns that package
// curve reads: volume, value, and where any reading has them time,
// temperature, and the reason for leaving it out.
func (r RunReadings) CSV() ([]byte, error) { return runCSV(r.Run, r.Readings) }

func runCSV(run Run, list []Reading) ([]byte, error) {
	value := "potential (" + run.Unit + ")"
	switch {
	case run.Unit == "":
		value = "pH"
	case strings.HasPrefix(run.Unit, "p"): // pH and its kind have no unit
		value = run.Unit
	}
	var timed, warm, left bool
	for _, r := range list {
		timed, warm, left = timed || r.Time != "", warm || r.Temperature != "", left || r.State == LeftOut
	}
	pick := func(volume, value, time, temperature, excluded string) []string {
		row := []string{volume, value}
		if timed {
			row = append(row, time)
		}
		if warm {
			row = append(row, temperature)
		}
		if left {
			row = append(row, excluded)
		}
		return row
	}
	rows := [][]string{pick("volume (mL)", value, "time (s)", "temperature (°C)", "excluded")}
	for _, r := range list {
		why := ""
		if r.State == LeftOut {
			why = r.Why
		}
		rows = append(rows, pick(r.Volume, r.Value, r.Time, r.Temperature, why))
	}
	return csvText(rows)
}

func csvText(rows [][]string) ([]byte, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	err := w.WriteAll(rows)
	return b.Bytes(), err
}

func (w *whole) historyCSV() ([]byte, error) {
	rows := [][]string{{"no", "run", "place", "replaces", "volume (mL)", "value", "time", "temperature", "state", "author", "at", "why"}}
	for _, r := range w.Readings {
		replaces := ""
		if r.Replaces != 0 {
			replaces = strconv.FormatInt(r.Replaces, 10)
		}
		rows = append(rows, []string{
			strconv.FormatInt(r.No, 10), strconv.FormatInt(r.Run, 10), strconv.FormatInt(r.Place, 10), replaces,
			r.Volume, r.Value, r.Time, r.Temperature, string(r.State), r.Author, r.At.Format(stamp), r.Why,
		})
	}
	return csvText(rows)
}

// stamp is a time in the tables: RFC 3339 to the millisecond.
const stamp = "2006-01-02T15:04:05.000Z07:00"

func (w *whole) changesCSV() ([]byte, error) {
	rows := [][]string{{"no", "author", "at", "why", "what", "was", "became"}}
	for _, c := range w.Changes {
		rows = append(rows, []string{strconv.FormatInt(c.No, 10), c.Author, c.At.Format(stamp), c.Why, c.What, c.Was, c.Became})
	}
	return csvText(rows)
}

// An entity is a node of the crate's graph; see the RO-Crate 1.1 specification
// (from memory).
type entity struct {
	ID             string `json:"@id"`
	Type           string `json:"@type"`
	ConformsTo     *ref   `json:"conformsTo,omitempty"`
	About          *ref   `json:"about,omitempty"`
	Name           string `json:"name,omitempty"`
	Description    string `json:"description,omitempty"`
	Identifier     string `json:"identifier,omitempty"`
	Keywords       string `json:"keywords,omitempty"`
	DateCreated    string `json:"dateCreated,omitempty"`
	DatePublished  string `json:"datePublished,omitempty"`
	EncodingFormat string `json:"encodingFormat,omitempty"`
	ContentSize    string `json:"contentSize,omitempty"`
	SHA256         string `json:"sha256,omitempty"`
}

type ref struct {
	ID string `json:"@id"`
}

func (w *whole) crate(files []file) (file, error) {
	root := entity{
		ID: "./", Type: "Dataset", Name: w.Record.Title, Description: "One determination by titration: setup, readings with their history, results.",
		Identifier: w.Record.ID, Keywords: strings.Join(w.Record.Tags, ", "),
		DateCreated: w.Record.Created.Format(stamp), DatePublished: w.Record.Touched.Format(stamp),
	}
	parts := []entity{}
	hasPart := []ref{}
	for _, f := range files {
		hasPart = append(hasPart, ref{f.name})
		parts = append(parts, entity{
			ID: f.name, Type: "File", Name: f.about, EncodingFormat: f.mediaType,
			ContentSize: strconv.Itoa(len(f.data)), SHA256: sum(f.data),
		})
	}
	type dataset struct {
		entity
		HasPart []ref `json:"hasPart"`
	}
	data, err := jsonText(struct {
		Context string `json:"@context"`
		Graph   []any  `json:"@graph"`
	}{"https://w3id.org/ro/crate/1.1/context", append([]any{
		entity{ID: "ro-crate-metadata.json", Type: "CreativeWork", ConformsTo: &ref{"https://w3id.org/ro/crate/1.1"}, About: &ref{"./"}},
		dataset{root, hasPart},
	}, anyOf(parts)...)})
	return file{"ro-crate-metadata.json", "application/ld+json", "", data}, err
}

func anyOf(list []entity) []any {
	out := make([]any, len(list))
	for i, x := range list {
		out[i] = x
	}
	return out
}
