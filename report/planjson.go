package report

import (
	"encoding/json"
	"fmt"
	"io"

	"meniscus/plan"
)

// planSchema names the contract of the JSON: a key may be added under the same
// name of the schema, none renamed.
const planSchema = "meniscus.plan/1"

// Volumes are in mL, readings in reading_unit ("" for pH and pIon), parts are
// fractions.
type jsonPlan struct {
	Schema     string           `json:"schema"`
	Title      string           `json:"title"`
	Accuracy   *float64         `json:"accuracy"`
	Unit       string           `json:"reading_unit"`
	Quantity   string           `json:"reading"`
	Verdict    []string         `json:"verdict"`
	Jumps      []jsonJump       `json:"jumps"`
	Rules      []string         `json:"rules_of_thumb"`
	Gains      []jsonGain       `json:"gains"`
	Burette    jsonBurette      `json:"burette"`
	Indicators []jsonIndicator  `json:"indicators"`
	Additions  *jsonSchedule    `json:"additions"`
	NoSchedule *string          `json:"no_additions"`
	Titrants   []jsonTitrant    `json:"titrants"`
	Media      []jsonPlanMedium `json:"media"`
	Conditions []jsonCondition  `json:"conditions"`
	Reductors  []string         `json:"reductors"`
	Cautions   []string         `json:"cautions"`
	Notes      []string         `json:"notes"`
	Warnings   []string         `json:"warnings"`
}

type jsonJump struct {
	Species    string      `json:"used_up"`
	Volume     *float64    `json:"volume_mL"`
	Reading    *float64    `json:"reading"`
	Within     [2]*float64 `json:"readings_within"`
	Height     *float64    `json:"jump"`
	Left       *float64    `json:"left_at_equivalence"`
	LogK       *float64    `json:"log_K"`
	Inflection *float64    `json:"inflection_part"`
	AtInflect  *float64    `json:"inflection_reading"`
	Carried    *float64    `json:"standard_uncertainty_mL"`
	Drop       *float64    `json:"drop_part"`
	Enough     bool        `json:"enough"`
}

type jsonGain struct {
	What   string   `json:"change"`
	Height *float64 `json:"jump"`
}

type jsonBurette struct {
	Capacity *float64      `json:"capacity_mL"`
	Class    string        `json:"class"`
	Guess    *float64      `json:"guess_standard_uncertainty"`
	Aim      *float64      `json:"aim_mL"`
	Mass     *float64      `json:"sample_g"`
	Here     jsonAliquot   `json:"as_described"`
	HereOK   bool          `json:"as_described_fits"`
	Ways     []jsonAliquot `json:"ways"`
	Note     string        `json:"note"`
}

type jsonAliquot struct {
	Pipette  *float64 `json:"aliquot_mL"`
	Strength *float64 `json:"titrant_mol_per_L"`
	Volume   *float64 `json:"end_mL"`
	Low      *float64 `json:"low_mL"`
	High     *float64 `json:"high_mL"`
	RelU     *float64 `json:"relative_standard_uncertainty"`
}

type jsonIndicator struct {
	Name    string    `json:"indicator"`
	Point   int       `json:"equivalence_point"`
	At      *float64  `json:"changes_at"`
	Scale   string    `json:"scale"` // V (against SHE), pH, pMg^2+ and the like, mol/L
	Follows string    `json:"follows"`
	Error   *float64  `json:"error_mL"`
	Part    *float64  `json:"error_part"`
	Fits    bool      `json:"fits"`
	Before  string    `json:"colour_before"`
	After   string    `json:"colour_after"`
	Swatchs [2]string `json:"css_colours"`
	Source  string    `json:"source"`
	Asked   bool      `json:"asked_for"`
	Note    string    `json:"note"`
}

type jsonTitrant struct {
	Name     string   `json:"titrant"`
	Strength *float64 `json:"mol_per_L"`
	Height   *float64 `json:"jump"`
	Points   int      `json:"points_against"`
	Reasons  []string `json:"reasons"`
	Refused  *string  `json:"refused"`
	Here     bool     `json:"this_setup"`
}

