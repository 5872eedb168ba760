package store

import (
	"context"
	"database/sql"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// A Query says which records to find. The zero value finds all of them.
type Query struct {
	Words   string // each must be in the title, setup, notes or tags; "Fe2+", "Fe^2+" and "Fe²⁺" are one
	Tag     string // "" is any
	Removed bool   // find the removed ones instead
	Limit   int    // records on a page; 0 is 50
	Offset  int    // records to pass over
}

// A Page is a part of what a Query finds, what was touched last first.
type Page struct {
	Records []Record
	Total   int // found, on all pages
}

// Find finds records.
func (s *Store) Find(ctx context.Context, q Query) (Page, error) {
	where, args := q.where()
	if q.Limit <= 0 {
		q.Limit = 50
	}
	var p Page
	err := s.read(ctx, "finding records", func(tx *sql.Tx) (err error) {
		if err := tx.QueryRowContext(ctx, `SELECT COUNT(*) FROM records WHERE `+where, args...).Scan(&p.Total); err != nil {
			return err
		}
		n := len(args)
		p.Records, err = collect(ctx, tx, scanRecord, fmt.Sprintf(`SELECT `+recordColumns+` FROM records WHERE %s
			ORDER BY touched DESC, id DESC LIMIT $%d OFFSET $%d`, where, n+1, n+2), append(args, q.Limit, max(q.Offset, 0))...)
		if err != nil {
			return err
		}
		return addTags(ctx, tx, p.Records)
	})
	return p, err
}

// maxWords are looked for; more would make a slow query and no better one.
const maxWords = 20

func (q Query) where() (string, []any) {
	parts := []string{"removed = 0"}
	if q.Removed {
		parts[0] = "removed <> 0"
	}
	var args []any
	add := func(format string, arg string) {
		args = append(args, arg)
		parts = append(parts, fmt.Sprintf(format, len(args)))
	}
	list := strings.Fields(fold(q.Words))
	for _, w := range list[:min(len(list), maxWords)] {
		add(`words LIKE $%d ESCAPE '!'`, "%"+strings.NewReplacer("!", "!!", "%", "!%", "_", "!_").Replace(w)+"%")
	}
	if q.Tag != "" {
		add(`EXISTS (SELECT 1 FROM tags t WHERE t.record = records.id AND t.tag = $%d)`, q.Tag)
	}
	return strings.Join(parts, " AND "), args
}

// words is the text of a record that Find looks through.
func words(r Record) string {
	return fold(strings.Join(append([]string{r.Title, r.Notes, r.Setup}, r.Tags...), "\n"))
}

// fold takes away what people do not type when they look for something: case,
// accents, and how a superscript is written.
func fold(text string) string {
	return strings.Map(func(r rune) rune {
		if r == '^' || r == 0 || unicode.Is(unicode.Mn, r) {
			return -1
		}
		if r == '−' { // minus
			return '-'
		}
		return unicode.ToLower(r)
	}, norm.NFKD.String(strings.ToValidUTF8(text, "")))
}

// A TagCount is a tag and how many records have it.
type TagCount struct {
	Tag     string
	Records int
}

// Tags returns the tags of the records that are not removed, sorted.
func (s *Store) Tags(ctx context.Context) ([]TagCount, error) {
	var list []TagCount
	err := s.read(ctx, "reading the tags", func(tx *sql.Tx) (err error) {
		list, err = collect(ctx, tx, func(row row, t *TagCount) error { return row.Scan(&t.Tag, &t.Records) },
			`SELECT tag, COUNT(*) FROM tags JOIN records ON records.id = tags.record WHERE removed = 0 GROUP BY tag`)
		return err
	})
	slices.SortFunc(list, func(a, b TagCount) int { return strings.Compare(a.Tag, b.Tag) })
	return list, err
}
