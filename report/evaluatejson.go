package report

import (
	"encoding/json"
	"fmt"
	"io"
	"math"

	"meniscus/assay"
	"meniscus/curve"
	"meniscus/fit"
	"meniscus/uncertainty"
	"meniscus/unit"
)

// evaluationSchema names the contract of the JSON. A key may be added under
// the same name of the schema, none renamed.
const evaluationSchema = "meniscus.evaluation/1"

// jsonDocument is the contract. The keys of the first run stand at the top
// level, so that a file with one run needs no further step down; runs has all
// of them. Volumes are in mL, potentials in mV, everything else in the unit
// named beside it.
type jsonDocument struct {
	Schema string `json:"schema"`
	Title  string `json:"title"`
	Source string `json:"source"`
	jsonRun
	Runs     []jsonRun     `json:"runs"`
	Mean     *jsonMean     `json:"mean"`
	Means    []jsonMean    `json:"means"`
	Brief    []briefRow    `json:"brief,omitempty"` // of many runs, instead of runs
	Blank    *jsonBlank    `json:"blank"`
	BadCells []jsonBadCell `json:"bad_cells"`
	MoreBad  int           `json:"more_bad_cells"`
	Notes    []string      `json:"notes"`
}

type jsonRun struct {
	Name              string              `json:"name"`
	Recommended       *jsonRecommended    `json:"recommended"`
	Reason            string              `json:"reason"`
	Methods           []jsonMethod        `json:"methods"`
	EquivalencePoints []jsonPoint         `json:"equivalence_points"`
	Concentrations    []jsonConcentration `json:"concentrations"`
	Contents          []jsonConcentration `json:"contents"`
	FormalPotentials  []jsonPotential     `json:"formal_potentials"`
	Media             []jsonMedium        `json:"media"` // of the tables, beside the formal potentials found
	Parameters        []jsonParameter     `json:"parameters"`
	Correlation       [][]*float64        `json:"correlation"`
	Residuals         []jsonResidual      `json:"residuals"`
	Profiles          []jsonProfile       `json:"profiles"` // empty unless asked for
	Inflections       []jsonInflection    `json:"inflections"`
	Diagnosis         []jsonFinding       `json:"diagnosis"`
	Warnings          []string            `json:"warnings"`
	Assumptions       []string            `json:"assumptions"`
}

type jsonRecommended struct {
	Method string   `json:"method"`
	Volume *float64 `json:"volume_mL"`
	StdUnc *float64 `json:"standard_uncertainty_mL"`
	Reason string   `json:"reason"`
}

type jsonMethod struct {
	Method  string   `json:"method"`
	Order   *int     `json:"equivalence_point"` // from 1; null where refused
	Volume  *float64 `json:"volume_mL"`
	StdUnc  *float64 `json:"standard_uncertainty_mL"`
	Points  *int     `json:"points"`
	Refused *string  `json:"refused"`
	jsonBias
	Windows  []jsonWindow `json:"windows"` // of a straight line; the first is the one used
	Warnings []string     `json:"warnings"`
}

type jsonPoint struct {
	Order   int      `json:"order"`
	Species string   `json:"species"`
	Volume  *float64 `json:"volume_mL"`
	StdUnc  *float64 `json:"standard_uncertainty_mL"`
	Factor  *float64 `json:"coverage_factor"` // for 95 %
	Method  string   `json:"method"`
}

type jsonConcentration struct {
	Species  string     `json:"species"`
	Value    *float64   `json:"value"`
	Unit     string     `json:"unit"`
	StdUnc   *float64   `json:"standard_uncertainty"`
	Expanded *float64   `json:"expanded_uncertainty"`
	Coverage *float64   `json:"coverage_factor"`
	Freedom  *float64   `json:"degrees_of_freedom"` // null: not limited
	From     string     `json:"from"`
	Parts    []jsonPart `json:"parts"`
	Note     string     `json:"note,omitempty"`
}

type jsonPart struct {
	Name   string   `json:"name"`
	StdUnc *float64 `json:"standard_uncertainty"`
	Share  *float64 `json:"share"` // of the square of the standard uncertainty
	Note   string   `json:"note,omitempty"`
}

type jsonPotential struct {
	Couple    string   `json:"couple"`
	Value     *float64 `json:"value_mV"`
	StdUnc    *float64 `json:"standard_uncertainty_mV"`
	Factor    *float64 `json:"coverage_factor"` // for 95 %
	Reference string   `json:"reference"`
	From      string   `json:"from"`
	Note      string   `json:"note,omitempty"`
}

type jsonParameter struct {
	Name   string   `json:"name"`
	Value  *float64 `json:"value"`
	Unit   string   `json:"unit"`
	StdUnc *float64 `json:"standard_uncertainty"`
	Start  *float64 `json:"start"`
}

