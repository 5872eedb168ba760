package store

import (
	"context"
	"database/sql"
	"strings"
)

// Names of settings. Those that begin with "secret." stay here: they are in no
// backup.
const (
	PasswordSetting = "secret.password" // hash of the password for others on the network
	StartedSetting  = "started"         // when the first start was seen
	secretPrefix    = "secret."
)

// Setting returns a setting, and whether it was ever set.
func (s *Store) Setting(ctx context.Context, name string) (value string, ok bool, err error) {
	err = s.read(ctx, "reading a setting", func(tx *sql.Tx) error {
		list, err := collect(ctx, tx, func(row row, v *string) error { return row.Scan(v) },
			`SELECT value FROM settings WHERE name = $1`, name)
		if len(list) > 0 {
			value, ok = list[0], true
		}
		return err
	})
	return value, ok, err
}

// SetSetting keeps a setting in place of what it was before.
func (s *Store) SetSetting(ctx context.Context, name, value string) error {
	if err := check(field{"name of the setting", name, maxLine}, field{name, value, maxText}); err != nil {
		return err
	}
	return s.write(ctx, "keeping a setting", func(tx *sql.Tx) error { return putSetting(ctx, tx, setting{name, value}) })
}

type setting struct {
	Name  string `json:"name"`
	Value string `json:"value"`
}

func putSetting(ctx context.Context, tx *sql.Tx, x setting) error {
	_, err := tx.ExecContext(ctx, `INSERT INTO settings (name, value) VALUES ($1, $2)
		ON CONFLICT (name) DO UPDATE SET value = excluded.value`, x.Name, x.Value)
	return err
}

// openSettings returns the settings that may leave the store.
func openSettings(ctx context.Context, tx *sql.Tx) ([]setting, error) {
	all, err := collect(ctx, tx, func(row row, x *setting) error { return row.Scan(&x.Name, &x.Value) },
		`SELECT name, value FROM settings ORDER BY name`)
	list := []setting{}
	for _, x := range all {
		if !strings.HasPrefix(x.Name, secretPrefix) {
			list = append(list, x)
		}
	}
	return list, err
}
