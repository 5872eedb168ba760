package report

import (
	"encoding/json"
	"fmt"
	"io"

	"meniscus/constants"
	"meniscus/solution"
)

// prepareSchema names the contract of the JSON: a key may be added under the
// same name of the schema, none renamed.
const prepareSchema = "meniscus.prepare/1"

type jsonPreparation struct {
	Schema     string         `json:"schema"`
	Solutions  []jsonRecipe   `json:"solutions"`
	Indicators []jsonDrops    `json:"indicators"`
	Dilutions  []jsonDilution `json:"dilutions"`
	Buffer     *jsonRecipe    `json:"buffer"`
	Class      *jsonClass     `json:"class"`
	Notes      []string       `json:"notes"`
}

type jsonRecipe struct {
	Place     string        `json:"place"`
	VolumeML  float64       `json:"volume_mL"`
	Medium    string        `json:"medium"`
	Portions  []jsonPortion `json:"portions"`
	Steps     []string      `json:"steps"`
	Keeps     string        `json:"keeps"`
	KeepsDays int           `json:"keeps_days"`
	Bottle    string        `json:"bottle"`
	Against   []string      `json:"standardise_against"`
	StandardG []float64     `json:"standard_mass_g"` // of the first, for 60 and 90 % of a 50 mL burette
	Exact     *jsonExact    `json:"as_weighed"`
	ByLot     []jsonExact   `json:"lots_as_weighed"` // where several are made
	Notes     []string      `json:"notes"`
	Cautions  []string      `json:"cautions"`
	Hazards   []jsonHazard  `json:"hazards"`
	Statement string        `json:"closing"`
}

type jsonPortion struct {
	For       string             `json:"for"`
	Conc      float64            `json:"concentration_mol_per_L"`
	Reagent   string             `json:"reagent"`
	Name      string             `json:"name"`
	MassG     float64            `json:"mass_g"`
	VolumeML  float64            `json:"volume_mL"` // of a liquid, else 0
	MolarMass float64            `json:"molar_mass_g_per_mol"`
	Others    map[string]float64 `json:"alternatives_g"`
}

type jsonExact struct {
	Value  float64 `json:"value"`
	StdUnc float64 `json:"standard_uncertainty"`
	Unit   string  `json:"unit"`
}

type jsonDrops struct {
	Name      string       `json:"name"`
	Reagent   string       `json:"reagent"`
	ReadyMade bool         `json:"ready_made"`
	MassG     float64      `json:"mass_g"`
	VolumeML  float64      `json:"volume_mL"` // 0 of what is ground with a salt
	TotalG    float64      `json:"ground_g"`
	Percent   float64      `json:"g_per_100_mL"`
	Solvent   string       `json:"solvent"`
	Dose      string       `json:"dose"`
	Serves    int          `json:"titrations"`
	For       string       `json:"for"`
	Steps     []string     `json:"steps"`
	KeepsDays int          `json:"keeps_days"`
	Bottle    string       `json:"bottle"`
	Cautions  []string     `json:"cautions"`
	Hazards   []jsonHazard `json:"hazards"`
	Statement string       `json:"closing"`
}

type jsonHazard struct {
	Reagent    string   `json:"reagent"`
	Signal     string   `json:"signal"`
	Statements []string `json:"statements"`
	Pictograms []string `json:"pictograms"`
	Source     string   `json:"source"`
}

type jsonDilution struct {
	Ware    string    `json:"ware"`
	TakeML  float64   `json:"take_mL"`
	Fills   int       `json:"fillings"`
	FlaskML float64   `json:"flask_mL"`
	Result  jsonExact `json:"concentration"`
	Off     float64   `json:"relative_deviation"`
}

type jsonClass struct {
	Titrations int            `json:"titrations"`
	Batches    []jsonBatch    `json:"batches"`
	Purchases  []jsonPurchase `json:"chemicals"`
	Wares      []jsonWare     `json:"glassware"`
	Waste      []jsonWaste    `json:"waste"`
	Rules      []string       `json:"rules"`
}

type jsonBatch struct {
	Place    string  `json:"place"`
	UsedML   float64 `json:"used_mL"`
	NeededML float64 `json:"needed_mL"`
	Lots     int     `json:"lots"`
	LotML    float64 `json:"lot_mL"`
}

type jsonPurchase struct {
	Reagent  string  `json:"reagent"`
	CAS      string  `json:"cas"`
	Need     float64 `json:"needed"`
	Unit     string  `json:"unit"`
	Packages int     `json:"packages"`
	Package  float64 `json:"package"`
}

type jsonWare struct {
	What  string `json:"piece"`
	Count int    `json:"count"`
	Why   string `json:"for"`
}

type jsonWaste struct {
	Stream   string   `json:"stream"`
	VolumeML float64  `json:"volume_mL"`
	Say      string   `json:"treatment"`
	Holds    []string `json:"from"`
}

