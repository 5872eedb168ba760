package setup

import (
	"sync"

	"meniscus/chem"
	"meniscus/constants"
)

// A tabled row is a row of the tables with what is asked of it for every
// setup, worked out once for all of them.
type tabled struct {
	*constants.Row
	left, right []int // places in the table of species that are not always at hand
}

// A table is all rows, which no setup changes.
type table struct {
	rows   []*tabled
	usable []*tabled            // those that a model may be made of
	of     map[string][]*tabled // by species
	place  map[string]int       // of each species, from 0
}

var readTables = sync.OnceValues(func() (*table, error) {
	rows, err := constants.All()
	if err != nil {
		return nil, err
	}
	t := &table{of: map[string][]*tabled{}, place: map[string]int{}}
	for i := range rows {
		row := &tabled{Row: &rows[i]}
		gas := false
		for _, term := range row.Reaction.Terms {
			n := term.Species.Name
			t.of[n] = append(t.of[n], row)
			place, ok := t.place[n]
			if !ok {
				place = len(t.place)
				t.place[n] = place
			}
			gas = gas || term.Species.Phase == chem.Gas
			switch {
			case ambient(n):
			case term.Coefficient.Sign() > 0:
				row.right = append(row.right, place)
			default:
				row.left = append(row.left, place)
			}
		}
		t.rows = append(t.rows, row)
		// Gases are not followed.
		if row.Also == "" && row.Kind != constants.PKw && row.Kind != constants.ConditionalLogK && !gas {
			t.usable = append(t.usable, row)
		}
	}
	return t, nil
})
