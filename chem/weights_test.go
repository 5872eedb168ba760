package chem

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"strings"
	"testing"
)

// A massRecord is a row of testdata/molar_masses.json.
type massRecord struct {
	ID, Source, Origin, Formula string
	Atoms                       map[string]int64
	Mass                        float64
	U                           float64
	Catalogue                   float64 `json:"catalogue_from_memory"`
	CatalogueTolerance          float64 `json:"catalogue_tolerance"`
}

func massRecords(t *testing.T) []massRecord {
	t.Helper()
	data, err := os.ReadFile("testdata/molar_masses.json")
	if err != nil {
		t.Fatal(err)
	}
	var list []massRecord
	if err := json.Unmarshal(data, &list); err != nil {
		t.Fatal(err)
	}
	return list
}

// quamWeights are those of Eurachem/CITAC CG 4 (QUAM:2012), example A2, with
// the half-widths stated there.
var quamWeights = Weights{
	"C": {Symbol: "C", Value: 12.0107, HalfWidth: 0.0008},
	"H": {Symbol: "H", Value: 1.00794, HalfWidth: 0.00007},
	"O": {Symbol: "O", Value: 15.9994, HalfWidth: 0.0003},
	"K": {Symbol: "K", Value: 39.0983, HalfWidth: 0.0001},
}

// TestMolarMass compares with 47 molar masses; each row names its source. Rows
// computed from the table's own weights check the sums; catalogue values (from
// memory) check the weights. Their u takes the stated half-widths as standard
// uncertainties, so ours is that over sqrt(3); QUAM's own is rectangular.
func TestMolarMass(t *testing.T) {
	records := massRecords(t)
	if len(records) != 47 {
		t.Fatalf("%d records", len(records))
	}
	for _, r := range records {
		s, err := ParseSpecies(r.Formula)
		if err != nil {
			t.Fatal(err)
		}
		for symbol, n := range r.Atoms {
			if s.Count(symbol) != Whole(n) {
				t.Errorf("%s: %s %s, want %d", r.ID, s.Count(symbol), symbol, n)
			}
		}
		weights, divisor := standardWeights, math.Sqrt(3)
		if r.ID == "M-quam-KHP" {
			weights, divisor = quamWeights, 1
		}
		m, err := weights.MolarMass(s)
		if err != nil {
			t.Fatal(err)
		}
		// All are printed to four decimals: half a unit of the last.
		if d := math.Abs(float64(m.Value) - r.Mass); d > 0.00005+1e-9 {
			t.Errorf("%s: M %.5f g/mol, want %.5f", r.ID, m.Value, r.Mass)
		}
		if d := math.Abs(float64(m.StdUnc)*divisor - r.U); d > 0.00005+1e-9 {
			t.Errorf("%s: u %.6f g/mol, want %.4f/%.3f", r.ID, m.StdUnc, r.U, divisor)
		}
		if r.Catalogue != 0 && math.Abs(float64(m.Value)-r.Catalogue) > r.CatalogueTolerance {
			t.Errorf("%s: M %.4f g/mol, catalogues have %.2f", r.ID, m.Value, r.Catalogue)
		}
	}
}

func TestMolarMassSteps(t *testing.T) {
	s, err := ParseSpecies("Na2H2Y·2H2O")
	if err != nil {
		t.Fatal(err)
	}
	m, err := s.MolarMass()
	if err != nil {
		t.Fatal(err)
	}
	// The catalogue's 372.24 g/mol of the EDTA salt, not the 172.9 of yttrium.
	if math.Abs(float64(m.Value)-372.24) > 0.005 {
		t.Errorf("M %.3f g/mol", m.Value)
	}
	sum, variance := 0.0, 0.0
	for _, term := range m.Terms {
		sum += float64(term.Mass)
		variance += math.Pow(float64(term.StdUnc), 2)
	}
	if math.Abs(sum-float64(m.Value)) > 1e-12*sum || math.Abs(math.Sqrt(variance)-float64(m.StdUnc)) > 1e-15 {
		t.Errorf("the steps give %.12g ± %.3g, the result is %.12g ± %.3g", sum, math.Sqrt(variance), m.Value, m.StdUnc)
	}
}

func TestMolarMassErrors(t *testing.T) {
	for text, symbol := range map[string]string{"EDTA^4-": "", "e^-": "", "TcO4^-": "Tc"} {
		s, err := ParseSpecies(text)
		if err != nil {
			t.Fatal(err)
		}
		_, err = s.MolarMass()
		var e *WeightError
		if !errors.As(err, &e) || e.Symbol != symbol || !strings.Contains(err.Error(), text) {
			t.Errorf("%s: error %v", text, err)
		}
	}
	for _, text := range []string{"H 1 hydrogen 1.008", "H x hydrogen 1 1", "H 1 hydrogen one 1"} {
		if _, err := parseWeights(text); err == nil {
			t.Errorf("%q is read", text)
		}
	}
}

// TestWeights checks the embedded table row by row for what is true of any
// such table.
func TestWeights(t *testing.T) {
	if errWeights != nil {
		t.Fatal(errWeights)
	}
	byZ := map[int]Weight{}
	for symbol, w := range StandardWeights() {
		if symbol != w.Symbol || byZ[w.Z].Z != 0 {
			t.Errorf("%s: %+v", symbol, w)
		}
		byZ[w.Z] = w
		if w.High != 0 && (w.Value-w.HalfWidth > w.Low || w.Value+w.HalfWidth < w.High) {
			t.Errorf("%s: %g ± %g does not cover the interval [%g, %g]", symbol, w.Value, w.HalfWidth, w.Low, w.High)
		}
		if (w.Value == 0) != (w.HalfWidth == 0) {
			t.Errorf("%s: %g ± %g", symbol, w.Value, w.HalfWidth)
		}
	}
	if len(byZ) != 95 { // hydrogen to curium but actinium
		t.Errorf("%d elements", len(byZ))
	}
	// Weights rise with Z but for the pairs every textbook names.
	for z := 1; z < 92; z++ {
		a, b := byZ[z], byZ[z+1]
		inverted := a.Symbol == "Ar" || a.Symbol == "Co" || a.Symbol == "Te" || a.Symbol == "Th"
		if a.Value != 0 && b.Value != 0 && (a.Value > b.Value) != inverted {
			t.Errorf("%s %g, %s %g", a.Symbol, a.Value, b.Symbol, b.Value)
		}
	}
	changed := StandardWeights()
	changed["H"] = Weight{}
	if standardWeights["H"].Value == 0 {
		t.Error("a change of the copy reaches the table")
	}
}
