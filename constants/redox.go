package constants

import (
	"fmt"
	"slices"
	"strings"

	"meniscus/chem"
)

// A MediumError reports a medium for which a couple has no formal potential.
type MediumError struct {
	Medium string
	Couple string   // the half-reaction, or "oxidised/reduced"
	Held   []string // media that the tables have for it; none if the couple is not there at all
}

func (e *MediumError) Error() string {
	if len(e.Held) == 0 {
		return fmt.Sprintf("%s: no formal potential in the tables, in %q or any other medium", e.Couple, e.Medium)
	}
	return fmt.Sprintf("%s: no formal potential in %q; the tables have %s", e.Couple, e.Medium, strings.Join(e.Held, ", "))
}

// Media returns the media for which the tables hold a formal potential of a
// half-reaction, which may be written either way and with any factor, in the
// order of the table. With an empty reaction it returns all media.
func Media(reaction string) ([]string, error) {
	t, err := load()
	if err != nil {
		return nil, err
	}
	want := ""
	if reaction != "" {
		r, err := chem.ParseReaction(reaction)
		if err != nil {
			return nil, fmt.Errorf("looking up media: %w", err)
		}
		want = reactionKey(r)
	}
	return mediaOf(t.rows, func(r *Row) bool { return want == "" || r.same == want }), nil
}

func mediaOf(rows []Row, match func(*Row) bool) []string {
	var out []string
	for i := range rows {
		r := &rows[i]
		if r.Kind == FormalPotential && match(r) && !slices.Contains(out, r.Medium) {
			out = append(out, r.Medium)
		}
	}
	return out
}

// Couple returns the potentials of a couple given by its two species, such as
// "Fe^3+" and "Fe^2+", the one to use first: formal potentials in the medium,
// or standard potentials if medium is "". No row is an empty result for
// standard potentials and a *MediumError for a medium. Several half-reactions
// may share the two species; compare Reaction.
func Couple(oxidised, reduced, medium string) ([]Row, error) {
	t, err := load()
	if err != nil {
		return nil, err
	}
	var keys [2]string
	for i, text := range []string{oxidised, reduced} {
		s, err := chem.ParseSpecies(text)
		if err != nil {
			return nil, fmt.Errorf("looking up a couple: %w", err)
		}
		keys[i] = SpeciesKey(s)
	}
	joins := func(r *Row) bool {
		return r.Kind.Redox() && r.side(keys[0]) < 0 && r.side(keys[1]) > 0
	}
	kind := FormalPotential
	if medium == "" {
		kind = StandardPotential
	}
	medium = CleanMedium(medium)
	var out []Row
	for i := range t.rows {
		if r := &t.rows[i]; r.Kind == kind && r.Medium == medium && joins(r) {
			out = append(out, *r)
		}
	}
	if len(out) == 0 && medium != "" {
		return nil, &MediumError{medium, oxidised + "/" + reduced, mediaOf(t.rows, joins)}
	}
	return out, nil
}

// side is -1 for reactants, 1 for products and 0 for other species.
func (row *Row) side(key string) int {
	for _, t := range row.Reaction.Terms {
		if SpeciesKey(t.Species) == key {
			return t.Coefficient.Sign()
		}
	}
	return 0
}

// CleanMedium writes a medium as the tables do: "1 M H2SO4", "1.0 mol/l H₂SO₄"
// and "1 mol/L H2SO4" are one. The parts of a mixture keep their order. Text
// that is not a list of concentrations comes back with single blanks.
func CleanMedium(text string) string {
	parts := strings.Split(strings.Join(strings.Fields(text), " "), " + ")
	for i, p := range parts {
		words := strings.SplitN(p, " ", 3)
		if len(words) != 3 || !slices.Contains(concentrationUnits, words[1]) {
			continue
		}
		s, err := chem.ParseSpecies(words[2])
		if err != nil {
			continue
		}
		number := strings.Replace(words[0], ",", ".", 1)
		if strings.Contains(number, ".") {
			number = strings.TrimRight(strings.TrimRight(number, "0"), ".")
		}
		parts[i] = number + " mol/L " + s.Name
	}
	return strings.Join(parts, " + ")
}

var concentrationUnits = []string{"M", "mol/L", "mol/l", "mol/dm3", "mol/dm^3", "mol/dm³"}
