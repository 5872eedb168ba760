//go:build unix

package store

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

const mossSetup = "title: Iron in a moss-control granule\nflask:\n  contains:\n    Fe^2+: 0.05 mol/L\n"

func newRecord(t *testing.T, s *Store, title string, tags ...string) Record {
	t.Helper()
	return must[Record](t)(s.Create(t.Context(), Record{Title: title, Setup: mossSetup, Notes: "from the third bag", Tags: tags}, rk))
}

func TestRecordIsKeptAsItWasGiven(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store, target string) {
		made := newRecord(t, s, "Iron, µg to %, 'quoted' -- 25 °C", "iron", " moss  control", "", "iron")
		got := must[Record](t)(openStore(t, target).Record(t.Context(), made.ID))
		if diff := cmp.Diff(made, got); diff != "" {
			t.Errorf("(-made +got):\n%s", diff)
		}
		if made.Title != "Iron, µg to %, 'quoted' -- 25 °C" || made.Setup != mossSetup || made.CreatedBy != rk.Author || made.Version != 1 {
			t.Errorf("made %+v", made)
		}
		if diff := cmp.Diff([]string{"iron", "moss control"}, made.Tags); diff != "" {
			t.Errorf("tags: %s", diff)
		}
		if want := time.Date(2026, 3, 2, 9, 0, 1, 123_000_000, time.UTC); !made.Created.Equal(want) {
			t.Errorf("created %v, want %v", made.Created, want)
		}
		_, err := s.Record(t.Context(), "nosuch")
		var missing *NotFoundError
		if !errors.As(err, &missing) || missing.What != "record" {
			t.Errorf("error %v", err)
		}
	})
}

func TestStaleVersionIsRefused(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store, target string) {
		mine := newRecord(t, s, "Iron", "iron")
		theirs := mine
		theirs.Title = "Iron(II)"
		theirs = must[Record](t)(openStore(t, target).Save(t.Context(), theirs, By{"A. Osei", "the oxidation state"}))
		mine.Notes = "mine"
		_, err := s.Save(t.Context(), mine, rk)
		var conflict *ConflictError
		if !errors.As(err, &conflict) {
			t.Fatalf("error %v, want a ConflictError", err)
		}
		if diff := cmp.Diff(theirs, conflict.Current); diff != "" {
			t.Errorf("the error carries (-want +got):\n%s", diff)
		}
		for _, part := range []string{"A. Osei", theirs.Saved.Format("15:04:05"), "version 2", "from 1", "nothing was saved"} {
			if !strings.Contains(err.Error(), part) {
				t.Errorf("%q does not say %q", err, part)
			}
		}
		if got := must[Record](t)(s.Record(t.Context(), mine.ID)); got.Notes != "from the third bag" || got.Title != "Iron(II)" {
			t.Errorf("after the refusal %+v", got)
		}
	})
}

func TestChangesSayWhoWhenWhyAndWhat(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store, _ string) {
		r := newRecord(t, s, "Iron", "iron")
		r.Title, r.Setup, r.Tags = "Iron(II)", mossSetup+"blank: 0.05 mL\n", []string{"iron", "cerium"}
		r = must[Record](t)(s.Save(t.Context(), r, By{"A. Osei", "blank measured"}))
		same := must[Record](t)(s.Save(t.Context(), r, By{"A. Osei", "nothing"}))
		if diff := cmp.Diff(r, same); diff != "" || r.Version != 2 {
			t.Errorf("version %d; saving what is there made (-before +after):\n%s", r.Version, diff)
		}
		r = must[Record](t)(s.Remove(t.Context(), r.ID, r.Version, By{"R. Kessler", "was a trial"}))
		r = must[Record](t)(s.BringBack(t.Context(), r.ID, r.Version, By{"R. Kessler", "it was not"}))
		got := must[[]Change](t)(s.Changes(t.Context(), r.ID))
		var lines []string
		for _, c := range got {
			lines = append(lines, fmt.Sprintf("%d %s %s %s|%s|%s|%s", c.No, c.At.Format("05.000"), c.Author, c.Why, c.What, c.Was, c.Became))
		}
		want := []string{
			"1 02.123 A. Osei blank measured|title|Iron|Iron(II)",
			"2 02.123 A. Osei blank measured|setup|" + mossSetup + "|" + mossSetup + "blank: 0.05 mL\n",
			"3 02.123 A. Osei blank measured|tags|iron|cerium, iron",
			"4 05.123 R. Kessler was a trial|removed|no|yes",
			"5 08.123 R. Kessler it was not|removed|yes|no",
		}
		strip := func(l []string) (out []string) { // the times are checked for order below
			for _, x := range l {
				_, rest, _ := strings.Cut(x, " ")
				_, rest, _ = strings.Cut(rest, " ")
				out = append(out, rest)
			}
			return out
		}
		if diff := cmp.Diff(strip(want), strip(lines)); diff != "" {
			t.Errorf("changes (-want +got):\n%s", diff)
		}
		for i, c := range got {
			if c.No != int64(i+1) || !c.At.After(r.Created) || i > 0 && c.At.Before(got[i-1].At) {
				t.Errorf("change %d has number %d and time %v", i, c.No, c.At)
			}
		}
	})
}

