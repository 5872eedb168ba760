package setup

import (
	"github.com/goccy/go-yaml"
)

// file is the setup file as it stands in YAML. Its keys are a contract: add
// keys, never rename. Quantities stay text here, so that a message can point
// at the place.
type file struct {
	Title       string        `yaml:"title"`
	Temperature any           `yaml:"temperature"`
	Find        any           `yaml:"find"`
	Ratio       any           `yaml:"ratio"`
	Flask       flaskFile     `yaml:"flask"`
	Burette     buretteFile   `yaml:"burette"`
	Blank       any           `yaml:"blank"`
	Readings    readingsFile  `yaml:"readings"`
	Sample      *sampleFile   `yaml:"sample"`
	Indirect    *indirectFile `yaml:"indirect"`
	Electrode   electrodeFile `yaml:"electrode"`
	Activity    any           `yaml:"activity"`
	Hold        yaml.MapSlice `yaml:"hold"`
	Chemistry   []constantRow `yaml:"chemistry"`
	Library     any           `yaml:"library"`
	LeaveOut    []string      `yaml:"leave out"`
	Allow       []string      `yaml:"allow"`
	Volumes     any           `yaml:"volumes"`
	Runs        []runFile     `yaml:"runs"`
	Fit         []string      `yaml:"fit"`
}

type flaskFile struct {
	Volume   any           `yaml:"volume"`
	Contains yaml.MapSlice `yaml:"contains"`
	Medium   string        `yaml:"medium"`
	Portions []portionFile `yaml:"portions"`
}

type portionFile struct {
	Volume   any           `yaml:"volume"`
	Contains yaml.MapSlice `yaml:"contains"`
	Water    any           `yaml:"water"`
}

type buretteFile struct {
	Capacity any           `yaml:"capacity"`
	Class    string        `yaml:"class"`
	Contains yaml.MapSlice `yaml:"contains"`
	Start    any           `yaml:"start"`
	Reads    string        `yaml:"reads"`
	RefillAt any           `yaml:"refill at"`
	By       string        `yaml:"by"`
	Density  any           `yaml:"density"`
}

type readingsFile struct {
	Potential any `yaml:"potential"`
	Volume    any `yaml:"volume"`
	PH        any `yaml:"pH"`
}

type sampleFile struct {
	Mass     any `yaml:"mass"`
	Volume   any `yaml:"volume"`
	MadeUpTo any `yaml:"made up to"`
	Aliquot  any `yaml:"aliquot"`
	ReportAs any `yaml:"report as"`
	Drying   any `yaml:"loss on drying"`
	Claim    any `yaml:"label claim"`
	Tablets  any `yaml:"tablets"`
	Tablet   any `yaml:"tablet mass"`
}

type indirectFile struct {
	Analyte  string `yaml:"analyte"`
	Ratio    any    `yaml:"ratio"`
	Reaction string `yaml:"reaction"`
}

type electrodeFile struct {
	Indicator   string            `yaml:"indicator"`
	Reference   any               `yaml:"reference"`
	Standard    any               `yaml:"standard potential"`
	Offset      any               `yaml:"offset"`
	Slope       any               `yaml:"slope"`
	Calibration []calibrationFile `yaml:"calibration"`
}

type calibrationFile struct {
	PH    any `yaml:"pH"`
	Reads any `yaml:"reads"`
}

type constantRow struct {
	Reaction    string        `yaml:"reaction"`
	Formal      any           `yaml:"formal potential"`
	Standard    any           `yaml:"standard potential"`
	PKa         any           `yaml:"pKa"`
	LogBeta     any           `yaml:"log beta"`
	LogK        any           `yaml:"log K"`
	PKsp        any           `yaml:"pKsp"`
	Medium      string        `yaml:"medium"`
	Ionic       any           `yaml:"ionic strength"`
	Temperature any           `yaml:"temperature"`
	Enthalpy    any           `yaml:"enthalpy"`
	DEDT        any           `yaml:"dE/dT"`
	At          yaml.MapSlice `yaml:"at"`
	Unbalanced  any           `yaml:"unbalanced"`
	Source      string        `yaml:"source"`
}

type runFile struct {
	File    string `yaml:"file"`
	Sheet   string `yaml:"sheet"`
	Aliquot any    `yaml:"aliquot"`
	Blank   any    `yaml:"blank"`
}