// jsonResidual has value and residual in mV for potentials, as they are for pH
// and pIon.
type jsonResidual struct {
	Row      int      `json:"row"`
	Volume   *float64 `json:"volume_mL"`
	Value    *float64 `json:"value"`
	Fitted   *float64 `json:"fitted"`
	Residual *float64 `json:"residual"`
	Reduced  *float64 `json:"reduced"`
	Unit     string   `json:"unit"`
}

type jsonMean struct {
	Species string   `json:"species"`
	Value   *float64 `json:"value"`
	Unit    string   `json:"unit"`
	SD      *float64 `json:"standard_deviation"`
	N       int      `json:"n"`

	StdUnc     *float64        `json:"standard_uncertainty"`
	Expanded   *float64        `json:"expanded_uncertainty"`
	Coverage   *float64        `json:"coverage_factor"`
	Freedom    *float64        `json:"degrees_of_freedom"` // null: not limited
	Parts      []jsonPart      `json:"parts"`
	Replicates *jsonReplicates `json:"replicates"`
	Notes      []string        `json:"notes"`
}

// jsonBlank is a blank that was measured.
type jsonBlank struct {
	Value   *float64   `json:"volume_mL"`
	StdUnc  *float64   `json:"standard_uncertainty_mL"`
	Freedom *float64   `json:"degrees_of_freedom"` // null: not limited
	Volumes []*float64 `json:"volumes_mL"`
	How     string     `json:"how"`
}

func (out *jsonDocument) addDetermination(d *assay.Determination) {
	for _, m := range d.Means {
		r := jsonResults([]assay.Result{m.Result})[0]
		reps := toReplicates(setOf(m))
		out.Means = append(out.Means, jsonMean{
			m.Name, optional(m.Value), m.Unit, optional(m.Replicates.SD), len(m.Runs),
			r.StdUnc, r.Expanded, r.Coverage, r.Freedom, r.Parts, &reps, both(m.Notes),
		})
		if out.Mean == nil && m.Name != assay.EndPoint {
			out.Mean = &out.Means[len(out.Means)-1]
		}
	}
	if out.Mean == nil && len(out.Means) > 0 {
		out.Mean = &out.Means[0]
	}
	if b := d.Blank; b != nil {
		out.Blank = &jsonBlank{optional(b.Value * 1e3), optional(b.StdUnc * 1e3), nil, nil, b.How}
		if b.Freedom > 0 {
			out.Blank.Freedom = optional(b.Freedom)
		}
		for _, v := range b.Volumes {
			out.Blank.Volumes = append(out.Blank.Volumes, optional(v*1e3))
		}
	}
}

type jsonBadCell struct {
	Row    int    `json:"row"`
	Column string `json:"column"`
	Found  string `json:"found"`
	Reason string `json:"reason"`
	Kept   bool   `json:"kept"`
}

func writeJSON(w io.Writer, d Document) error {
	out := jsonDocument{
		Schema: evaluationSchema, Title: d.Title, Source: d.Source, Runs: []jsonRun{}, Means: []jsonMean{}, BadCells: []jsonBadCell{}, Notes: []string{},
	}
	for i := range d.Evaluations {
		if d.Brief {
			out.Brief = append(out.Brief, d.brief(i))
		}
	}
	for i, e := range d.full() {
		out.Runs = append(out.Runs, toJSON(d.runName(i), e))
	}
	if len(out.Runs) > 0 {
		out.jsonRun = out.Runs[0]
		out.Warnings = d.allWarnings()
	} else {
		out.jsonRun = toJSON("", &assay.Evaluation{Recommended: -1})
	}
	if m, ok := d.mean(); ok && d.Determination == nil {
		out.Mean = &jsonMean{Species: m.species, Value: optional(m.value), Unit: m.unit, SD: optional(m.sd), N: m.n, Parts: []jsonPart{}, Notes: []string{}}
	}
	if d.Determination != nil {
		out.addDetermination(d.Determination)
	}
	if d.Record != nil {
		for _, b := range d.Record.BadCells {
			out.BadCells = append(out.BadCells, jsonBadCell{b.Row, b.Column, b.Found, b.Reason, b.Kept})
		}
		out.MoreBad = d.Record.MoreBad
		out.Notes = both(d.Record.Notes)
	}
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	if err := enc.Encode(out); err != nil {
		return fmt.Errorf("writing the evaluation as JSON: %w", err)
	}
	return nil
}

