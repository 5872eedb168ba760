package chain

import "github.com/goccy/go-yaml"

// shelfFile is the file of a chain as it stands in YAML.
type shelfFile struct {
	Title          string                    `yaml:"title"`
	Date           any                       `yaml:"date"`
	Ware           map[string]wareFile       `yaml:"ware"`
	Substances     map[string]substanceFile  `yaml:"substances"`
	Solutions      map[string]solutionFile   `yaml:"solutions"`
	Determinations map[string]*titrationFile `yaml:"determinations"`
}

// orderFile has the names of the sections in the order they were written.
type orderFile struct {
	Ware           yaml.MapSlice `yaml:"ware"`
	Substances     yaml.MapSlice `yaml:"substances"`
	Solutions      yaml.MapSlice `yaml:"solutions"`
	Determinations yaml.MapSlice `yaml:"determinations"`
}

type wareFile struct {
	Kind          any `yaml:"kind"`
	Capacity      any `yaml:"capacity"`
	Volume        any `yaml:"volume"`
	Class         any `yaml:"class"`
	Division      any `yaml:"division"`
	Standard      any `yaml:"standard"`
	Certificate   any `yaml:"certificate"`
	Reading       any `yaml:"reading"`
	Repeatability any `yaml:"repeatability"`
	Linearity     any `yaml:"linearity"`
}

type substanceFile struct {
	Formula any `yaml:"formula"`
	Purity  any `yaml:"purity"`
	Density any `yaml:"density"`
	Lot     any `yaml:"lot"`
	Note    any `yaml:"note"`
}

type solutionFile struct {
	Species       any            `yaml:"species"`
	Lot           any            `yaml:"lot"`
	Made          any            `yaml:"made"`
	Expires       any            `yaml:"expires"`
	Concentration any            `yaml:"concentration"`
	Weighed       *weighedFile   `yaml:"weighed"`
	Diluted       *dilutedFile   `yaml:"diluted"`
	Standardised  *titrationFile `yaml:"standardised"`
}

type weighedFile struct {
	Substance any `yaml:"substance"`
	Mass      any `yaml:"mass"`
	On        any `yaml:"on"`
	In        any `yaml:"in"`
	Gives     any `yaml:"gives"`
}

type dilutedFile struct {
	From any `yaml:"from"`
	By   any `yaml:"by"`
	In   any `yaml:"in"`
}

type titrationFile struct {
	Date     any         `yaml:"date"`
	Flask    *flaskFile  `yaml:"flask"`
	Sample   *sampleFile `yaml:"sample"`
	Excess   *aliquot    `yaml:"excess"`
	Burette  *aliquot    `yaml:"burette"`
	Ratio    any         `yaml:"ratio"`
	Reaction any         `yaml:"reaction"`
	Blank    any         `yaml:"blank"`
	Volumes  []any       `yaml:"volumes"`
	Runs     []runFile   `yaml:"runs"`
	ReportAs any         `yaml:"report as"`
}

type aliquot struct {
	Solution any `yaml:"solution"`
	By       any `yaml:"by"`
	Ratio    any `yaml:"ratio"`
}

type flaskFile struct {
	Solution  any `yaml:"solution"`
	By        any `yaml:"by"`
	Substance any `yaml:"substance"`
	On        any `yaml:"on"`
	Gives     any `yaml:"gives"`
}

type sampleFile struct {
	On       any `yaml:"on"`
	Volume   any `yaml:"by"`
	MadeUpTo any `yaml:"made up to"`
	Aliquot  any `yaml:"aliquot"`
}

type runFile struct {
	Volume   any `yaml:"volume"`
	Mass     any `yaml:"mass"`
	Readings any `yaml:"readings"`
	Setup    any `yaml:"setup"`
	LeftOut  any `yaml:"left out"`
}
