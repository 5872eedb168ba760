//go:build unix

package store

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func newRun(t *testing.T, s *Store, record string) Run {
	t.Helper()
	return must[Run](t)(s.AddRun(t.Context(), record, Run{Name: "first", Kind: Sample, Unit: "mV", Aliquot: "25.00 mL"}, rk))
}

// show is the current view of a run in short.
func show(t *testing.T, s *Store, record string, run int64) string {
	t.Helper()
	var b strings.Builder
	for _, r := range must[[]Reading](t)(s.Readings(t.Context(), record, run)) {
		fmt.Fprintf(&b, "%s:%s", r.Volume, r.Value)
		if r.State != Kept {
			fmt.Fprintf(&b, "(%s, %s)", r.State, r.Why)
		}
		b.WriteByte(' ')
	}
	return b.String()
}

func TestReadingsAreOnlyEverAdded(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store, target string) {
		r := newRecord(t, s, "Iron")
		run := newRun(t, s, r.ID)
		add := func(by By, list ...Entry) []Reading {
			t.Helper()
			return must[[]Reading](t)(s.Append(t.Context(), r.ID, run.No, by, list...))
		}
		rows := add(rk, Entry{Volume: "0,00", Value: "412"}, Entry{Volume: "1,00", Value: "43O", Time: "9:41", Temperature: "25"}, Entry{Volume: "2,00", Value: "450"})
		before := must[[]Reading](t)(s.History(t.Context(), r.ID))
		steps := []struct {
			by   By
			e    Entry
			want string
		}{
			{By{"A. Osei", "letter O"}, Entry{Replaces: rows[1].No, Volume: "1,00", Value: "430"}, "0,00:412 1,00:430 2,00:450 "},
			{rk, Entry{Replaces: rows[2].No, State: LeftOut, Why: "a bubble"}, "0,00:412 1,00:430 2,00:450(left out, a bubble) "},
			{rk, Entry{Before: rows[2].No, Volume: "1,50", Value: "440"}, "0,00:412 1,00:430 1,50:440 2,00:450(left out, a bubble) "},
			{By{"A. Osei", "typed twice"}, Entry{Replaces: rows[0].No, State: Withdrawn}, "1,00:430 1,50:440 2,00:450(left out, a bubble) "},
			{rk, Entry{Volume: "3,00", Value: "460"}, "1,00:430 1,50:440 2,00:450(left out, a bubble) 3,00:460 "},
		}
		for _, step := range steps {
			before = append(before, add(step.by, step.e)...)
			if got := show(t, s, r.ID, run.No); got != step.want {
				t.Errorf("after %+v: %s, want %s", step.e, got, step.want)
			}
		}
		if diff := cmp.Diff(before, must[[]Reading](t)(openStore(t, target).History(t.Context(), r.ID))); diff != "" {
			t.Errorf("the history is not what was returned (-returned +kept):\n%s", diff)
		}
		if x := before[1]; x.Value != "43O" || x.Time != "9:41" || x.Temperature != "25" || x.Author != rk.Author {
			t.Errorf("the first text was %+v", x)
		}
		if x := before[3]; x.Author != "A. Osei" || x.Why != "letter O" || x.Replaces != rows[1].No || !x.At.After(rows[1].At) {
			t.Errorf("the edit was %+v", x)
		}
		if got := must[Record](t)(s.Record(t.Context(), r.ID)); got.Version != 1 || !got.Touched.After(got.Saved) {
			t.Errorf("readings made version %d of the record, touched %v", got.Version, got.Touched)
		}
	})
}

