// Package chain follows a result back to the primary standard: solutions on a
// shelf, what each was made or standardised from, and the determinations that
// use them. All of it becomes one measurement model, in which a burette, a
// flask or a titre that is used twice is one input, so that what results share
// stays correlated.
package chain

import (
	"meniscus/chem"
	"meniscus/unit"
	"meniscus/volumetric"
)

// A Shelf is everything that a chain is made of.
type Shelf struct {
	Title          string
	Date           Date // the day for which expiry is judged; the zero Date judges none
	Ware           []Ware
	Substances     []Substance
	Solutions      []Solution
	Determinations []Determination
	Notes          []string // what was taken for granted
}

// A Value is a number with its standard uncertainty, in a base unit of package
// unit, and what kind of statement that was.
type Value struct {
	X, U   float64
	Stated bool // an uncertainty was written
	Text   string
}

// A Ware is a burette, pipette, flask or balance. Whatever uses it shares its
// error.
type Ware struct {
	Name string
	Kind string // "burette", "pipette", "flask", "balance"

	Volume  unit.Volume // nominal; the capacity of a burette
	StdUnc  unit.Volume // of the volume, or of any reading of a burette, by class or certificate
	Reading unit.Volume // standard uncertainty of one delivery by hand: readings and drop, or the mark
	Note    string

	Certificate *volumetric.Certificate // of a burette; nil without

	Repeatability unit.Mass // balance: standard uncertainty of one difference of two weighings
	Linearity     unit.Mass // balance: the same, from its linearity or certificate
}

// A Substance is what is weighed: a primary standard or a salt.
type Substance struct {
	Name    string
	Species chem.Species
	Molar   chem.MolarMass
	Purity  Value   // mass fraction
	Density float64 // g/mL; 0 leaves the buoyancy of air out
}

// A Solution stands on the shelf. Exactly one of Stated, Weighed, Diluted and
// Standardised says where its concentration comes from.
type Solution struct {
	Name    string
	Species string // canonical; "" where not said
	Lot     string
	Made    Date
	Expires Date

	Stated       *Value // mol/L
	Weighed      *Weighed
	Diluted      *Diluted
	Standardised *Titration
}

// Weighed is a mass made up to a volume.
type Weighed struct {
	Substance string
	Mass      Value  // g
	Balance   string // ware; "" where the uncertainty of the mass is stated
	Flask     string // ware
	Gives     float64
}

// Diluted is a volume of another solution made up to a volume.
type Diluted struct{ From, Pipette, Flask string }

// A Titration finds one concentration or content from volumes at the
// equivalence point.
type Titration struct {
	Date  Date
	Flask Flask

	Titrant string // solution in the burette
	Burette string // ware
	Titrand float64
	PerTitrant,
	PerExcess float64 // ratio: Titrand of the titrand to PerTitrant of the titrant; excess: PerExcess of it to one of the analyte

	Blank  Value     // L; the mean of Blanks where there are several
	Blanks []float64 // L
	Runs   []Run
}

// Flask says what was titrated: an aliquot of a solution, a substance weighed
// for each run, or a sample. With Excess it is a back titration.
type Flask struct {
	Solution  string // on the shelf
	Pipette   string // ware of the aliquot
	Substance string // weighed for each run
	Gives     float64
	Balance   string // ware
	Sample    bool
	MadeUpTo  string // ware: the flask of the sample's solution
	Aliquot   string // ware
	Excess    *Excess
}

// Excess is the known excess of a reagent, whose remainder is titrated.
type Excess struct{ Solution, Pipette string }

// A Run is one titration to the end.
type Run struct {
	Mass     Value // g, of the substance or sample; 0 without
	Volume   Value // L, at the equivalence point; zero until Readings are evaluated
	Readings string
	Setup    string
	Left     string // why the run is left out; "" if it counts
	place    []any  // in the file
}

// A Determination is a titration of a sample.
type Determination struct {
	Name string
	Titration
	Report Report
}

// Report says how the content is expressed.
type Report struct {
	Text    string  // as written
	Unit    string  // "%", "g/kg", "mg/g", "mol/L", "mmol/L", "g/L", "mg/L"
	Name    string  // species reported; "" for a bare amount concentration
	Molar   float64 // g/mol of it
	MolarU  float64
	PerUnit float64 // of the titrand in one of it
}

// A Date is a day, "2026-11-24"; "" is none. Dates compare as text.
type Date string