func toJSON(name string, e *assay.Evaluation) jsonRun {
	r := jsonRun{
		Name: name, Reason: e.Reason, Methods: jsonMethods(e), EquivalencePoints: []jsonPoint{},
		Concentrations: jsonResults(e.Concentrations), Contents: jsonResults(e.Contents), FormalPotentials: []jsonPotential{},
		Parameters: []jsonParameter{}, Correlation: [][]*float64{}, Residuals: []jsonResidual{}, Diagnosis: jsonFindings(e.Diagnosis), Profiles: jsonProfiles(e.Profiles), Inflections: jsonInflections(e), Media: jsonMedia(e),
		Warnings: both(e.Warnings), Assumptions: both(e.Assumed),
	}
	if e.Recommended >= 0 {
		m := e.Methods[e.Recommended].Name
		for _, p := range e.EquivalencePoints {
			r.EquivalencePoints = append(r.EquivalencePoints, jsonPoint{p.Order, p.Species, volume(p.Volume), volume(p.StdUnc), optional(p.Coverage()), m})
		}
		if len(e.EquivalencePoints) > 0 {
			p := mainPoint(e)
			r.Recommended = &jsonRecommended{m, volume(p.Volume), volume(p.StdUnc), e.Reason}
		}
	}
	for _, q := range e.FormalPotentials {
		r.FormalPotentials = append(r.FormalPotentials, jsonPotential{q.Name, optional(q.Value * 1e3), optional(q.StdUnc * 1e3), optional(q.Coverage), "SHE", q.From, q.Note})
	}
	if e.Fit != nil {
		r.addFit(e.Fit)
	}
	return r
}

func jsonMethods(e *assay.Evaluation) []jsonMethod {
	list := []jsonMethod{}
	for _, m := range e.Methods {
		if len(m.Points) == 0 {
			why := m.Refused
			list = append(list, jsonMethod{Method: m.Name, Refused: &why, Windows: []jsonWindow{}, Warnings: both(m.Warnings)})
		}
		for _, p := range m.Points {
			list = append(list, jsonMethod{m.Name, &p.Order, volume(p.Volume), volume(p.StdUnc), &p.Points, nil, newJSONBias(p.Bias), jsonWindows(m, p.Order), both(m.Warnings, p.Warnings)})
		}
	}
	return list
}

func jsonResults(results []assay.Result) []jsonConcentration {
	list := []jsonConcentration{}
	for _, r := range results {
		c := jsonConcentration{
			r.Name, optional(r.Value), r.Unit, optional(r.StdUnc), optional(r.Expanded()), optional(r.Coverage), optional(r.Freedom),
			r.From,
			[]jsonPart{},
			r.Note,
		}
		for _, s := range shares(r) {
			c.Parts = append(c.Parts, jsonPart{s.Name, optional(s.StdUnc), optional(s.share), s.Note})
		}
		list = append(list, c)
	}
	return list
}

func (r *jsonRun) addFit(f *fit.Result) {
	n := len(f.Estimates)
	for i, q := range f.Estimates {
		x, ux := q.Shown(q.Value, q.StdUnc)
		start, _ := q.Shown(q.Start, 0)
		r.Parameters = append(r.Parameters, jsonParameter{q.Name, optional(x), q.Unit, optional(ux), optional(start)})
		row := make([]*float64, n)
		for j := range n {
			row[j] = optional(correlation(f, i, j))
		}
		r.Correlation = append(r.Correlation, row)
	}
	scale, name := shown(f.Kind)
	for _, q := range f.Residuals {
		r.Residuals = append(r.Residuals, jsonResidual{
			q.Row, volume(q.Volume), optional(q.Value * scale), optional(q.Fitted * scale), optional(q.Residual * scale), optional(q.Reduced), name,
		})
	}
}

// correlation is the coefficient of correlation of two estimates.
func correlation(f *fit.Result, i, j int) float64 {
	n := len(f.Estimates)
	if i == j {
		return 1
	}
	return f.Covariance[i*n+j] / math.Sqrt(f.Covariance[i*n+i]*f.Covariance[j*n+j])
}

func volume(v unit.Volume) *float64 { return optional(inMillilitres(v)) }

// shown is what readings are shown in: the factor from the base unit and the
// unit's name, which is empty for pH and pIon.
func shown(k curve.Kind) (scale float64, name string) {
	if k == curve.Potential {
		return 1e3, "mV"
	}
	return 1, ""
}

// A mean is over the runs' results for one species.
type mean struct {
	species, unit string
	value, sd     float64
	n             int
}

// mean is that of the first species that two runs or more have a result for.
func (d Document) mean() (mean, bool) {
	var m mean
	var xs []float64
	for _, e := range d.Evaluations {
		for _, c := range e.Concentrations {
			if m.species == "" {
				m.species, m.unit = c.Name, c.Unit
			}
			if c.Name == m.species && c.Unit == m.unit && !math.IsNaN(c.Value) {
				xs = append(xs, c.Value)
			}
		}
	}
	m.value, m.sd = uncertainty.MeanSD(xs)
	m.n = len(xs)
	return m, m.n > 1
}