func TestReadingIsReplacedOnce(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store, target string) {
		r := newRecord(t, s, "Iron")
		run := newRun(t, s, r.ID)
		first := must[[]Reading](t)(s.Append(t.Context(), r.ID, run.No, rk, Entry{Volume: "1", Value: "430"}))[0]
		other := openStore(t, target)
		theirs := must[[]Reading](t)(other.Append(t.Context(), r.ID, run.No, By{"A. Osei", "misread"}, Entry{Replaces: first.No, Volume: "1", Value: "340"}))[0]
		_, err := s.Append(t.Context(), r.ID, run.No, By{"R. Kessler", "no"},
			Entry{Volume: "2", Value: "440"}, Entry{Replaces: first.No, Volume: "1", Value: "433"})
		var conflict *ConflictError
		if !errors.As(err, &conflict) || conflict.Reading == nil {
			t.Fatalf("error %v", err)
		}
		if diff := cmp.Diff(theirs, *conflict.Reading); diff != "" {
			t.Errorf("the error carries (-want +got):\n%s", diff)
		}
		if !strings.Contains(err.Error(), "A. Osei") || !strings.Contains(err.Error(), "1, 340") {
			t.Errorf("error %q", err)
		}
		if got := show(t, s, r.ID, run.No); got != "1:340 " {
			t.Errorf("all or none: %s", got)
		}
	})
}

func TestWhatIsNoReadingIsRefused(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store, _ string) {
		r := newRecord(t, s, "Iron")
		run := newRun(t, s, r.ID)
		first := must[[]Reading](t)(s.Append(t.Context(), r.ID, run.No, rk, Entry{Volume: "1", Value: "430"}))[0]
		var invalid *InvalidError
		for _, e := range []Entry{
			{Replaces: first.No, Volume: "1", Value: "431"}, // no reason
			{Volume: "2", Value: "440", State: LeftOut},     // no reason
			{Volume: "2", Value: "440", State: Withdrawn, Why: "x"},
			{Volume: "2", Value: "440", State: "gone"},
			{Replaces: first.No, Before: first.No, Why: "x"},
			{},
			{Volume: "1\x00"},
			{Value: strings.Repeat("1", maxLine+1)},
		} {
			if _, err := s.Append(t.Context(), r.ID, run.No, rk, e); !errors.As(err, &invalid) {
				t.Errorf("%.60s: error %v", fmt.Sprintf("%+v", e), err)
			}
		}
		var missing *NotFoundError
		for _, e := range []Entry{{Replaces: 99, Why: "x"}, {Before: 99, Volume: "1"}} {
			if _, err := s.Append(t.Context(), r.ID, run.No, rk, e); !errors.As(err, &missing) || missing.What != "reading" {
				t.Errorf("%+v: error %v", e, err)
			}
		}
		if _, err := s.Append(t.Context(), r.ID, 99, rk, Entry{Volume: "1"}); !errors.As(err, &missing) || missing.What != "run" {
			t.Errorf("no such run: %v", err)
		}
		if _, err := s.Append(t.Context(), "nosuch", 1, rk, Entry{Volume: "1"}); !errors.As(err, &missing) || missing.What != "record" {
			t.Errorf("no such record: %v", err)
		}
		if got := must[[]Reading](t)(s.History(t.Context(), r.ID)); len(got) != 1 {
			t.Errorf("%d rows were kept", len(got))
		}
	})
}

func TestManyReadingsInFrontOfOne(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store, _ string) {
		r := newRecord(t, s, "Iron")
		run := newRun(t, s, r.ID)
		last := must[[]Reading](t)(s.Append(t.Context(), r.ID, run.No, rk, Entry{Volume: "end"}))[0]
		want, n := "", 0
		for ; ; n++ {
			e := Entry{Before: last.No, Volume: fmt.Sprint(n), Value: "x"}
			if _, err := s.Append(t.Context(), r.ID, run.No, rk, e); err != nil {
				if !errors.As(err, new(*InvalidError)) {
					t.Fatal(err)
				}
				break
			}
			want += fmt.Sprintf("%d:x ", n)
		}
		if n != 40 {
			t.Errorf("%d fitted", n)
		}
		if got := show(t, s, r.ID, run.No); got != want+"end: " {
			t.Errorf("order %s", got)
		}
	})
}

