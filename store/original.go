package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"fmt"
	"strconv"
	"time"
)

// An Original is an uploaded file, byte for byte.
type Original struct {
	No        int64     `json:"no"` // names it within the record
	Name      string    `json:"name"`
	MediaType string    `json:"media_type"`
	SHA256    string    `json:"sha256"`
	Size      int64     `json:"size"` // bytes
	Author    string    `json:"author"`
	At        time.Time `json:"at"`
}

// AddOriginal keeps a file. Runs that were read from it name its number.
func (s *Store) AddOriginal(ctx context.Context, record, name, mediaType string, content []byte, by By) (Original, error) {
	if len(content) > maxBytes {
		return Original{}, &InvalidError{"original", fmt.Sprintf("%d bytes; at most %d are kept", len(content), maxBytes)}
	}
	if err := check(append(by.fields(), field{"name of the file", name, maxLine}, field{"media type", mediaType, maxLine})...); err != nil {
		return Original{}, err
	}
	o := Original{Name: name, MediaType: mediaType, SHA256: sum(content), Size: int64(len(content)), Author: by.Author}
	err := s.write(ctx, "keeping an original", func(tx *sql.Tx) (err error) {
		if o.No, err = s.number(ctx, tx, record, 1); err != nil {
			return err
		}
		o.At = fromMillis(millis(s.now()))
		return insertOriginal(ctx, tx, record, o, content)
	})
	if err != nil {
		return Original{}, err
	}
	return o, nil
}

func sum(content []byte) string {
	h := sha256.Sum256(content)
	return hex.EncodeToString(h[:])
}

func insertOriginal(ctx context.Context, tx *sql.Tx, record string, o Original, content []byte) error {
	if content == nil {
		content = []byte{} // an empty file is not NULL
	}
	_, err := tx.ExecContext(ctx, `INSERT INTO originals (record, no, name, media_type, sha256, size, content, author, at)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`,
		record, o.No, o.Name, o.MediaType, o.SHA256, o.Size, content, o.Author, millis(o.At))
	return err
}

// Originals lists the files of a record without their content.
func (s *Store) Originals(ctx context.Context, record string) (list []Original, err error) {
	err = s.readRecord(ctx, "reading the originals", record, func(tx *sql.Tx) error {
		list, err = getOriginals(ctx, tx, record)
		return err
	})
	return list, err
}

func getOriginals(ctx context.Context, tx *sql.Tx, record string) ([]Original, error) {
	return collect(ctx, tx, func(row row, o *Original) error {
		var at int64
		err := row.Scan(&o.No, &o.Name, &o.MediaType, &o.SHA256, &o.Size, &o.Author, &at)
		o.At = fromMillis(at)
		return err
	}, `SELECT no, name, media_type, sha256, size, author, at FROM originals WHERE record = $1 ORDER BY no`, record)
}

// Content returns the bytes of an original, checked against its SHA-256.
func (s *Store) Content(ctx context.Context, record string, no int64) (content []byte, err error) {
	err = s.readRecord(ctx, "reading an original", record, func(tx *sql.Tx) error {
		content, err = getContent(ctx, tx, record, no)
		return err
	})
	return content, err
}

func getContent(ctx context.Context, tx *sql.Tx, record string, no int64) ([]byte, error) {
	type file struct {
		hash    string
		content []byte
	}
	list, err := collect(ctx, tx, func(row row, f *file) error { return row.Scan(&f.hash, &f.content) },
		`SELECT sha256, content FROM originals WHERE record = $1 AND no = $2`, record, no)
	switch {
	case err != nil:
		return nil, err
	case len(list) == 0:
		return nil, &NotFoundError{"original", strconv.FormatInt(no, 10)}
	case sum(list[0].content) != list[0].hash:
		return nil, &DamagedError{Err: fmt.Errorf("original %d of record %s does not have its SHA-256 any more", no, record)}
	}
	return list[0].content, nil
}

func checkOriginal(ctx context.Context, tx *sql.Tx, record string, no int64) error {
	var n int
	err := tx.QueryRowContext(ctx, `SELECT COUNT(*) FROM originals WHERE record = $1 AND no = $2`, record, no).Scan(&n)
	if err == nil && n == 0 {
		return &NotFoundError{"original", strconv.FormatInt(no, 10)}
	}
	return err
}
