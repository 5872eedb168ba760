package chem

import "slices"

// A Phase says where a species is. Unmarked means in solution, or the solvent
// itself.
type Phase string

// Phases, as written in parentheses behind a formula.
const (
	Unmarked Phase = ""
	Solid    Phase = "s"
	Liquid   Phase = "l"
	Gas      Phase = "g"
	Aqueous  Phase = "aq"
)

// phases lists what may stand in parentheses.
var phases = []Phase{Solid, Liquid, Gas, Aqueous}

// An ElementCount says how many atoms of an element one formula unit holds.
type ElementCount struct {
	Symbol string
	Count  Ratio // positive; a fraction only in hydrates such as CaSO4·0.5H2O
}

// A Species is one chemical entity. Name identifies it: it is the same however
// the species was written.
type Species struct {
	Name     string         // canonical: "Fe^2+", "AgCl(s)", "CuSO4·5H2O"
	Charge   int            // in elementary charges
	Phase    Phase          // Unmarked for ions and for H2O, whatever was written
	Elements []ElementCount // by symbol; nil for labels and for the electron
	IsLabel  bool           // the name is not made of element symbols, such as "EDTA^4-"
}

// Electron is the name of the electron, Proton that of the hydrogen ion,
// Hydroxide and Water those of the other species that water brings along.
const (
	Electron  = "e^-"
	Proton    = "H^+"
	Hydroxide = "OH^-"
	Water     = "H2O"
)

// ParseSpecies reads a species: "Fe^2+", "Fe²⁺", "Fe^{2+}", "SO₄²⁻",
// "[Ag(NH3)2]^+", "(NH4)2Fe(SO4)2·6H2O" (also with . or *), "AgCl(s)", "e^-".
//
// The canonical Name has plain digits, ^ before the charge and · before water
// of crystallisation. Brackets that change nothing are left out, so
// K4[Fe(CN)6] becomes K4Fe(CN)6 and Fe(OH)^2+ becomes FeOH^2+. The phase (aq)
// of an ion and the (l) of water go without saying and are left out too; on a
// neutral species (aq) stays, as CO2(aq) and CO2(g) are two things.
//
// A sign without ^ is read after a letter or bracket (Ag+, OH-). After a digit
// it is read only where that makes an ion of the table in ions.txt (NH4+,
// MnO4-): Fe2+ and SO42- are errors, as they could be Fe2^+ and SO42^-.
//
// Words that are no element symbols make a label: the species then has no
// Elements. Two abbreviations look like elements. Y stands for the EDTA anion,
// C10H12N2O8, where it is negative and alone (Y^4-) or single and not in front
// (Na2H2Y, CaY^2-); Y2O3 and Y^3+ are yttrium. Ac is a label, usually acetate,
// not actinium.
//
// Errors are of type *SyntaxError.
func ParseSpecies(text string) (Species, error) { return parseSpecies(text, knownIon) }

// Count returns the number of atoms of an element in one formula unit.
func (s Species) Count(symbol string) Ratio {
	i, found := slices.BinarySearchFunc(s.Elements, symbol, func(e ElementCount, sym string) int {
		switch {
		case e.Symbol < sym:
			return -1
		case e.Symbol > sym:
			return 1
		}
		return 0
	})
	if !found {
		return Ratio{}
	}
	return s.Elements[i].Count
}

// String returns the Name.
func (s Species) String() string { return s.Name }
