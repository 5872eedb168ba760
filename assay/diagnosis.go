package assay

// A Finding is a cause that the readings speak for: what was seen, how sure
// that is, what explains it as well, and what to do. Nothing is corrected.
type Finding struct {
	Cause      string // stored with results, never renamed
	Title      string
	Evidence   string
	Confidence Confidence
	Alike      []string // causes that these readings cannot tell from it
	Advice     string
	Size       float64 // of the effect, in Unit; NaN where it has none
	StdUnc     float64
	Unit       string
	P          float64 // probability by chance, for as many causes as were tried; NaN without a test
}

// Confidence says how far a finding is carried by the readings.
type Confidence string

// The grades of confidence. Likely needs a probability by chance below 0.1 %
// and no other cause that does as well.
const (
	Likely   Confidence = "likely"
	Possible Confidence = "possible"
)

// Limits of the tests, in probability by chance over all causes tried. With
// them less than one sound run in twenty has a finding; see docs/diagnosis.md.
const (
	possibleBelow = 0.02
	likelyBelow   = 0.001
	alikeWithin   = 6.0 // sum of squares over its variance, 2 ln 20: twenty times less likely is another matter
	mostCauses    = 2   // that are looked for by refitting, one after the other
)

// A diagnosis gathers the findings of one evaluation.
type diagnosis struct {
	e     *Evaluation
	found []Finding
}

// Diagnose looks for what may be wrong with a run: it fits the curve again
// with each cause that can be put as a number, and compares the readings with
// the patterns of causes that cannot. It changes nothing in the evaluation.
func (e *Evaluation) Diagnose() []Finding {
	if e.Setup.Titration == nil || len(e.Setup.Find) == 0 {
		return nil
	}
	d := &diagnosis{e: e}
	if e.poorFit() && d.otherReading() {
		return d.found
	}
	if d.jumps() || e.Fit == nil {
		return d.found
	}
	d.refits()
	d.slope()
	d.reference()
	d.ratio()
	d.placement()
	return d.found
}

func (d *diagnosis) add(f Finding) { d.found = append(d.found, f) }
