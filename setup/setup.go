// Package setup reads the setup file: one titration as the chemist describes
// it. It checks it, resolves what it leaves out against the tables of
// constants, and makes a titration that can be predicted and fitted. It does
// no evaluation of readings: see fit and assay.
package setup

import (
	"meniscus/chem"
	"meniscus/equilibrium"
	"meniscus/titration"
	"meniscus/unit"
	"meniscus/yamlfile"
)

// A Setup is a titration as described, with everything in base units.
type Setup struct {
	Title       string
	Temperature unit.Temperature
	Find        []Target
	Ratio       *Ratio // titrand to titrant, when no chemistry is given
	Flask       Vessel
	Burette     Burette
	Blank       Value // L
	Noise       Noise
	Sample      *Sample
	Indirect    *Indirect // nil for what is found directly
	Electrode   Electrode
	Reactions   []Reaction
	Volumes     []unit.Decimal // L, as asked for; nil if left to the program
	Runs        []Run
	Notes       []string              // what was assumed or left out
	Warnings    []string              // what is doubtful about the setup
	Extra       []titration.Parameter // what is fitted besides what is sought

	// Titration is nil for a setup with a ratio and no chemistry.
	Titration *titration.Titration

	source []byte // as read, for With
	name   string
}

// A Value is a number with its standard uncertainty, in a base unit.
type Value struct {
	X      unit.Decimal
	U      float64
	Stated bool // the uncertainty was written
	Text   string
}

// Float returns the value.
func (v Value) Float() float64 { return v.X.Float() }

// A Target is a species to be determined.
type Target struct {
	Species   string // canonical name, the ion that is followed for a salt; "" for a setup without chemistry
	InBurette bool
	Text      string // as written
	Unfound   string // why readings cannot give it; "" where they can
}

// A Ratio says how many titrand react with how many titrant.
type Ratio struct{ Titrand, Titrant float64 }

// A Vessel is what is in the flask before the first drop.
type Vessel struct {
	Volume   Value // L; the sum of the portions
	Contents []Content
	Medium   string
}

// A Content is an entry under contains.
type Content struct {
	Species string // canonical name as written: FeSO4·7H2O stays one entry
	Conc    Value  // mol/L in its own portion
	Volume  Value  // L, of the portion it is in; 0 in a burette
	Ions    []chem.Term
	Trace   bool // put in by the program, for an impurity that is fitted
}

// A Burette holds the titrant.
type Burette struct {
	Capacity  Value // L; 0 if not given
	Class     string
	Contents  []Content
	Start     Value // L
	ReadsDown bool
	Density   Value // g/mL
	RefillAt  Value // L
}

// Noise is the standard uncertainty of one reading; 0 where not known.
type Noise struct {
	Potential float64 // V
	Volume    float64 // L
	PH        float64
}

// A Sample says where the flask's content came from.
type Sample struct {
	Mass     Value    // g; 0 if not given
	Volume   Value    // L; 0 if not given
	MadeUpTo Value    // L
	Aliquot  Value    // L
	ReportAs string   // as written; the first of several
	Reports  []Report // what ReportAs asks for
	Drying   Value    // loss on drying, a fraction
	Claim    Claim    // on the label
	Tablets  Value    // how many the sample was made from; 0 if not given
	Tablet   Value    // g, the mean mass of one; 0 if not given
}

// A Claim is what a label states: a mass in each tablet, a mass concentration
// or a mass fraction.
type Claim struct {
	Value
	Dimension unit.Dimension // "" without a claim
}

// An Indirect titration finds an analyte by what it set free or used up:
// Analyte of it for Titrated of what is found.
type Indirect struct {
	Species           string // the analyte
	Analyte, Titrated float64
	Text              string
}

// An Electrode is the cell as described.
type Electrode struct {
	Indicator     string
	Ion           string // species, for silver and ion-selective electrodes
	Reference     string
	ReferenceV    float64 // V against SHE
	ReferenceU    float64 // V
	JunctionU     float64 // V, standard uncertainty for the junction
	JunctionNote  string
	Offset        Value
	OffsetGiven   bool
	Slope         float64 // fraction of the theoretical
	StandardV     float64
	StandardGiven bool
	Calibrated    bool
}

// A Reaction is a reaction with the constant used for it.
type Reaction struct {
	Equation  string
	Kind      string // "formal potential", "standard potential", "pKa", "log beta", "log K", "pKsp"
	Value     float64
	Unit      string
	Medium    string
	Source    string
	FromTable bool
	parsed    chem.Reaction
	lnK       float64
	ionic     float64 // mol/L the constant holds at; 0 for infinite dilution or none
	line      string  // where in the file, for messages
}

// A Run names a file with readings of this titration.
type Run struct {
	File, Sheet string
	Aliquot     Value
	Blank       bool
}

// An Error points at what is wrong in a setup file.
type Error = yamlfile.Error

// System returns the equilibrium system of the titration.
func (s *Setup) System() *equilibrium.System { return s.Titration.Problem.System() }
