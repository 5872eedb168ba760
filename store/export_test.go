//go:build unix

package store

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"meniscus/curve"
)

// fullRecord has something of everything.
func fullRecord(t *testing.T, s *Store) Record {
	t.Helper()
	r := newRecord(t, s, "Iron <b>&</b> \"µ\"", "iron", "moss")
	o := must[Original](t)(s.AddOriginal(t.Context(), r.ID, "../../etc/Run 1.CSV", "text/csv", []byte("V;E\r\n1;2\xff\x00"), rk))
	must[Original](t)(s.AddOriginal(t.Context(), r.ID, "empty", "", nil, rk))
	run := must[Run](t)(s.AddRun(t.Context(), r.ID, Run{Name: "first", Kind: Sample, Unit: "mV", Original: o.No}, rk))
	rows := must[[]Reading](t)(s.Append(t.Context(), r.ID, run.No, rk,
		Entry{Volume: "0,00", Value: "412", Temperature: "25,1"}, Entry{Volume: "1,00", Value: "43O"}, Entry{Volume: "2,00", Value: "450"}))
	must[[]Reading](t)(s.Append(t.Context(), r.ID, run.No, By{"A. Osei", "letter O, \"seen\"\nat once"}, Entry{Replaces: rows[1].No, Volume: "1,00", Value: "430"},
		Entry{Replaces: rows[2].No, State: LeftOut, Why: "a bubble"}, Entry{Before: rows[1].No, Volume: "0,50", Value: "421"}))
	must[Run](t)(s.AddRun(t.Context(), r.ID, Run{Name: "blank", Kind: Blank, Unit: "mV", LeftOut: "spilt"}, rk))
	d := must[Determination](t)(s.Determination(t.Context(), r.ID))
	must[Result](t)(s.AddResult(t.Context(), r.ID, Result{JSON: "{\"volume_mL\": 24.50}\n", Program: "meniscus 0.1", Inputs: d.Inputs()}, rk))
	r = must[Record](t)(s.Record(t.Context(), r.ID))
	r.Notes = "second look"
	return must[Record](t)(s.Save(t.Context(), r, By{"A. Osei", "looked again"}))
}

func exported(t *testing.T, s *Store, id string) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := s.Export(t.Context(), id, &b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func backup(t *testing.T, s *Store) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := s.Backup(t.Context(), &b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// entries is a zip as a map, read without our reader.
func entries(t *testing.T, data []byte) map[string]string {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	files := map[string]string{}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		files[f.Name] = string(text)
	}
	return files
}

func TestExportCanBeReadWithoutTheProgram(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store, _ string) {
		r := fullRecord(t, s)
		files := entries(t, exported(t, s, r.ID))
		for name, want := range map[string]string{
			"setup.yaml":             mossSetup,
			"runs/01.csv":            "volume (mL),potential (mV),temperature (°C),excluded\n\"0,00\",412,\"25,1\",\n\"0,50\",421,,\n\"1,00\",430,,\n\"2,00\",450,,a bubble\n",
			"originals/1.csv":        "V;E\r\n1;2\xff\x00",
			"originals/2":            "",
			"results/11.json":        "{\"volume_mL\": 24.50}\n",
			"ro-crate-metadata.json": "", "record.json": "", "readings.csv": "", "changes.csv": "", "manifest-sha256.txt": "", "runs/02.csv": "",
		} {
			got, ok := files[name]
			if !ok || want != "" && got != want {
				t.Errorf("%s: there %v, %q; want %q", name, ok, got, want)
			}
		}
		if len(files) != 11 {
			t.Errorf("%d files", len(files))
		}
		for _, part := range []string{"43O", "letter O, \"\"seen\"\"\nat once", "left out", "A. Osei", "2026-03-02T09:00:"} {
			if !strings.Contains(files["readings.csv"], part) {
				t.Errorf("readings.csv does not hold %q:\n%s", part, files["readings.csv"])
			}
		}
		if !strings.Contains(files["changes.csv"], "looked again,notes,from the third bag,second look") {
			t.Errorf("changes.csv:\n%s", files["changes.csv"])
		}
	})
}