func TestRemovedRecordsAreFoundOnlyWhenAskedFor(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store, _ string) {
		r := newRecord(t, s, "Iron", "iron")
		newRecord(t, s, "Chloride")
		gone := must[Record](t)(s.Remove(t.Context(), r.ID, 1, rk))
		if gone.Removed.IsZero() {
			t.Error("no time of removal")
		}
		find := func(q Query) string {
			p := must[Page](t)(s.Find(t.Context(), q))
			var list []string
			for _, r := range p.Records {
				list = append(list, r.Title)
			}
			return fmt.Sprint(p.Total, list)
		}
		if got := find(Query{}); got != "1 [Chloride]" {
			t.Errorf("found %s", got)
		}
		if got := find(Query{Removed: true}); got != "1 [Iron]" {
			t.Errorf("removed ones: %s", got)
		}
		if tags := must[[]TagCount](t)(s.Tags(t.Context())); len(tags) != 0 {
			t.Errorf("tags of a removed record: %v", tags)
		}
		must[Record](t)(s.BringBack(t.Context(), r.ID, 2, rk))
		if got := find(Query{}); got != "2 [Iron Chloride]" { // touched last comes first
			t.Errorf("found %s", got)
		}
	})
}

func TestFind(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store, _ string) {
		newRecord(t, s, "Fer dans l'eau de la Sûre", "water", "field")
		newRecord(t, s, "100% ferrous_sulfate", "iron")
		must[Record](t)(s.Create(t.Context(), Record{Title: "Chloride", Setup: "flask: {contains: {Cl^-: 1 mmol/L}}", Tags: []string{"water"}}, rk))
		for _, c := range []struct {
			q    Query
			want string
		}{
			{Query{}, "3 [Chloride 100% ferrous_sulfate Fer dans l'eau de la Sûre]"},
			{Query{Words: "SURE eau"}, "1 [Fer dans l'eau de la Sûre]"},
			{Query{Words: "Fe2+"}, "2 [100% ferrous_sulfate Fer dans l'eau de la Sûre]"},
			{Query{Words: "fe²⁺"}, "2 [100% ferrous_sulfate Fer dans l'eau de la Sûre]"},
			{Query{Words: "Cl⁻"}, "1 [Chloride]"},
			{Query{Words: "third bag"}, "2 [100% ferrous_sulfate Fer dans l'eau de la Sûre]"},
			{Query{Words: "0_ s_s"}, "0 []"},
			{Query{Words: "0% s_sul"}, "1 [100% ferrous_sulfate]"},
			{Query{Words: "_e"}, "0 []"},
			{Query{Words: "!"}, "0 []"},
			{Query{Words: "'; DROP TABLE records; --"}, "0 []"},
			{Query{Tag: "water"}, "2 [Chloride Fer dans l'eau de la Sûre]"},
			{Query{Words: "water", Tag: "field"}, "1 [Fer dans l'eau de la Sûre]"},
			{Query{Limit: 1, Offset: 1}, "3 [100% ferrous_sulfate]"},
			{Query{Limit: 2, Offset: 3}, "3 []"},
		} {
			p := must[Page](t)(s.Find(t.Context(), c.q))
			titles := []string{}
			for _, r := range p.Records {
				titles = append(titles, r.Title)
			}
			if got := fmt.Sprint(p.Total, titles); got != c.want {
				t.Errorf("%+v finds %s, want %s", c.q, got, c.want)
			}
		}
		want := []TagCount{{"field", 1}, {"iron", 1}, {"water", 2}}
		if diff := cmp.Diff(want, must[[]TagCount](t)(s.Tags(t.Context()))); diff != "" {
			t.Errorf("tags (-want +got):\n%s", diff)
		}
	})
}

func TestWhatIsNoTextIsRefused(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store, _ string) {
		for _, r := range []Record{
			{Title: "a\x00b"},
			{Title: "a\xffb"},
			{Title: strings.Repeat("a", maxLine+1)},
			{Setup: strings.Repeat("a", maxText+1)},
			{Tags: []string{"\xff"}},
			{Notes: "\x00"},
		} {
			_, err := s.Create(t.Context(), r, rk)
			var invalid *InvalidError
			if !errors.As(err, &invalid) {
				t.Errorf("%.60s: error %v", fmt.Sprintf("%+v", r), err)
			}
		}
		if p := must[Page](t)(s.Find(t.Context(), Query{})); p.Total != 0 {
			t.Errorf("%d records were kept", p.Total)
		}
	})
}

func TestSettings(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store, target string) {
		if _, ok, err := s.Setting(t.Context(), StartedSetting); ok || err != nil {
			t.Errorf("before: %v %v", ok, err)
		}
		for _, v := range []string{"a", "b"} {
			if err := s.SetSetting(t.Context(), StartedSetting, v); err != nil {
				t.Fatal(err)
			}
		}
		if v, ok, err := openStore(t, target).Setting(t.Context(), StartedSetting); v != "b" || !ok || err != nil {
			t.Errorf("after: %q %v %v", v, ok, err)
		}
	})
}

func TestNewIDsSortByTime(t *testing.T) {
	at := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	last := ""
	for range 2000 {
		id := newID(at)
		if len(id) != 20 || id[:10] <= last {
			t.Fatalf("%s after %s", id, last)
		}
		last, at = id[:10], at.Add(time.Millisecond)
	}
	if a, b := newID(at), newID(at); a == b {
		t.Errorf("%s was given twice", a)
	}
}