func prepareJSON(w io.Writer, p *Preparation) error {
	out := jsonPreparation{Schema: prepareSchema, Solutions: []jsonRecipe{}, Indicators: []jsonDrops{}, Dilutions: []jsonDilution{}, Notes: append([]string{}, p.Notes...)}
	for _, s := range p.Solutions {
		out.Solutions = append(out.Solutions, s.json())
	}
	for _, d := range p.Indicators {
		out.Indicators = append(out.Indicators, d.json())
	}
	if p.Diluted != nil {
		for _, d := range p.Diluted.Ways {
			out.Dilutions = append(out.Dilutions, jsonDilution{
				string(d.Kind), d.Take.Millilitres(), d.Fills, d.Flask.Millilitres(), jsonExact{d.Budget.X, d.Budget.U, "mol/L"}, d.Off,
			})
		}
	}
	if p.Buffer != nil {
		r := Prepared{Place: "buffer", Recipe: p.Buffer.Recipe}.json()
		out.Buffer = &r
	}
	if p.Stockroom != nil {
		out.Class = stockroomJSON(p.Stockroom)
	}
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	if err := e.Encode(out); err != nil {
		return fmt.Errorf("writing the preparation as JSON: %w", err)
	}
	return nil
}

func (s Prepared) json() jsonRecipe {
	r := s.Recipe
	j := jsonRecipe{
		Place: s.Place, VolumeML: r.Wanted.Volume.Millilitres(), Medium: r.Wanted.Medium, Steps: r.Steps, Keeps: Keeps(r.Keeps), KeepsDays: r.Keeps,
		Bottle: r.Bottle, Against: []string{}, StandardG: []float64{}, Notes: append([]string{}, r.Notes...),
		Cautions: append([]string{}, r.Cautions.Precautions...), ByLot: []jsonExact{}, Statement: r.Cautions.Closing,
	}
	for _, q := range r.Portions {
		x := jsonPortion{q.For, float64(q.Conc), q.Reagent.Formula, q.Reagent.Name(), float64(q.Mass), q.Volume.Millilitres(), float64(q.MolarMass.Value), map[string]float64{}}
		for _, c := range q.Alternatives {
			x.Others[c.Formula] = float64(c.Mass)
		}
		j.Portions = append(j.Portions, x)
	}
	for i, st := range r.Against {
		j.Against = append(j.Against, st.Reagent.Formula)
		if low, high, ok := s.standardMasses(st); ok && i == 0 {
			j.StandardG = []float64{float64(low), float64(high)}
		}
	}
	j.Hazards = hazardsJSON(r.Cautions)
	for _, e := range s.ByLot {
		j.ByLot = append(j.ByLot, jsonExact{e.X, e.U, "mol/L"})
	}
	if s.Exact != nil {
		j.Exact = &jsonExact{s.Exact.X, s.Exact.U, "mol/L"}
	}
	return j
}

func hazardsJSON(c constants.Cautions) []jsonHazard {
	list := []jsonHazard{}
	for _, h := range c.Hazards {
		list = append(list, jsonHazard{h.Reagent, h.Signal, append([]string{}, h.Words()...), append([]string{}, h.Pictograms()...), h.Source.Citation})
	}
	return list
}

func (d PreparedIndicator) json() jsonDrops {
	return jsonDrops{
		Name: d.Name(), Reagent: d.Weighed(), ReadyMade: d.Given.ReadyMade(), MassG: float64(d.Mass), VolumeML: d.Volume.Millilitres(),
		TotalG: float64(d.Total), Percent: d.Given.Strength, Solvent: d.Given.Solvent, Dose: d.Given.Said, Serves: d.Serves, For: d.For,
		Steps: d.Steps, KeepsDays: d.Reagent.Keeps, Bottle: d.Reagent.Bottle, Cautions: append([]string{}, d.Cautions.Precautions...),
		Hazards: hazardsJSON(d.Cautions), Statement: d.Cautions.Closing,
	}
}

func stockroomJSON(s *solution.Stockroom) *jsonClass {
	j := &jsonClass{Titrations: s.Class.Titrations(), Rules: s.Rules}
	for _, b := range s.Batches {
		j.Batches = append(j.Batches, jsonBatch{b.Place, b.Used.Millilitres(), b.Needed.Millilitres(), b.Lots, b.Recipe.Wanted.Volume.Millilitres()})
	}
	for _, p := range s.Purchases {
		x := jsonPurchase{p.Reagent.Formula, p.Reagent.CAS, float64(p.Mass), "g", p.Packages, p.Package}
		if p.Volume > 0 {
			x.Need, x.Unit = p.Volume.Millilitres(), "mL"
		}
		j.Purchases = append(j.Purchases, x)
	}
	for _, w := range s.Wares {
		j.Wares = append(j.Wares, jsonWare{w.What, w.Count, w.Why})
	}
	for _, w := range s.Waste {
		j.Waste = append(j.Waste, jsonWaste{w.Name, w.Volume.Millilitres(), w.Say, w.Holds})
	}
	return j
}