func TestRunCSVIsReadByTheReaderOfReadings(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store, _ string) {
		r := fullRecord(t, s)
		d := must[Determination](t)(s.Determination(t.Context(), r.ID))
		data := must[[]byte](t)(d.Runs[0].CSV())
		rec, err := curve.Read(bytes.NewReader(data), "run", curve.Options{})
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, x := range rec.Curves[0].Readings {
			got = append(got, fmt.Sprintf("%.2f mL %.0f mV %s", float64(x.Volume)*1e3, x.Value*1e3, x.Excluded))
		}
		want := []string{"0.00 mL 412 mV ", "0.50 mL 421 mV ", "1.00 mL 430 mV ", "2.00 mL 450 mV a bubble"}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("(-want +got):\n%s", diff)
		}
	})
}

// TestRestoreStops ends a restore after its first record: nothing is there, and
// the same backup can be restored afterwards.
func TestRestoreStops(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store, _ string) {
		fullRecord(t, s)
		newRecord(t, s, "The second")
		saved := backup(t, s)
		for _, e := range engines {
			to := openStore(t, e.target(t))
			ctx, stop := context.WithCancel(t.Context())
			var told [][2]int
			_, err := to.Restore(ctx, bytes.NewReader(saved), int64(len(saved)), func(done, of int) {
				told = append(told, [2]int{done, of})
				stop()
			})
			if !errors.Is(err, context.Canceled) {
				t.Errorf("to %s: a stopped restore gave %v", e.name, err)
			}
			if p := must[Page](t)(to.Find(t.Context(), Query{})); p.Total != 0 {
				t.Errorf("to %s: %d records after a restore that was stopped", e.name, p.Total)
			}
			if n, err := to.Restore(t.Context(), bytes.NewReader(saved), int64(len(saved)), func(done, of int) { told = append(told, [2]int{done, of}) }); n != 2 || err != nil {
				t.Errorf("to %s: %d records, %v", e.name, n, err)
			}
			if want := [][2]int{{1, 2}, {1, 2}, {2, 2}}; !slices.Equal(told, want) {
				t.Errorf("to %s: told %v, want %v", e.name, told, want)
			}
		}
	})
}

// TestRestoreIsByteEqual takes everything to an empty store of either engine.
func TestRestoreIsByteEqual(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store, _ string) {
		a, b := fullRecord(t, s), newRecord(t, s, "Removed later")
		must[Record](t)(s.Remove(t.Context(), b.ID, 1, rk))
		for _, x := range [][2]string{{StartedSetting, "2026"}, {PasswordSetting, "hash-of-a-word"}} {
			if err := s.SetSetting(t.Context(), x[0], x[1]); err != nil {
				t.Fatal(err)
			}
		}
		saved := backup(t, s)
		if bytes.Contains(saved, []byte("hash-of-a-word")) {
			t.Error("the password is in the backup")
		}
		for _, e := range engines {
			to := openStore(t, e.target(t))
			if n, err := to.Restore(t.Context(), bytes.NewReader(saved), int64(len(saved)), nil); n != 2 || err != nil {
				t.Fatalf("to %s: %d records, %v", e.name, n, err)
			}
			for _, id := range []string{a.ID, b.ID} {
				if !bytes.Equal(exported(t, s, id), exported(t, to, id)) {
					t.Errorf("to %s: the export of %s differs", e.name, id)
				}
			}
			if !bytes.Equal(saved, backup(t, to)) {
				t.Errorf("to %s: the backup of the restored store differs", e.name)
			}
			if p := must[Page](t)(to.Find(t.Context(), Query{Words: "second look"})); p.Total != 1 {
				t.Errorf("to %s: found %d", e.name, p.Total)
			}
			if _, err := to.Restore(t.Context(), bytes.NewReader(saved), int64(len(saved)), nil); !errors.As(err, new(*InvalidError)) {
				t.Errorf("to %s: a second restore gave %v", e.name, err)
			}
			must[[]Reading](t)(to.Append(t.Context(), a.ID, 3, rk, Entry{Volume: "3", Value: "470"})) // it works on
		}
	})
}

