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
	"slices"
	"strings"
)

const settingsName = "settings.json"

// Backup writes everything as one zip: the export of each record, removed ones
// too, and the settings but for passwords. It reads one state of the store, and
// works the same on either engine. Restore reads it back.
func (s *Store) Backup(ctx context.Context, to io.Writer) error {
	out := newArchive(to)
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
			if err := out.add(recordsFolder+id+".zip", data); err != nil {
				return err
			}
		}
		list, err := openSettings(ctx, tx)
		if err != nil {
			return err
		}
		data, err := jsonText(list)
		if err != nil {
			return err
		}
		return out.add(settingsName, data)
	})
	if err != nil {
		return err
	}
	if err := out.close(); err != nil {
		return fmt.Errorf("backing up: %w", err)
	}
	return nil
}

// Limits of a backup that is read; the zips in it have their own.
const (
	maxRecords   = 1 << 20
	maxRecordZip = maxUnzipped + maxUnzipped/8 // what the zip adds to its files
)

const recordsFolder = "records/"

// Restore reads what Backup wrote into a store without records, all or nothing,
// and returns how many records there are now. One record at a time is in
// memory. The password is to be set anew. Progress, which may be nil, hears of
// each record; ending ctx stops the work, and then nothing was restored.
func (s *Store) Restore(ctx context.Context, from io.ReaderAt, size int64, progress func(done, of int)) (int, error) {
	b, err := openBundle(from, size, maxRecords)
	if err != nil {
		return 0, err
	}
	if b.entry[settingsName] == nil {
		return 0, &InvalidError{"zip", "no " + settingsName + " in it: this is no backup of meniscus (one record is imported, not restored)"}
	}
	data, err := b.read(settingsName, maxBytes)
	if err != nil {
		return 0, err
	}
	settings := []setting{}
	if err := json.Unmarshal(data, &settings); err != nil {
		return 0, &InvalidError{settingsName, err.Error()}
	}
	n := 0
	err = s.write(ctx, "restoring", func(tx *sql.Tx) error {
		if n, err = restoreRecords(ctx, tx, b, progress); err != nil {
			return err
		}
		return restoreSettings(ctx, tx, settings)
	})
	if err != nil {
		return 0, err
	}
	return n, nil
}

func restoreRecords(ctx context.Context, tx *sql.Tx, b *bundle, progress func(done, of int)) (n int, err error) {
	var here int
	if err := tx.QueryRowContext(ctx, `SELECT COUNT(*) FROM records`).Scan(&here); err != nil {
		return 0, err
	}
	if here > 0 {
		return 0, &InvalidError{"store", fmt.Sprintf("it holds records already (%d); a backup is restored into an empty store, so that nothing is mixed or overwritten", here)}
	}
	names := slices.DeleteFunc(slices.Clone(b.names), func(name string) bool { return !strings.HasPrefix(name, recordsFolder) })
	for _, name := range names {
		data, err := b.read(name, maxRecordZip)
		if err != nil {
			return 0, err
		}
		files, err := unzip(bytes.NewReader(data), int64(len(data)))
		if err != nil {
			return 0, fmt.Errorf("%s: %w", name, err)
		}
		w, err := parseWhole(files)
		if err != nil {
			return 0, fmt.Errorf("%s: %w", name, err)
		}
		if err := insertWhole(ctx, tx, w); err != nil {
			return 0, err
		}
		if n++; progress != nil {
			progress(n, len(names))
		}
	}
	return n, nil
}

func restoreSettings(ctx context.Context, tx *sql.Tx, settings []setting) error {
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
