package chem_test

import (
	"fmt"

	"meniscus/chem"
)

func ExampleParseSpecies() {
	for _, text := range []string{"SO₄²⁻", "[Ag(NH3)2]^+", "NH4+", "CuSO4 * 5 H2O", "Fe2+"} {
		s, err := chem.ParseSpecies(text)
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Println(s.Name, s.Charge, s.Elements)
	}
	// Output:
	// SO4^2- -2 [{O 4} {S 1}]
	// Ag(NH3)2^+ 1 [{Ag 1} {H 6} {N 2}]
	// NH4^+ 1 [{H 4} {N 1}]
	// CuSO4·5H2O 0 [{Cu 1} {H 10} {O 9} {S 1}]
	// "Fe2+", character 4: count and charge cannot be told apart; write Fe^2+ (or Fe2^+)
}

func ExampleSpecies_Unicode() {
	s, err := chem.ParseSpecies("(NH4)2Fe(SO4)2.6H2O")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(s.Unicode())
	// Output: (NH₄)₂Fe(SO₄)₂·6H₂O
}

func ExampleSpecies_MolarMass() {
	s, err := chem.ParseSpecies("K2Cr2O7")
	if err != nil {
		fmt.Println(err)
		return
	}
	m, err := s.MolarMass()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f ± %.3f g/mol\n", m.Value, m.StdUnc)
	// Output: 294.182 ± 0.004 g/mol
}

func ExampleReaction_Check() {
	r, err := chem.ParseReaction("MnO4^- + 8 H^+ + 4 e^- = Mn^2+ + 4 H2O")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(r.Check())
	// Output: MnO4^- + 8 H^+ + 4 e^- = Mn^2+ + 4 H2O is not balanced: charge +3 left, +2 right
}

func ExampleReaction_BalanceInAcid() {
	r, err := chem.ParseReaction("Cr2O7^2- = Cr^3+")
	if err != nil {
		fmt.Println(err)
		return
	}
	half, err := r.BalanceInAcid()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(half)
	fmt.Println(half.Unicode())
	// Output:
	// Cr2O7^2- + 14 H^+ + 6 e^- = 2 Cr^3+ + 7 H2O
	// Cr₂O₇²⁻ + 14 H⁺ + 6 e⁻ ⇌ 2 Cr³⁺ + 7 H₂O
}

func ExampleDissociate() {
	s, err := chem.ParseSpecies("(NH4)2Fe(SO4)2·6H2O")
	if err != nil {
		fmt.Println(err)
		return
	}
	terms, err := chem.Dissociate(s)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, t := range terms {
		fmt.Println(t.Coefficient, t.Species)
	}
	// Output:
	// 2 NH4^+
	// 1 Fe^2+
	// 2 SO4^2-
}
