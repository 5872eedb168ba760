package constants

import (
	"errors"
	"math"
	"testing"

	"meniscus/chem"
	"meniscus/unit"
)

func TestLnK(t *testing.T) {
	row := func(text string, kind Kind, value float64) Row {
		r, err := chem.ParseReaction(text)
		if err != nil {
			t.Fatal(err)
		}
		return Row{Reaction: r, Kind: kind, Value: value, Temperature: unit.Celsius(25)}
	}
	iron := row("Fe^3+ + e^- = Fe^2+", StandardPotential, 0.771)
	twice := row("2 Fe^3+ + 2 e^- = 2 Fe^2+", StandardPotential, 0.771)
	// 0.771 V over 59.1593 mV (R T ln10 / F of the SI constants at 25 °C) is 13.0326.
	for name, c := range map[string]struct {
		row  Row
		want float64 // log10 K
	}{
		"potential":  {iron, 13.0326},
		"twice":      {twice, 26.0652},
		"pKa":        {row("HCN = CN^- + H^+", PKa, 9.21), -9.21},
		"pKsp":       {row("AgCl(s) = Ag^+ + Cl^-", PKsp, 9.74), -9.74},
		"pKw":        {row("H2O = H^+ + OH^-", PKw, 14), -14},
		"log beta":   {row("Ag^+ + 2 NH3 = Ag(NH3)2^+", LogBeta, 7.23), 7.23},
		"log K":      {row("Ca^2+ + Y^4- = CaY^2-", LogK, 10.65), 10.65},
		"formal, pH": {Row{Reaction: iron.Reaction, Kind: FormalPotential, Value: 0.771, Temperature: unit.Celsius(25), AtPH: Optional{1, true}}, 13.0326},
	} {
		got, changes := c.row.LnK(unit.Celsius(25))
		if math.Abs(got/math.Ln10-c.want) > 1e-4 || changes {
			t.Errorf("%s: log K %.4f, want %.4f; changes %v", name, got/math.Ln10, c.want, changes)
		}
	}
}

// TestVantHoff follows water by its enthalpy at 25 °C and compares with pKw at
// 35 and 15 °C of Harned and Owen (testdata/water.txt, from memory). The heat
// capacity that is left out makes 0.011 at 15 °C.
func TestVantHoff(t *testing.T) {
	water := preferred(t, PKw, "H2O = H^+ + OH^-")
	for celsius, want := range map[float64]float64{35: 13.6801, 15: 14.3463} {
		lnK, changes := water.LnK(unit.Celsius(celsius))
		if got := -lnK / math.Ln10; !changes || math.Abs(got-want) > 0.012 {
			t.Errorf("pKw at %g °C: %.4f, want %.4f; changes %v", celsius, got, want, changes)
		}
	}
}

// TestPotentialAgainstTemperature: 0.771 V and +1.175 mV/K make 0.78275 V at
// 35 °C; R T ln10 / F is 61.144 mV there, so log K is 12.802.
func TestPotentialAgainstTemperature(t *testing.T) {
	iron := preferred(t, StandardPotential, "Fe^3+ + e^- = Fe^2+")
	lnK, changes := iron.LnK(unit.Celsius(35))
	if got := lnK / math.Ln10; !changes || math.Abs(got-12.802) > 5e-4 {
		t.Errorf("log K %.4f, want 12.802", got)
	}
}

// TestPotentialAtPH: 0.93 V in 0.1 mol/L acid, 14 H+ for 6 electrons, is
// 0.93 + 0.05916 x 14/6 = 1.06804 V at pH 0.
func TestPotentialAtPH(t *testing.T) {
	rows, err := Couple("Cr2O7^2-", "Cr^3+", "0.1 mol/L HCl")
	if err != nil || len(rows) != 1 {
		t.Fatalf("%v, %v", rows, err)
	}
	if got := rows[0].Potential(); math.Abs(got-1.06804) > 1e-5 {
		t.Errorf("%.5f V, want 1.06804 V", got)
	}
	if got := preferred(t, PKa, "HCN = CN^- + H^+").Potential(); got != 0 {
		t.Errorf("an acid has the potential %g V", got)
	}
}

// TestWater compares with testdata/water.txt, which names its sources.
func TestWater(t *testing.T) {
	n := 0
	for _, line := range published(t, "water.txt") {
		at, want := unit.Celsius(float(t, line[1])), float(t, line[2])
		a, b, err := DebyeHuckel(at)
		pk, errW := WaterPK(at)
		if err != nil || errW != nil {
			t.Fatal(err, errW)
		}
		got, tolerance := map[string]float64{"A": a, "B": b, "pKw": pk, "IAPWS pKw": pk}[line[0]], 1e-9
		if line[0] == "IAPWS pKw" {
			tolerance = 0.0026 // the two published sets differ by as much
		}
		if math.Abs(got-want) > tolerance {
			t.Errorf("%s at %s °C: %g, want %g", line[0], line[1], got, want)
		}
		n++
	}
	if n < 35 {
		t.Errorf("%d values compared", n)
	}
}

// TestBetween: halfway between the rows, from numbers of the published table.
func TestBetween(t *testing.T) {
	a, b, err := DebyeHuckel(unit.Celsius(45))
	if err != nil || math.Abs(a-(0.5221+0.5319)/2) > 1e-9 || math.Abs(b-(0.3305+0.3321)/2) > 1e-9 {
		t.Errorf("A %g, B %g, %v", a, b, err)
	}
	// 13.62 at 37 °C is the value of physiology (from memory).
	if pk, err := WaterPK(unit.Celsius(37)); err != nil || math.Abs(pk-13.62) > 0.005 {
		t.Errorf("pKw at 37 °C is %g, %v", pk, err)
	}
}

func TestOutOfRange(t *testing.T) {
	for _, celsius := range []float64{-1, 61, math.NaN()} {
		_, err := WaterPK(unit.Celsius(celsius))
		if e := (*RangeError)(nil); !errors.As(err, &e) || e.To != 60 {
			t.Errorf("pKw at %g °C: error %v", celsius, err)
		}
		if _, _, err := DebyeHuckel(unit.Celsius(celsius)); err == nil {
			t.Errorf("A and B at %g °C: no error", celsius)
		}
	}
}
