package store

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path"
	"slices"
	"strings"
)

const settingsName = "settings.json"

// Backup writes everything as one zip: the export of each record, removed ones
// too, and the settings but for passwords. It reads one state of the store, and
// works the same on either engine. Restore reads it back.
func (s *Store) Backup(ctx context.Context, to io.Writer) error {
	var files []file
	err := s.read(ctx, "backing up", func(tx *sql.Tx) error {
		ids, err := collect(ctx, tx, func(row row, id *string) error { return row.Scan(id) }, `SELECT id FROM records ORDER BY id`)
		if err != nil {
			return err
		}
		slices.Sort(ids)
		for _, id := range ids {
			w, err := getWhole(ctx, tx, id)
			if err != nil {
				return err
			}
			data, err := w.zip()
			if err != nil {
				return err
			}
			files = append(files, file{name: "records/" + id + ".zip", data: data})
		}
		list, err := openSettings(ctx, tx)
		if err != nil {
			return err
		}
		data, err := jsonText(list)
		files = append(files, file{name: settingsName, data: data})
		return err
	})
	if err != nil {
		return err
	}
	data, err := zipFiles(files)
	if err == nil {
		_, err = to.Write(data)
	}
	if err != nil {
		return fmt.Errorf("backing up: %w", err)
	}
	return nil
}

// Restore reads what Backup wrote into a store without records, all or nothing,
// and returns how many records there are now. The password is to be set anew.
func (s *Store) Restore(ctx context.Context, from io.ReaderAt, size int64) (int, error) {
	files, err := unzip(from, size)
	if err != nil {
		return 0, err
	}
	settings := []setting{}
	data, ok := files[settingsName]
	if !ok {
		return 0, &InvalidError{"zip", "no " + settingsName + " in it: this is no backup of meniscus (one record is imported, not restored)"}
	}
	if err := json.Unmarshal(data, &settings); err != nil {
		return 0, &InvalidError{settingsName, err.Error()}
	}
	var list []whole
	for name, data := range files {
		if path.Dir(name) != "records" {
			continue
		}
		inner, err := unzip(bytes.NewReader(data), int64(len(data)))
		if err != nil {
			return 0, fmt.Errorf("%s: %w", name, err)
		}
		w, err := parseWhole(inner)
		if err != nil {
			return 0, fmt.Errorf("%s: %w", name, err)
		}
		list = append(list, w)
	}
	slices.SortFunc(list, func(a, b whole) int { return strings.Compare(a.Record.ID, b.Record.ID) })
	return len(list), s.write(ctx, "restoring", func(tx *sql.Tx) error { return restoreInto(ctx, tx, list, settings) })
}

func restoreInto(ctx context.Context, tx *sql.Tx, list []whole, settings []setting) error {
	var n int
	if err := tx.QueryRowContext(ctx, `SELECT COUNT(*) FROM records`).Scan(&n); err != nil {
		return err
	}
	if n > 0 {
		return &InvalidError{"store", fmt.Sprintf("there are %d records in it; a backup is restored into an empty one, so that nothing is mixed or overwritten", n)}
	}
	for _, w := range list {
		if err := insertWhole(ctx, tx, w); err != nil {
			return err
		}
	}
	for _, x := range settings {
		if strings.HasPrefix(x.Name, secretPrefix) {
			continue
		}
		if err := putSetting(ctx, tx, x); err != nil {
			return err
		}
	}
	return nil
}

// Snapshot copies a SQLite store into a new file while it is in use; the copy
// is a store of its own, password and all. A server has tools for that.
func (s *Store) Snapshot(ctx context.Context, name string) error {
	doing := "copying the store to " + name
	if s.dialect.file == "" {
		return fmt.Errorf("%s: a PostgreSQL server is copied with its own tools; use Backup", doing)
	}
	f, err := os.OpenFile(name, os.O_CREATE|os.O_EXCL|os.O_RDWR, 0o600)
	if err != nil {
		return fmt.Errorf("%s: %w", doing, err)
	}
	_, err = s.db.ExecContext(ctx, `VACUUM INTO $1`, name) // into an empty file
	if err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err != nil {
		return s.failure(doing, errors.Join(err, os.Remove(name)))
	}
	return nil
}
