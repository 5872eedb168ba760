package constants

import (
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"meniscus/chem"
	"meniscus/unit"
)

// published reads a file of testdata: cells separated by |, a header first.
func published(t *testing.T, file string) [][]string {
	t.Helper()
	text, err := os.ReadFile("testdata/" + file)
	if err != nil {
		t.Fatal(err)
	}
	var out [][]string
	for line := range strings.Lines(string(text)) {
		line = strings.TrimSpace(line)
		if line == "" || line[0] == '#' {
			continue
		}
		cells := strings.Split(line, "|")
		for i := range cells {
			cells[i] = strings.TrimSpace(cells[i])
		}
		out = append(out, cells)
	}
	if len(out) < 2 {
		t.Fatalf("testdata/%s is empty", file)
	}
	return out[1:]
}

func float(t *testing.T, text string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func all(t *testing.T) []Row {
	t.Helper()
	rows, err := All()
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

// A claim is one line of published.txt.
type claim struct {
	line           []string
	key            string // of the reaction; "" for solids
	celsius, value float64
	read           bool
}

func claims(t *testing.T) []claim {
	t.Helper()
	var out []claim
	for _, line := range published(t, "published.txt") {
		c := claim{line: line, celsius: float(t, line[3]), value: float(t, line[4]), read: line[6] == "read"}
		if line[1] != "pKsp" {
			r, err := chem.ParseReaction(line[0])
			if err != nil {
				t.Fatal(err)
			}
			c.key = reactionKey(r)
		}
		out = append(out, c)
	}
	return out
}

// fits says whether a row, whose reaction has the key, is about what is claimed.
func (c claim) fits(r Row, key string) bool {
	switch c.line[1] {
	case "pKsp":
		return r.Kind == PKsp && r.has(c.line[0])
	case "stability":
		return (r.Kind == LogBeta || r.Kind == LogK) && key == c.key
	}
	return string(r.Kind) == c.line[1] && r.Medium == c.line[2] && r.Temperature == unit.Celsius(c.celsius) && key == c.key
}

func keys(rows []Row) []string {
	out := make([]string, len(rows))
	for i, r := range rows {
		out[i] = reactionKey(r.Reaction)
	}
	return out
}

// TestPublished finds every published value in the tables to its last printed
// digit, and those that were read under a source that was read. The values are
// those of testdata/published.txt, with source and origin.
func TestPublished(t *testing.T) {
	rows := all(t)
	key := keys(rows)
	for _, c := range claims(t) {
		found := false
		for i, r := range rows {
			if c.fits(r, key[i]) && r.Value == c.value && (r.Source.Read || !c.read) {
				found = found || c.line[5] == "" || math.Abs(r.DEDT.Value*1e3-float(t, c.line[5])) < 1e-12
			}
		}
		if !found {
			t.Errorf("no row with %s", strings.Join(c.line, " | "))
		}
	}
}

// citedAs is part of the source in published.txt by the key of our tables.
var citedAs = map[string]string{
	"skoog-appendix": "Skoog-type", "openstax-l": "OpenStax", "harris-h": "Appendix H", "harris-f": "Appendix F",
	"harris-15": "15-1", "harvey-2000": "Harvey, Modern", "vogel-5": "Vogel", "slides-hu": "Hungarian", "dalton-1990": "Dalton",
	"whitten": "Whitten", "exercise-edta": "six EDTA", "exercise-calcium": "free Ca2+", "handbook-biochem": "Handbook of Biochem",
}

// TestReadMeansRead wants a published value behind every row that claims to
// have been read.
func TestReadMeansRead(t *testing.T) {
	lines, rows := claims(t), all(t)
	key := keys(rows)
	n := 0
	for i, r := range rows {
		if !r.Source.Read {
			continue
		}
		n++
		if !slices.ContainsFunc(lines, func(c claim) bool {
			return c.read && c.fits(r, key[i]) && r.Value == c.value && strings.Contains(c.line[7], citedAs[r.Source.Key])
		}) {
			t.Errorf("%s: %s %s cites %s, which nobody read for it", r.Where(), r.Text, r.Digits, r.Source.Key)
		}
	}
	if n < 110 {
		t.Errorf("%d rows were read; want at least 110", n)
	}
}

// TestEnough counts the tables against what the plan asks for.
func TestEnough(t *testing.T) {
	rows := all(t)
	couples, acids, edta := map[string]bool{}, map[string]bool{}, map[string]bool{}
	n := map[Kind]int{}
	for _, r := range rows {
		n[r.Kind]++
		switch {
		case r.Kind.Redox():
			couples[reactionKey(r.Reaction)] = true
		case r.Kind == PKa:
			acids[acidFamily(t, r)] = true
		case r.Kind == LogK && r.has("Y^4-") && len(r.Reaction.Terms) == 3:
			edta[r.Text] = true
		}
	}
	for _, c := range []struct {
		what      string
		got, want int
	}{
		{"couples", len(couples), 120},
		{"potentials", n[StandardPotential] + n[FormalPotential], 120},
		{"acids", len(acids), 90},
		{"complex constants", n[LogBeta] + n[LogK], 120},
		{"EDTA metals", len(edta), 25},
		{"solubility products", n[PKsp], 40},
		{"pKw", n[PKw], 13},
	} {
		if c.got < c.want {
			t.Errorf("%d %s, want at least %d", c.got, c.what, c.want)
		}
	}
	for _, ligand := range strings.Fields("NH3 OH^- Cl^- Br^- I^- SO4^2- F^- CN^- SCN^- C6H5O7^3- C4H4O6^2-") {
		if !slices.ContainsFunc(rows, func(r Row) bool { return (r.Kind == LogBeta || r.Kind == LogK) && r.has(ligand) }) {
			t.Errorf("no complex of %s", ligand)
		}
	}
}

// acidFamily is the name of the acid a row is a step of, or the row's text.
func acidFamily(t *testing.T, r Row) string {
	t.Helper()
	names, err := Names()
	if err != nil {
		t.Fatal(err)
	}
	for _, term := range r.Reaction.Terms {
		if term.Coefficient.Sign() < 0 {
			continue
		}
		for _, n := range names {
			if n.Family != "" && n.Species.Name == term.Species.Name {
				return n.Family
			}
		}
	}
	return r.Text
}

// TestRows checks what must hold in every row, whatever the table.
func TestRows(t *testing.T) {
	for _, r := range all(t) {
		where := r.Where() + ": " + r.Text
		if !r.Label {
			if err := r.Reaction.Check(); err != nil {
				t.Errorf("%s: %v", where, err)
			}
		}
		if r.IonicStrength.Known == (r.Medium != "") {
			t.Errorf("%s: wants either an ionic strength or a medium", where)
		}
		if c := r.Temperature.Celsius(); c < -10 || c > 100 {
			t.Errorf("%s: at %g °C", where, c)
		}
		if r.Source.Key == "" || r.Source.Citation == "" {
			t.Errorf("%s: no source", where)
		}
		if r.Medium != CleanMedium(r.Medium) {
			t.Errorf("%s: medium %q, want %q", where, r.Medium, CleanMedium(r.Medium))
		}
		if r.Kind.Redox() && math.Abs(r.Value) > 3.1 || math.Abs(r.Value) > 55 {
			t.Errorf("%s: value %g is out of all range", where, r.Value)
		}
		if r.Digits != "" && float(t, r.Digits) != r.Value {
			t.Errorf("%s: %s reads as %g", where, r.Digits, r.Value)
		}
		if gas := strings.Contains(r.Text, "(g)"); gas && r.Inactive == "" {
			t.Errorf("%s: a gas takes part", where)
		}
	}
}

// TestMetalsStayOut keeps couples with a metal, and those the plan names as too
// slow, from taking part unasked.
func TestMetalsStayOut(t *testing.T) {
	slow := [][2]string{
		{"O2(g)", "H2O"},
		{"H2O2", "H2O"},
		{"H^+", "H2(g)"},
		{"SO4^2-", "H2SO3"},
		{"ClO4^-", "Cl^-"},
		{"ClO3^-", "Cl^-"},
		{"MnO4^-", "MnO2(s)"},
		{"MnO2(s)", "Mn^2+"},
		{"SO4^2-", "S2O3^2-"},
		{"S2O8^2-", "SO4^2-"},
		{"NO3^-", "HNO2"},
		{"Ag^+", "Ag(s)"},
		{"Zn^2+", "Zn(s)"},
		{"Hg2^2+", "Hg(l)"},
	}
	for _, c := range slow {
		rows, err := Couple(c[0], c[1], "")
		if err != nil || len(rows) == 0 {
			t.Errorf("%s/%s: %d rows, %v", c[0], c[1], len(rows), err)
		}
		for _, r := range rows {
			if r.Inactive == "" {
				t.Errorf("%s takes part", r.Text)
			}
		}
	}
	fast := [][2]string{
		{"Fe^3+", "Fe^2+"},
		{"Ce^4+", "Ce^3+"},
		{"MnO4^-", "Mn^2+"},
		{"Cr2O7^2-", "Cr^3+"},
		{"I3^-", "I^-"},
		{"S4O6^2-", "S2O3^2-"},
		{"H3AsO4", "H3AsO3"},
		{"CO2", "H2C2O4"},
		{"O2", "H2O2"},
		{"BrO3^-", "Br^-"},
		{"TiO^2+", "Ti^3+"},
		{"Sn^4+", "Sn^2+"},
		{"UO2^2+", "U^4+"},
		{"VO2^+", "VO^2+"},
		{"C6H6O6", "C6H8O6"},
		{"C6H4O2", "C6H4(OH)2"},
		{"Fe(CN)6^3-", "Fe(CN)6^4-"},
	}
	for _, c := range fast {
		rows, err := Couple(c[0], c[1], "")
		if err != nil || len(rows) == 0 || rows[0].Inactive != "" {
			t.Errorf("%s/%s does not take part: %v %v", c[0], c[1], rows, err)
		}
	}
}

// TestSpeciesOfSalts wants the particles that package chem makes of reagents to
// be those the acids are written with: a name apart would be another substance.
func TestSpeciesOfSalts(t *testing.T) {
	rows := all(t)
	for _, salt := range strings.Fields("CH3COONa KHC8H4O4 NaHCO3 Na2CO3 KH2PO4 Na2HPO4 (NH4)2SO4 Na2C2O4 H2C2O4 HCOOH " +
		"Na3C6H5O7 KHC4H4O6 NaF KCN H3BO3 Na2B4O7 As2O3 NaClO NaNO2 C6H8O6 H2O2 NH3 Na2SO3 C6H5COOH Na2H2Y " +
		"(HOCH2)3CNH2 NH2CH2COOH C5H5N N2H4 NH2OH HF HCN C6H5OH C2H8N2 K2CrO4 CO2 KIO3") {
		s, err := chem.ParseSpecies(salt)
		if err != nil {
			t.Fatal(err)
		}
		parts, err := chem.Dissociate(s)
		if err != nil {
			t.Errorf("%s: %v", salt, err)
			continue
		}
		if !slices.ContainsFunc(parts, func(p chem.Term) bool {
			return slices.ContainsFunc(rows, func(r Row) bool { return r.Kind == PKa && r.has(SpeciesKey(p.Species)) })
		}) {
			t.Errorf("%s gives %v, of which no acid is in the table", salt, parts)
		}
	}
}

func ExampleCouple() {
	rows, err := Couple("Fe^3+", "Fe^2+", "1 M HClO4")
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, r := range rows {
		fmt.Println(r.Digits, r.Kind.Unit(), r.Medium, r.Source.Key)
	}
	_, err = Couple("Sn^4+", "Sn^2+", "1 mol/L HNO3")
	fmt.Println(err)
	// Output:
	// 0.767 V 1 mol/L HClO4 harris-15
	// 0.732 V 1 mol/L HClO4 skoog-appendix
	// Sn^4+/Sn^2+: no formal potential in "1 mol/L HNO3"; the tables have 1 mol/L HCl, 2 mol/L HCl
}