func TestRuns(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store, _ string) {
		r := newRecord(t, s, "Iron")
		file := must[Original](t)(s.AddOriginal(t.Context(), r.ID, "bench.csv", "text/csv", []byte("1;2\r\n\xff\x00"), rk))
		a := newRun(t, s, r.ID)
		b := must[Run](t)(s.AddRun(t.Context(), r.ID, Run{Name: "empty", Kind: Blank, Unit: "mV", Original: file.No}, rk))
		c := b
		c.LeftOut, c.Place = "stirrer stood still", -1
		saved := must[Record](t)(s.SaveRun(t.Context(), r.ID, 1, c, By{"A. Osei", "seen at once"}))
		if diff := cmp.Diff([]Run{c, a}, must[[]Run](t)(s.Runs(t.Context(), r.ID))); diff != "" {
			t.Errorf("runs (-want +got):\n%s", diff)
		}
		var lines []string
		for _, x := range must[[]Change](t)(s.Changes(t.Context(), r.ID)) {
			lines = append(lines, fmt.Sprintf("%s, %s: %s %q to %q", x.Author, x.Why, x.What, x.Was, x.Became))
		}
		want := []string{
			`A. Osei, seen at once: run 3: left out "" to "stirrer stood still"`,
			`A. Osei, seen at once: run 3: place "2" to "-1"`,
		}
		if diff := cmp.Diff(want, lines); diff != "" {
			t.Errorf("changes (-want +got):\n%s", diff)
		}
		if _, err := s.SaveRun(t.Context(), r.ID, 1, c, rk); !errors.As(err, new(*ConflictError)) || saved.Version != 2 {
			t.Errorf("stale version: %v; saved as %d", err, saved.Version)
		}
		if _, err := s.AddRun(t.Context(), r.ID, Run{Kind: "trial"}, rk); !errors.As(err, new(*InvalidError)) {
			t.Errorf("unknown kind: %v", err)
		}
		if _, err := s.AddRun(t.Context(), r.ID, Run{Kind: Blank, Original: 77}, rk); !errors.As(err, new(*NotFoundError)) {
			t.Errorf("unknown original: %v", err)
		}
		if got := must[[]byte](t)(s.Content(t.Context(), r.ID, file.No)); string(got) != "1;2\r\n\xff\x00" {
			t.Errorf("content %q", got)
		}
	})
}

func TestDeterminationIsOneMoment(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store, _ string) {
		r := newRecord(t, s, "Iron")
		run := newRun(t, s, r.ID)
		rows := must[[]Reading](t)(s.Append(t.Context(), r.ID, run.No, rk, Entry{Volume: "1", Value: "430"}, Entry{Volume: "2", Value: "440"}))
		d := must[Determination](t)(s.Determination(t.Context(), r.ID))
		want := Determination{must[Record](t)(s.Record(t.Context(), r.ID)), []RunReadings{{run, rows, rows[len(rows)-1].No}}}
		if diff := cmp.Diff(want, d); diff != "" {
			t.Errorf("(-want +got):\n%s", diff)
		}
	})
}

// What is sent twice is kept once; a withdrawn row counts as a row.
func TestAppendAfter(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store, _ string) {
		r := newRecord(t, s, "Iron")
		run, other := newRun(t, s, r.ID), newRun(t, s, r.ID)
		first := must[[]Reading](t)(s.AppendAfter(t.Context(), r.ID, run.No, 0, rk, Entry{Volume: "0", Value: "412"}))
		must[[]Reading](t)(s.AppendAfter(t.Context(), r.ID, other.No, 0, rk, Entry{Volume: "0", Value: "399"}))
		gone := must[[]Reading](t)(s.AppendAfter(t.Context(), r.ID, run.No, first[0].No, rk, Entry{Replaces: first[0].No, State: Withdrawn, Why: "a slip"}))
		for _, last := range []int64{0, first[0].No, gone[0].No + 1} {
			_, err := s.AppendAfter(t.Context(), r.ID, run.No, last, rk, Entry{Volume: "1", Value: "420"})
			var behind *BehindError
			if !errors.As(err, &behind) || behind.Last != gone[0].No || behind.Known != last {
				t.Errorf("after row %d: %v", last, err)
			}
		}
		if got := must[RunReadings](t)(s.Run(t.Context(), r.ID, run.No)); len(got.Readings) != 0 || got.Last != gone[0].No || got.Run.No != run.No {
			t.Errorf("%+v", got)
		}
		must[[]Reading](t)(s.AppendAfter(t.Context(), r.ID, run.No, gone[0].No, rk, Entry{Volume: "1", Value: "420"}))
		if got := show(t, s, r.ID, run.No); got != "1:420 " {
			t.Error(got)
		}
	})
}

