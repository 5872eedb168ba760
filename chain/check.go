package chain

import "strings"

// check makes sure that every name leads somewhere, to the right kind, and that
// no solution comes from itself.
func (r *reader) check() error {
	for i := range r.s.Solutions {
		s := &r.s.Solutions[i]
		place := []any{"solutions", s.Name}
		var err error
		switch {
		case s.Weighed != nil:
			err = r.known(at(place, "weighed"), use{"on", "balance", s.Weighed.Balance, s.Weighed.Mass.Stated}, use{"in", "flask", s.Weighed.Flask, false})
		case s.Diluted != nil:
			here := at(place, "diluted")
			if err = r.known(here, use{"by", "pipette", s.Diluted.Pipette, false}, use{"in", "flask", s.Diluted.Flask, false}); err == nil {
				err = r.onShelf(at(here, "from"), s.Diluted.From)
			}
		case s.Standardised != nil:
			err = r.checkTitration(s.Standardised, s.Name, at(place, "standardised"))
		}
		if err != nil {
			return err
		}
	}
	for i := range r.s.Determinations {
		d := &r.s.Determinations[i]
		if err := r.checkTitration(&d.Titration, "", []any{"determinations", d.Name}); err != nil {
			return err
		}
	}
	return r.circle()
}

// A use names a ware of some kind under a key.
type use struct {
	key, kind, name string
	optional        bool
}

func (r *reader) known(place []any, uses ...use) error {
	for _, u := range uses {
		if u.name == "" && u.optional {
			continue
		}
		w := find(r.s.Ware, u.name, func(w Ware) string { return w.Name })
		switch {
		case u.name == "":
			return r.fail(place, "needs %s: the name of a %s under ware", u.key, u.kind)
		case w == nil:
			return r.fail(at(place, u.key), "%q is not under ware", u.name)
		case w.Kind != u.kind:
			return r.fail(at(place, u.key), "%s is a %s; a %s is meant", u.name, w.Kind, u.kind)
		}
	}
	return nil
}

func (r *reader) onShelf(place []any, name string) error {
	if find(r.s.Solutions, name, func(s Solution) string { return s.Name }) == nil {
		var names []string
		for _, s := range r.s.Solutions {
			names = append(names, s.Name)
		}
		return r.fail(place, "%q is not under solutions; there are %s", name, strings.Join(names, ", "))
	}
	return nil
}

// checkTitration checks a titration that finds the solution unknown, or the
// content of a sample where unknown is "".
func (r *reader) checkTitration(t *Titration, unknown string, place []any) error {
	k := t.Flask
	if err := r.onShelf(at(place, "burette", "solution"), t.Titrant); err != nil {
		return err
	}
	uses := []use{}
	switch {
	case k.Sample && unknown != "":
		return r.fail(place, "a standardisation has a solution or a substance in the flask, no sample")
	case !k.Sample && unknown == "":
		return r.fail(place, "a determination has a sample; a solution of known origin belongs under solutions, standardised")
	case unknown != "" && unknown != t.Titrant && unknown != k.Solution:
		return r.fail(place, "%s is neither in the burette nor in the flask of its own standardisation", unknown)
	case unknown != "" && unknown == t.Titrant && unknown == k.Solution:
		return r.fail(place, "%s is in the burette and in the flask", unknown)
	}
	if k.Solution != "" {
		if err := r.onShelf(at(place, "flask", "solution"), k.Solution); err != nil {
			return err
		}
		if err := r.known(at(place, "flask"), use{"by", "pipette", k.Pipette, false}); err != nil {
			return err
		}
	}
	if k.MadeUpTo != "" {
		uses = append(uses, use{"made up to", "flask", k.MadeUpTo, false}, use{"aliquot", "pipette", k.Aliquot, false})
	}
	if err := r.known(at(place, "sample"), uses...); err != nil {
		return err
	}
	if err := r.known(at(place, "burette"), use{"by", "burette", t.Burette, false}); err != nil {
		return err
	}
	if k.Excess != nil {
		if err := r.onShelf(at(place, "excess", "solution"), k.Excess.Solution); err != nil {
			return err
		}
		if err := r.known(at(place, "excess"), use{"by", "pipette", k.Excess.Pipette, false}); err != nil {
			return err
		}
	}
	return r.checkRuns(t, place)
}

// maxFillings is how often a burette is believed to be filled for one run.
const maxFillings = 20

func (r *reader) checkRuns(t *Titration, place []any) error {
	k := t.Flask
	weighed := k.Substance != "" || k.Sample && k.Pipette == ""
	key := "flask"
	if k.Sample {
		key = "sample"
	}
	for i, q := range t.Runs {
		here := q.place
		switch {
		case weighed && q.Mass.X == 0:
			return r.fail(at(place), "run %d has no mass; what is weighed for each run is written runs: - {mass: 0.2043 g, volume: 24.35 mL}", i+1)
		case !weighed && q.Mass.X > 0:
			return r.fail(here, "has a mass, but the flask holds an aliquot")
		case weighed && !q.Mass.Stated:
			if err := r.known(at(place, key), use{"on", "balance", k.Balance, false}); err != nil {
				return err
			}
		}
		w := find(r.s.Ware, t.Burette, func(w Ware) string { return w.Name })
		if q.Volume.X > maxFillings*float64(w.Volume) {
			return r.fail(here, "%s is more than %d fillings of the burette; look at the unit", q.Volume.Text, maxFillings)
		}
		if q.Volume.X > float64(w.Volume)*(1+1e-9) && w.Certificate == nil {
			r.note("%s, run %d: %s is more than the burette holds; its error is counted once for each filling", place[1], i+1, q.Volume.Text)
		}
	}
	return nil
}

// circle finds a solution whose strength would depend on itself.
func (r *reader) circle() error {
	state := map[string]int{} // 1 on the way, 2 done
	var visit func(name string, path []string) error
	visit = func(name string, path []string) error {
		switch state[name] {
		case 1:
			return r.fail([]any{"solutions", name}, "depends on itself: %s", strings.Join(append(path, name), " comes from "))
		case 2:
			return nil
		}
		state[name] = 1
		s := find(r.s.Solutions, name, func(s Solution) string { return s.Name })
		for _, from := range s.from() {
			if err := visit(from, append(path, name)); err != nil {
				return err
			}
		}
		state[name] = 2
		return nil
	}
	for _, s := range r.s.Solutions {
		if err := visit(s.Name, nil); err != nil {
			return err
		}
	}
	return nil
}

// from lists the solutions that the strength of s rests on directly.
func (s *Solution) from() []string {
	switch {
	case s.Diluted != nil:
		return []string{s.Diluted.From}
	case s.Standardised != nil:
		return s.Standardised.from(s.Name)
	}
	return nil
}

// from lists the solutions that a titration rests on, but for the one it finds.
func (t *Titration) from(unknown string) []string {
	var list []string
	names := []string{t.Flask.Solution, t.Titrant}
	if t.Flask.Excess != nil {
		names = append(names, t.Flask.Excess.Solution)
	}
	for _, n := range names {
		if n != "" && n != unknown {
			list = append(list, n)
		}
	}
	return list
}

// Titrations lists every standardisation and determination.
func (s *Shelf) Titrations() []*Titration {
	var list []*Titration
	for i := range s.Solutions {
		if t := s.Solutions[i].Standardised; t != nil {
			list = append(list, t)
		}
	}
	for i := range s.Determinations {
		list = append(list, &s.Determinations[i].Titration)
	}
	return list
}
