package chain

import (
	"fmt"
	"time"
)

// days is how many days later b is than a.
func days(a, b Date) int {
	x, errA := time.Parse(time.DateOnly, string(a))
	y, errB := time.Parse(time.DateOnly, string(b))
	if errA != nil || errB != nil {
		return 0
	}
	return int(y.Sub(x).Hours()) / 24
}

// judgeDates adds what the dates say against a result: a solution used after
// its day, or before it was made. The result stands, with the doubt.
func (s *Shelf) judgeDates(r *Result) {
	seen := map[string]bool{}
	var follow func(t *Titration, unknown, user string)
	use := func(name, user string, when Date) {
		x := s.solution(name)
		if x == nil || seen[user+"\x00"+name] {
			return
		}
		seen[user+"\x00"+name] = true
		switch {
		case when == "":
		case x.Expires != "" && when > x.Expires:
			r.Expired = true
			r.Doubts = append(r.Doubts, fmt.Sprintf("%s was used for %s on %s, %d days after it expired (%s): standardise it again", name, user, when, days(x.Expires, when), x.Expires))
		case x.Made != "" && when < x.Made:
			r.Doubts = append(r.Doubts, fmt.Sprintf("%s was used for %s on %s, before it was made on %s: one of the dates is wrong", name, user, when, x.Made))
		}
	}
	follow = func(t *Titration, unknown, user string) {
		when := t.Date
		if when == "" {
			when = s.Date
		}
		for _, from := range t.from(unknown) {
			use(from, user, when)
		}
	}
	if r.Sample {
		d := find(s.Determinations, r.Name, func(d Determination) string { return d.Name })
		follow(&d.Titration, "", r.Name)
	}
	for _, name := range append([]string{r.Name}, r.Path...) {
		x := s.solution(name)
		switch {
		case x == nil:
		case x.Standardised != nil:
			follow(x.Standardised, name, "the standardisation of "+name)
		case x.Diluted != nil:
			use(x.Diluted.From, name, x.Made)
		}
	}
	if x := s.solution(r.Name); x != nil && !r.Sample && x.Expires != "" && s.Date > x.Expires {
		r.Expired = true
		r.Doubts = append(r.Doubts, fmt.Sprintf("expired on %s, %d days before %s", x.Expires, days(x.Expires, s.Date), s.Date))
	}
}