// A run with its readings is kept whole or not at all.
func TestRunOfAFile(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store, _ string) {
		rec := newRecord(t, s, "Iron")
		made := func(i int) Entry { return Entry{Volume: strconv.Itoa(i), Value: "400"} }
		run, err := s.AddRunOf(t.Context(), rec.ID, Run{Name: "1", Kind: Sample, Unit: "mV"}, rk, 5, made)
		if err != nil {
			t.Fatal(err)
		}
		list := must[[]Reading](t)(s.Readings(t.Context(), rec.ID, run.No))
		if len(list) != 5 || list[0].Volume != "0" || list[4].Volume != "4" || list[4].State != Kept {
			t.Errorf("readings %+v", list)
		}
		// What is added later goes behind them, with numbers of its own.
		more := must[[]Reading](t)(s.Append(t.Context(), rec.ID, run.No, rk, Entry{Volume: "9", Value: "1"}))
		if more[0].No <= list[4].No || more[0].Place <= list[4].Place {
			t.Errorf("the next is %+v after %+v", more[0], list[4])
		}
		bad := func(i int) Entry {
			if i == 3 {
				return Entry{}
			}
			return made(i)
		}
		if _, err := s.AddRunOf(t.Context(), rec.ID, Run{Name: "2", Kind: Sample, Unit: "mV"}, rk, 5, bad); !errors.As(err, new(*InvalidError)) {
			t.Errorf("an empty reading in it: %v", err)
		}
		if runs := must[[]Run](t)(s.Runs(t.Context(), rec.ID)); len(runs) != 1 {
			t.Errorf("%d runs after one that failed", len(runs))
		}
	})
}

// What is read without being held is what Readings lists: an outline counts it,
// and EachReading hands it over in its order, until it is told to end.
func TestReadingsOneAtATime(t *testing.T) {
	onBoth(t, func(t *testing.T, s *Store, _ string) {
		r := newRecord(t, s, "Iron")
		run, empty := newRun(t, s, r.ID), newRun(t, s, r.ID)
		add := func(list ...Entry) []Reading {
			return must[[]Reading](t)(s.Append(t.Context(), r.ID, run.No, By{"A. Osei", "looked again"}, list...))
		}
		rows := add(Entry{Volume: "0", Value: "412"}, Entry{Volume: "1", Value: "43"}, Entry{Volume: "2", Value: "450"}, Entry{Volume: "3", Value: "460"})
		last := add(Entry{Replaces: rows[1].No, Volume: "1", Value: "430"}, Entry{Replaces: rows[2].No, State: LeftOut},
			Entry{Before: rows[1].No, Volume: "0.5", Value: "420"}, Entry{Replaces: rows[3].No, State: Withdrawn})[3].No

		o := must[Outline](t)(s.Outline(t.Context(), r.ID))
		if len(o.Runs) != 2 || o.Runs[0] != (RunCount{run, 4}) || o.Runs[1] != (RunCount{empty, 0}) || o.Record.ID != r.ID {
			t.Errorf("the outline is %+v", o)
		}
		var got string
		whole := must[RunReadings](t)(s.EachReading(t.Context(), r.ID, run.No, func(of Run, q *Reading) error {
			got += of.Name + " " + q.Volume + ":" + q.Value + " "
			return nil
		}))
		if want := "first 0:412 first 0.5:420 first 1:430 first 2:450 "; got != want || whole.Run != run || whole.Last != last {
			t.Errorf("%q of %+v, want %q", got, whole, want)
		}
		enough, n := errors.New("enough"), 0
		_, err := s.EachReading(t.Context(), r.ID, run.No, func(Run, *Reading) error { n++; return enough })
		if n != 1 || !errors.Is(err, enough) {
			t.Errorf("went on to %d, %v", n, err)
		}
		for _, err := range []error{
			func() error { _, err := s.Outline(t.Context(), "none"); return err }(),
			func() error { _, err := s.EachReading(t.Context(), r.ID, 999, nil); return err }(),
		} {
			if !errors.As(err, new(*NotFoundError)) {
				t.Errorf("%v", err)
			}
		}
	})
}
