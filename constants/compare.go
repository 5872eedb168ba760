package constants

import "math"

// A Conflict is a set of rows for one reaction and one set of conditions that
// do not agree, in the order of the table: the first is the one to use.
type Conflict struct {
	Rows []Row
	Span float64 // largest less smallest value, in the unit of the values
}

// Conflicts returns where the tables disagree with themselves, in their order.
// Rows of one source that was read are two things (two crystal forms), not a
// conflict.
func Conflicts() ([]Conflict, error) {
	t, err := load()
	if err != nil {
		return nil, err
	}
	var order []string
	groups := map[string][]Row{}
	for _, r := range t.rows {
		k := r.key()
		if groups[k] == nil {
			order = append(order, k)
		}
		groups[k] = append(groups[k], r)
	}
	var out []Conflict
	for _, k := range order {
		if span := disagreement(groups[k]); span > 0 {
			out = append(out, Conflict{groups[k], span})
		}
	}
	return out, nil
}

// disagreement is the largest difference between two rows of different
// sources, or both from memory.
func disagreement(rows []Row) float64 {
	span := 0.0
	for i, a := range rows {
		for _, b := range rows[:i] {
			if a.Source.Key != b.Source.Key || !a.Source.Read {
				span = math.Max(span, math.Abs(a.Value-b.Value))
			}
		}
	}
	return span
}

// A Share counts the rows of one table by the kind of their source.
type Share struct {
	Table        string // file name
	Read, Memory int
}

// Rows returns the number of rows.
func (s Share) Rows() int { return s.Read + s.Memory }

// Shares returns how much of each table was read in a source and how much is
// from memory.
func Shares() ([]Share, error) {
	t, err := load()
	if err != nil {
		return nil, err
	}
	var out []Share
	for _, file := range tableFiles() {
		s := Share{Table: file}
		for _, src := range t.table[file] {
			if src.Read {
				s.Read++
			} else {
				s.Memory++
			}
		}
		out = append(out, s)
	}
	return out, nil
}

// tableFiles lists the tables whose rows carry a source.
func tableFiles() []string {
	var out []string
	for _, l := range layouts {
		out = append(out, l.file)
	}
	return append(out, "indicators.txt", "colours.txt", "ions.txt", "activity.txt")
}