func TestImportSaysWhatItDid(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store, _ string) {
		r := fullRecord(t, s)
		data := exported(t, s, r.ID)
		imp := func() Imported {
			return must[Imported](t)(s.Import(t.Context(), bytes.NewReader(data), int64(len(data))))
		}
		if got := imp(); !got.Already || got.Record.ID != r.ID {
			t.Errorf("the same record: %+v", got)
		}
		r.Title = "changed since"
		must[Record](t)(s.Save(t.Context(), r, rk))
		got := imp()
		if got.Already || got.Was != r.ID || got.Record.ID == r.ID {
			t.Errorf("another with its id: %+v", got)
		}
		old, now := entries(t, data), entries(t, exported(t, s, got.Record.ID))
		for _, name := range []string{"readings.csv", "changes.csv", "setup.yaml", "runs/01.csv"} {
			if old[name] != now[name] {
				t.Errorf("%s differs", name)
			}
		}
		if p := must[Page](t)(s.Find(t.Context(), Query{})); p.Total != 2 {
			t.Errorf("%d records", p.Total)
		}
	})
}

func TestDuplicate(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store, _ string) {
		r := fullRecord(t, s)
		for _, with := range []bool{false, true} {
			c := must[Record](t)(s.Duplicate(t.Context(), r.ID, with, rk))
			if c.ID == r.ID || c.Title != r.Title || c.Setup != r.Setup || c.Version != 1 || len(c.Tags) != 2 {
				t.Errorf("%+v", c)
			}
			runs := must[[]Run](t)(s.Runs(t.Context(), c.ID))
			want := ""
			if with {
				want = "0,00:412 0,50:421 1,00:430 2,00:450(left out, a bubble) "
			}
			if got := show(t, s, c.ID, runs[0].No); got != want || len(runs) != 2 {
				t.Errorf("with %v: %s, %d runs", with, got, len(runs))
			}
			if x := must[[]Change](t)(s.Changes(t.Context(), c.ID)); len(x) != 1 || x[0].Became != r.ID {
				t.Errorf("changes %+v", x)
			}
			must[[]Reading](t)(s.Append(t.Context(), c.ID, runs[0].No, rk, Entry{Volume: "9", Value: "9"}))
		}
	})
}

func TestInputsFollowWhatAnEvaluationDependsOn(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store, _ string) {
		r := fullRecord(t, s)
		inputs := func() string { return must[Determination](t)(s.Determination(t.Context(), r.ID)).Inputs() }
		first := inputs()
		r.Notes = "other notes"
		r = must[Record](t)(s.Save(t.Context(), r, rk))
		if inputs() != first {
			t.Error("notes are no input")
		}
		must[[]Reading](t)(s.Append(t.Context(), r.ID, 3, rk, Entry{Volume: "9", Value: "9"}))
		second := inputs()
		r.Setup += "blank: 0.1 mL\n"
		must[Record](t)(s.Save(t.Context(), r, rk))
		if third := inputs(); second == first || third == second || len(third) != 64 {
			t.Errorf("inputs %s, %s, %s", first, second, third)
		}
		if _, err := s.AddResult(t.Context(), r.ID, Result{JSON: "{"}, rk); !errors.As(err, new(*InvalidError)) {
			t.Errorf("no JSON: %v", err)
		}
	})
}

