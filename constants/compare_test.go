package constants

import (
	"math"
	"strings"
	"testing"
)

// TestConflicts: contradictions that the literature is known for.
func TestConflicts(t *testing.T) {
	list, err := Conflicts()
	if err != nil {
		t.Fatal(err)
	}
	span := map[string]float64{}
	for _, c := range list {
		if len(c.Rows) < 2 || c.Rows[0].Also != "" {
			t.Errorf("conflict of %d rows, first %s", len(c.Rows), c.Rows[0].Where())
		}
		span[c.Rows[0].Text+" "+c.Rows[0].Medium] = c.Span
	}
	for what, want := range map[string]float64{
		"Fe^3+ + e^- = Fe^2+ 1 mol/L HClO4":              0.035, // 0.767 and 0.732
		"Ce^4+ + e^- = Ce^3+ ":                           0.11,  // 1.72 and 1.61
		"Cr2O7^2- + 14 H^+ + 6 e^- = 2 Cr^3+ + 7 H2O ":   0.03,  // 1.36 and 1.33
		"H3AsO4 + 2 H^+ + 2 e^- = H3AsO3 + H2O ":         0.016, // 0.575 and 0.559
		"UO2^2+ + 4 H^+ + 2 e^- = U^4+ + 2 H2O ":         0.061, // 0.334 and 0.273, both from memory
		"CH3COOH = CH3COO^- + H^+ ":                      0.011, // 4.756 and 4.745
		"Ce^4+ + e^- = Ce^3+ 1 mol/L H2SO4":              0,     // two sources that agree
		"CaCO3(s) = Ca^2+ + CO3^2- ":                     0,     // two crystal forms
		"C6H4O2 + 2 H^+ + 2 e^- = C6H4(OH)2 1 mol/L HCl": 0,
	} {
		if got := span[what]; math.Abs(got-want) > 1e-9 {
			t.Errorf("%s: span %g, want %g", what, got, want)
		}
	}
}

// TestShares counts the lines of the files.
func TestShares(t *testing.T) {
	list, err := Shares()
	if err != nil {
		t.Fatal(err)
	}
	if len(list) != 9 {
		t.Errorf("%d tables, want 9", len(list))
	}
	for _, s := range list {
		text, err := files.ReadFile(s.Table)
		if err != nil {
			t.Fatal(err)
		}
		n, memory := -1, 0 // the header is no row
		for line := range strings.Lines(string(text)) {
			if line = strings.TrimSpace(line); line != "" && line[0] != '#' {
				n++
				if strings.Contains(line, "| memory") {
					memory++
				}
			}
		}
		if s.Rows() != n || s.Memory != memory {
			t.Errorf("%s: %d rows, %d from memory; the file has %d and %d", s.Table, s.Rows(), s.Memory, n, memory)
		}
	}
}

// TestCopies: what a caller does to a result stays with the caller.
func TestCopies(t *testing.T) {
	rows := all(t)
	rows[0].Value = 42
	if all(t)[0].Value == 42 {
		t.Error("All hands out the table itself")
	}
	src, err := Sources()
	if err != nil {
		t.Fatal(err)
	}
	delete(src, "memory")
	if src, err := Sources(); err != nil || src["memory"].Citation == "" {
		t.Errorf("Sources hands out the table itself, %v", err)
	}
}

func TestSelect(t *testing.T) {
	n := 0
	for _, f := range []func() ([]Row, error){Redox, Acids, Complexes, Solids} {
		rows, err := f()
		if err != nil || len(rows) == 0 {
			t.Errorf("%d rows, %v", len(rows), err)
		}
		n += len(rows)
	}
	water, err := Select(PKw)
	if err != nil {
		t.Fatal(err)
	}
	conditional, err := Select(ConditionalLogK)
	if err != nil || len(conditional) == 0 {
		t.Fatal(conditional, err)
	}
	if total := n + len(water) + len(conditional); total != len(all(t)) {
		t.Errorf("the kinds hold %d rows, all tables %d", total, len(all(t)))
	}
}