type jsonPlanMedium struct {
	Medium  string   `json:"medium"`
	Height  *float64 `json:"jump"`
	Refused *string  `json:"refused"`
	Here    bool     `json:"this_setup"`
	Clash   string   `json:"clash"`
}

type jsonCondition struct {
	Keep   string `json:"keep"`
	Why    string `json:"why"`
	Source string `json:"source"`
}

func planJSON(w io.Writer, p *plan.Plan) error {
	out := jsonPlan{
		Schema: planSchema, Title: p.Setup.Title, Accuracy: optional(p.Accuracy), Unit: p.Unit, Quantity: p.Quantity,
		Verdict: both(p.Verdict), Rules: both(p.Rules), Burette: planBurette(p), Reductors: both(reductorSection(p).Items),
		Cautions: both(cautionSection(p).Items, cautionSection(p).Say), Notes: both(p.Notes, p.Setup.Notes), Warnings: both(p.Setup.Warnings),
		Jumps: []jsonJump{}, Gains: []jsonGain{}, Indicators: []jsonIndicator{}, Titrants: planTitrants(p), Media: []jsonPlanMedium{}, Conditions: []jsonCondition{},
	}
	if p.Additions != nil {
		x := scheduleJSON(p.Additions)
		out.Additions = &x
	}
	out.NoSchedule = orNull(p.NoAdditions)
	for _, j := range p.Jumps {
		out.Jumps = append(out.Jumps, jsonJump{
			j.Name, optional(j.Volume * 1e3), optional(j.Reading),
			[2]*float64{optional(j.Within[0]), optional(j.Within[1])},
			optional(j.Height),
			optional(j.Left), optional(j.LogK), optional(j.Inflection / j.Volume), optional(j.InflectionReading), optional(j.Carried * 1e3), optional(j.Drop), j.Enough,
		})
	}
	for _, g := range p.Gains {
		out.Gains = append(out.Gains, jsonGain{g.What, optional(g.Height)})
	}
	for _, f := range p.Indicators {
		out.Indicators = append(out.Indicators, jsonIndicator{
			f.Name, f.Point + 1, optional(f.At), f.Scale, f.Of, optional(f.Error * 1e3), optional(f.Part), f.Fits,
			f.Colour[0].Word, f.Colour[1].Word,
			[2]string{f.Colour[0].Swatch, f.Colour[1].Swatch},
			f.Source.Key, f.Asked, f.Note,
		})
	}
	for _, m := range p.Media {
		out.Media = append(out.Media, jsonPlanMedium{m.Medium, optional(m.Height), orNull(m.Refused), m.Here, m.Clash})
	}
	for _, c := range p.Conditions {
		out.Conditions = append(out.Conditions, jsonCondition{c.Keep, c.Why, c.Source.Key})
	}
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	if err := enc.Encode(out); err != nil {
		return fmt.Errorf("writing the plan as JSON: %w", err)
	}
	return nil
}

func planBurette(p *plan.Plan) jsonBurette {
	b := p.Burette
	out := jsonBurette{
		optional(b.Capacity * 1e3), b.Class, optional(p.Guess), optional(b.Aim * 1e3), optional(b.Mass), planAliquot(b.Here), b.HereOK, []jsonAliquot{}, b.Note,
	}
	for _, w := range b.Ways {
		out.Ways = append(out.Ways, planAliquot(w))
	}
	return out
}

func planAliquot(a plan.Aliquot) jsonAliquot {
	return jsonAliquot{
		optional(a.Pipette * 1e3), optional(a.Strength), optional(a.Volume * 1e3), optional(a.Low * 1e3), optional(a.High * 1e3), optional(a.RelU),
	}
}

func planTitrants(p *plan.Plan) []jsonTitrant {
	list := []jsonTitrant{}
	for _, c := range append(append([]plan.Candidate{}, p.Titrants...), p.Refused...) {
		list = append(list, jsonTitrant{c.Name, optional(c.Strength), optional(c.Height), c.Points, both(c.Reasons), orNull(c.Refused), c.Here})
	}
	return list
}

func orNull(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}
