// Package equilibrium finds the composition of a solution in which any number
// of reactions are at equilibrium, and how it changes with volume, amounts
// and constants. It is one convex problem for redox, acid-base, complex and
// precipitation reactions alike. It is handed species, reactions and amounts;
// it never looks a constant up and knows nothing of electrodes or burettes.
//
// Units: mol, L, mol/L; equilibrium constants as natural logarithms on the
// 1 mol/L scale; water has activity 1 and does not appear.
package equilibrium

import "fmt"

// A Kind says how a species takes part in the balances.
type Kind int

// The kinds of species.
const (
	Dissolved Kind = iota
	Solid          // pure solid: activity 1 while present, an amount and no concentration
	Electron       // e-: an activity and a conserved total, but no concentration
)

// A Species is one entry of the balances. Water must not be listed.
type Species struct {
	Name    string
	Kind    Kind
	Charge  int
	IonSize float64 // Kielland's ion-size parameter in angstrom; 0 if unknown
}

// A Term is a species in a reaction with its coefficient Num/Den: positive
// for products, negative for reactants. Den 0 means 1.
type Term struct {
	Species int
	Num     int64
	Den     int64
}

// A Reaction states that the sum of coefficient times ln activity is LnK at
// equilibrium.
type Reaction struct {
	Name  string // as the chemist wrote it, for messages
	Terms []Term
	LnK   float64
}

// A System is a set of species and independent reactions between them. It is
// immutable and safe for concurrent use.
//
// Every species is written as a combination of components:
// ln a_j = lnBeta_j + sum over components i of A_ij ln a_i.
type System struct {
	Species   []Species
	Reactions []Reaction

	components []int // species index of each component
	stoich     [][]rat
	lnBeta     []float64
	combo      [][]float64 // lnBeta_j = sum over reactions r of combo[j][r] LnK_r
	electron   int         // index of e- among the species, -1 if absent
}

// NewSystem reduces the reactions to components. Errors: *ContradictionError
// where reactions repeat one another, and plain errors for indices out of
// range or stoichiometry too large for exact arithmetic.
func NewSystem(species []Species, reactions []Reaction) (*System, error) {
	s := &System{Species: species, Reactions: reactions, electron: -1}
	for j := range species {
		if species[j].Kind == Electron {
			if s.electron >= 0 {
				return nil, fmt.Errorf("equilibrium: the electron is listed twice, as %s and %s", species[s.electron].Name, species[j].Name)
			}
			s.electron = j
		}
	}
	rows, err := s.reactionRows()
	if err != nil {
		return nil, err
	}
	pivots, err := s.reduce(rows)
	if err != nil {
		return nil, err
	}
	s.express(rows, pivots)
	return s, nil
}

// A reactionRow is a reaction during elimination: coefficients over species,
// and over the reactions it was combined from.
type reactionRow struct{ nu, from []rat }

func (s *System) reactionRows() ([]reactionRow, error) {
	rows := make([]reactionRow, len(s.Reactions))
	for r, rx := range s.Reactions {
		nu := zeros(len(s.Species))
		for _, t := range rx.Terms {
			if t.Species < 0 || t.Species >= len(s.Species) {
				return nil, fmt.Errorf("equilibrium: reaction %q has species number %d of %d", rx.Name, t.Species, len(s.Species))
			}
			den := t.Den
			if den == 0 {
				den = 1
			}
			nu[t.Species] = nu[t.Species].add(newRat(t.Num, den))
		}
		from := zeros(len(s.Reactions))
		from[r] = ratOne
		rows[r] = reactionRow{nu, from}
	}
	return rows, nil
}

func zeros(n int) []rat {
	z := make([]rat, n)
	for i := range z {
		z[i] = ratZero
	}
	return z
}