func rezip(t *testing.T, method uint16, files ...[2]string) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, f := range files {
		w, err := z.CreateHeader(&zip.FileHeader{Name: f[0], Method: method})
		if err == nil {
			_, err = io.WriteString(w, f[1])
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestHostileZipsAreRefused(t *testing.T) {
	s := openStore(t, filepath.Join(t.TempDir(), "bench.db"))
	good := entries(t, exported(t, s, fullRecord(t, s).ID))
	// changed packs the export with one file changed, or left out for "-". With
	// sealed the manifest fits again.
	changed := func(name, text string, sealed bool) []byte {
		var list [][2]string
		manifest := ""
		for n, data := range good {
			if n == name {
				data = text
			}
			if n == manifestName || data == "-" {
				continue
			}
			list = append(list, [2]string{n, data})
			manifest += sum([]byte(data)) + "  " + n + "\n"
		}
		if _, there := good[name]; !there {
			list = append(list, [2]string{name, text})
			manifest += sum([]byte(text)) + "  " + name + "\n"
		}
		if !sealed {
			manifest = good[manifestName]
		}
		return rezip(t, zip.Deflate, append(list, [2]string{manifestName, manifest})...)
	}
	edit := func(old, new string) []byte {
		text := strings.Replace(good["record.json"], old, new, 1)
		if text == good["record.json"] {
			t.Fatalf("record.json holds no %s", old)
		}
		return changed("record.json", text, true)
	}
	for _, c := range []struct {
		what string
		data []byte
		want string
	}{
		{"no zip", []byte("hello"), "zip"},
		{"nothing in it", rezip(t, zip.Store), "no manifest"},
		{"path up", changed("../evil", "x", true), "leads out"},
		{"path up inside", changed("runs/../../evil", "x", true), "leads out"},
		{"absolute", changed("/etc/evil", "x", true), "leads out"},
		{"backslash", changed("..\\evil", "x", true), "leads out"},
		{"twice", rezip(t, zip.Store, [2]string{"a", "1"}, [2]string{"a", "2"}), "twice"},
		{"changed", changed("readings.csv", "x", false), "SHA-256"},
		{"missing", changed("setup.yaml", "-", false), "not there"},
		{"unlisted", changed("extra.txt", "x", false), "not listed"},
		{"table disagrees", changed("readings.csv", "x", true), "record.json says"},
		{"original swapped", changed("originals/1.csv", "x", true), "not the file"},
		{"bomb", changed("bomb", strings.Repeat("\x00", maxBytes+1), true), "larger"},
		{"manifest that is a bomb", rezip(t, zip.Deflate, [2]string{manifestName, strings.Repeat("\x00", maxBytes+1)}), "larger"},
		{"id with a path", edit(`"id": "`, `"id": "../`), "no id"},
		{"unknown key", edit(`"schema"`, `"sechma"`), "unknown field"},
		{"other schema", edit(`"meniscus record 1"`, `"meniscus record 9"`), "not known"},
		{"number out of range", edit(`"no": 4`, `"no": 4000`), "out of range"},
		{"number twice", edit(`"no": 4`, `"no": 5`), "twice"},
		{"replaces nothing", edit(`"replaces": 5`, `"replaces": 50`), "replaces one"},
		{"reading of no run", edit(`"run": 3`, `"run": 9`), "not there"},
		{"state", edit(`"kept"`, `"gone"`), "not known"},
		{"edit without a reason", edit(`"why": "a bubble"`, `"why": ""`), "reason"},
	} {
		_, err := s.Import(t.Context(), bytes.NewReader(c.data), int64(len(c.data)))
		if !errors.As(err, new(*InvalidError)) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want one that says %q", c.what, err, c.want)
		}
	}
	if p := must[Page](t)(s.Find(t.Context(), Query{})); p.Total != 1 {
		t.Errorf("%d records", p.Total)
	}
	whole := changed("nothing", "-", true)
	if _, err := s.Restore(t.Context(), bytes.NewReader(whole), int64(len(whole)), nil); !errors.As(err, new(*InvalidError)) {
		t.Errorf("a record as a backup: %v", err)
	}
}

// TestUnpackedAndPackedAgain: what a person packed anew, compressed, is the same record.
func TestUnpackedAndPackedAgain(t *testing.T) {
	s := openStore(t, filepath.Join(t.TempDir(), "bench.db"))
	r := fullRecord(t, s)
	var list [][2]string
	for name, data := range entries(t, exported(t, s, r.ID)) {
		list = append(list, [2]string{name, data})
	}
	data := rezip(t, zip.Deflate, list...)
	if got := must[Imported](t)(s.Import(t.Context(), bytes.NewReader(data), int64(len(data)))); !got.Already {
		t.Errorf("%+v", got)
	}
}

func TestSnapshotIsAStore(t *testing.T) {
	dir := t.TempDir()
	s := openStore(t, filepath.Join(dir, "bench.db"))
	r := fullRecord(t, s)
	name := filepath.Join(dir, "copy 100% 'x'.db")
	if err := s.Snapshot(t.Context(), name); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(exported(t, s, r.ID), exported(t, openStore(t, name), r.ID)) {
		t.Error("the export from the copy differs")
	}
	if err := s.Snapshot(t.Context(), name); !errors.Is(err, os.ErrExist) {
		t.Errorf("over a file: %v", err)
	}
	if err := openStore(t, newDatabase(t)).Snapshot(t.Context(), filepath.Join(dir, "other.db")); err == nil || !strings.Contains(err.Error(), "Backup") {
		t.Errorf("of a server: %v", err)
	}
}
