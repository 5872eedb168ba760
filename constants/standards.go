package constants

import (
	"sync"

	"meniscus/chem"
)

// A Standard is a way to standardise a titrant against a weighed substance.
type Standard struct {
	Reagent    Reagent
	Species    string        // that the standard gives and the titrant takes
	Titrant    string        // species
	Reaction   chem.Reaction // balanced
	Conditions string
	Source     Source
}

// PerUnit returns how many of the titrant one formula unit of the standard
// takes.
func (s Standard) PerUnit() float64 {
	a, b := s.Reaction.Coefficient(s.Species), s.Reaction.Coefficient(s.Titrant)
	return s.Reagent.PerUnit(s.Species) * b.Float() / a.Float()
}

var loadStandards = sync.OnceValues(func() ([]Standard, error) {
	sources, err := Sources()
	if err != nil {
		return nil, err
	}
	records, err := readTable(files, "standards.txt", "standard | titrant | reaction | conditions | source")
	if err != nil {
		return nil, err
	}
	var list []Standard
	for _, rec := range records {
		s := Standard{Titrant: rec.get("titrant"), Conditions: rec.get("conditions"), Source: sources[rec.get("source")]}
		var ok bool
		if s.Reagent, ok, err = FindReagent(rec.get("standard")); err != nil || !ok || !s.Reagent.Primary {
			return nil, rec.fail("%s is no primary standard in reagents.txt", rec.get("standard"))
		}
		skeleton, err := chem.ParseReaction(rec.get("reaction"))
		if err != nil {
			return nil, rec.fail("%v", err)
		}
		if s.Reaction, err = skeleton.Balance(); err != nil {
			return nil, rec.fail("%v", err)
		}
		for _, t := range s.Reaction.Terms {
			if t.Coefficient.Sign() < 0 && s.Reagent.PerUnit(t.Species.Name) > 0 && t.Species.Name != s.Titrant {
				s.Species = t.Species.Name
			}
		}
		if s.Species == "" || s.Reaction.Coefficient(s.Titrant).Sign() >= 0 || s.Source.Key == "" {
			return nil, rec.fail("the standard and %s do not react in this reaction, or the source is not known", s.Titrant)
		}
		list = append(list, s)
	}
	return list, nil
})

// StandardsFor returns the ways to standardise a titrant, a canonical species
// or a salt that gives one, the usual one first.
func StandardsFor(titrant string) ([]Standard, error) {
	list, err := loadStandards()
	if err != nil {
		return nil, err
	}
	names := []string{titrant}
	if s, err := chem.ParseSpecies(titrant); err == nil {
		names = []string{s.Name}
		if terms, err := chem.Dissociate(s); err == nil {
			for _, t := range terms {
				names = addNew(names, t.Species.Name)
			}
		}
	}
	var out []Standard
	for _, s := range list {
		for _, n := range names {
			if s.Titrant == n {
				out = append(out, s)
			}
		}
	}
	return out, nil
}