// reduce brings the rows to reduced echelon form and returns the pivot
// species of each row. Solids are eliminated first, since a component needs a
// variable activity; the electron and H+ last, since they are what balances
// are best kept in.
func (s *System) reduce(rows []reactionRow) ([]int, error) {
	pivots := make([]int, len(rows))
	for r := range rows {
		p := s.pivot(rows[r].nu)
		if p < 0 {
			return nil, s.dependent(rows[r])
		}
		pivots[r] = p
		scaleRow(&rows[r], rows[r].nu[p].inv())
		for q := range rows {
			if q == r || rows[q].nu[p].isZero() {
				continue
			}
			subtractRow(&rows[q], &rows[r], rows[q].nu[p])
		}
		for q := range rows {
			for _, c := range rows[q].nu {
				if !c.ok() {
					return nil, fmt.Errorf("equilibrium: stoichiometry of reaction %q outgrows exact arithmetic", s.Reactions[q].Name)
				}
			}
		}
	}
	return pivots, nil
}

func (s *System) pivot(nu []rat) int {
	best, bestRank := -1, 0
	for j, c := range nu {
		if c.isZero() {
			continue
		}
		if r := s.pivotRank(j); r > bestRank {
			best, bestRank = j, r
		}
	}
	return best
}

func (s *System) pivotRank(j int) int {
	sp := &s.Species[j]
	switch {
	case sp.Kind == Solid:
		return 4
	case sp.Kind == Electron:
		return 1
	case sp.Name == "H^+":
		return 2
	}
	return 3
}

func scaleRow(r *reactionRow, f rat) {
	for k := range r.nu {
		r.nu[k] = r.nu[k].mul(f)
	}
	for k := range r.from {
		r.from[k] = r.from[k].mul(f)
	}
}

func subtractRow(r, p *reactionRow, f rat) {
	for k := range r.nu {
		r.nu[k] = r.nu[k].subMul(p.nu[k], f)
	}
	for k := range r.from {
		r.from[k] = r.from[k].subMul(p.from[k], f)
	}
}

// dependent describes a row that vanished: the reaction is a combination of
// the others.
func (s *System) dependent(row reactionRow) error {
	e := &ContradictionError{}
	for r, c := range row.from {
		if !c.isZero() {
			e.Reactions = append(e.Reactions, s.Reactions[r].Name)
			e.LnK += c.float() * s.Reactions[r].LnK
		}
	}
	return e
}

// express writes every species in components.
func (s *System) express(rows []reactionRow, pivots []int) {
	pivotRow := make([]int, len(s.Species))
	for j := range pivotRow {
		pivotRow[j] = -1
	}
	for r, p := range pivots {
		pivotRow[p] = r
	}
	for j := range s.Species {
		if pivotRow[j] < 0 {
			s.components = append(s.components, j)
		}
	}
	s.stoich = make([][]rat, len(s.components))
	for i := range s.stoich {
		s.stoich[i] = zeros(len(s.Species))
		s.stoich[i][s.components[i]] = ratOne
	}
	s.lnBeta = make([]float64, len(s.Species))
	s.combo = make([][]float64, len(s.Species))
	for j := range s.Species {
		s.combo[j] = make([]float64, len(s.Reactions))
		r := pivotRow[j]
		if r < 0 {
			continue
		}
		for i, k := range s.components {
			s.stoich[i][j] = rows[r].nu[k].neg()
		}
		for q, c := range rows[r].from {
			s.combo[j][q] = c.float()
			s.lnBeta[j] += c.float() * s.Reactions[q].LnK
		}
	}
}

// Components returns the names of the components that the balances are kept
// in, in a fixed order.
func (s *System) Components() []string {
	names := make([]string, len(s.components))
	for i, j := range s.components {
		names[i] = s.Species[j].Name
	}
	return names
}

// Index returns the index of the species called name, or -1.
func (s *System) Index(name string) int {
	for j := range s.Species {
		if s.Species[j].Name == name {
			return j
		}
	}
	return -1
}

// Electron returns the index of the electron among the species, or -1.
func (s *System) Electron() int { return s.electron }
