package main

import (
	"fmt"
	"math"
	"strings"

	"meniscus/unit"
	"meniscus/volumetric"
	"meniscus/yamlfile"
)

// wareFile is the file of a calibration as it stands in YAML.
type wareFile struct {
	Title       any             `yaml:"title"`
	Kind        any             `yaml:"kind"`
	Capacity    any             `yaml:"capacity"`
	Class       any             `yaml:"class"`
	Division    any             `yaml:"division"`
	Standard    any             `yaml:"standard"`
	Temperature any             `yaml:"temperature"`
	Air         any             `yaml:"air"`
	Weights     any             `yaml:"weights"`
	Glass       any             `yaml:"glass"`
	Balance     any             `yaml:"balance"`
	Water       []any           `yaml:"water"`
	Points      []warePointFile `yaml:"points"`
}

type warePointFile struct {
	At          any   `yaml:"at"`
	Temperature any   `yaml:"temperature"`
	Water       []any `yaml:"water"`
}

// calibratedWare is a piece of ware with what its weighings say.
type calibratedWare struct {
	title, kind, glass string
	capacity           unit.Volume
	limit              volumetric.Limit // zero where none is held
	temperature        unit.Temperature
	conditions         volumetric.Conditions
	doubts             volumetric.Doubts
	points             []warePoint
	warnings           []string
}

type warePoint struct {
	at        unit.Volume
	weighings []volumetric.Weighing
	cal       volumetric.Calibration
	budget    volumetric.CalibrationBudget
}

// error is the volume delivered less the volume marked, mL.
func (p warePoint) error() float64 { return (p.budget.Total.X - float64(p.at)) * 1e3 }

func (p warePoint) value() string {
	return trimmedVolumeOf(p.budget.Total.X, p.budget.Total.U)
}

func trimmedVolumeOf(x, u float64) string { return strings.TrimSuffix(trimmedVolume(x, u), " mL") }

type wareReader struct {
	source yamlfile.File
	f      wareFile
	w      *calibratedWare
}

func readWare(data []byte, name string) (*calibratedWare, error) {
	r := &wareReader{source: yamlfile.File{Name: name, Data: data}, w: &calibratedWare{}}
	if err := r.source.Decode(&r.f, "a calibration needs a kind, a capacity, a temperature and weighings of water", "meniscus ware --help"); err != nil {
		return nil, err
	}
	for _, step := range []func() error{r.ware, r.surroundings, r.weighings} {
		if err := step(); err != nil {
			return nil, err
		}
	}
	return r.w, nil
}

// quantity reads one that must be there.
func (r *wareReader) quantity(v any, dim unit.Dimension, example string, place ...any) (x, u float64, err error) {
	if yamlfile.Text(v) == "" {
		return 0, 0, r.source.Fail(place, "is missing; write it as %s", example)
	}
	q, err := unit.ParseQuantity(yamlfile.Text(v))
	if err != nil {
		return 0, 0, r.source.Fail(place, "%v", err)
	}
	d, u, err := q.In(dim, example)
	if err != nil {
		return 0, 0, r.source.Fail(place, "%v", err)
	}
	if !(d.Float() > 0) {
		return 0, 0, r.source.Fail(place, "%s is not above 0", q.Text)
	}
	return d.Float(), u, nil
}

func (r *wareReader) ware() error {
	w := r.w
	w.title, w.kind = yamlfile.Text(r.f.Title), yamlfile.Text(r.f.Kind)
	switch volumetric.Kind(w.kind) {
	case volumetric.Burette, volumetric.Pipette, volumetric.Flask:
	default:
		return r.source.Fail([]any{"kind"}, "%q is no kind of ware; burette, pipette or flask is meant", w.kind)
	}
	v, _, err := r.quantity(r.f.Capacity, unit.DimVolume, "50 mL", "capacity")
	if err != nil {
		return err
	}
	w.capacity = unit.Volume(v)
	var division float64
	if r.f.Division != nil {
		if division, _, err = r.quantity(r.f.Division, unit.DimVolume, "0.1 mL", "division"); err != nil {
			return err
		}
	}
	w.limit, err = volumetric.FindLimit(volumetric.Kind(w.kind), w.capacity, unit.Volume(division), yamlfile.Text(r.f.Class), yamlfile.Text(r.f.Standard))
	if err != nil && (r.f.Class != nil || r.f.Standard != nil) {
		return r.source.Fail([]any{"class"}, "%v", err)
	}
	if err != nil {
		w.warnings = append(w.warnings, err.Error())
	}
	return nil
}

func (r *wareReader) surroundings() error {
	w := r.w
	t, u, err := r.quantity(r.f.Temperature, unit.DimTemperature, "22.4 ± 0.1 °C", "temperature")
	if err != nil {
		return err
	}
	w.temperature, w.doubts.Temperature = unit.Temperature(t), u
	if u == 0 {
		w.warnings = append(w.warnings, "no uncertainty was stated for the temperature: the result leaves it out; write it as \"22.4 ± 0.1 °C\"")
	}
	w.conditions.Air, w.conditions.Weights, w.conditions.Glass, w.glass = volumetric.StandardAir, volumetric.WeightsDensity, volumetric.Borosilicate, "borosilicate"
	if r.f.Air != nil {
		if w.conditions.Air, w.doubts.Air, err = r.quantity(r.f.Air, unit.DimMassConc, "1.19 ± 0.01 g/L", "air"); err != nil {
			return err
		}
		if w.conditions.Air > 2 {
			return r.source.Fail([]any{"air"}, "%s is no density of air, which is near 1.2 g/L", yamlfile.Text(r.f.Air))
		}
	}
	if r.f.Weights != nil {
		x, _, err := r.quantity(r.f.Weights, unit.DimDensity, "8.0 g/mL", "weights")
		if err != nil {
			return err
		}
		w.conditions.Weights = x * 1e3
	}
	switch g := yamlfile.Text(r.f.Glass); g {
	case "", "borosilicate":
	case "soda-lime":
		w.conditions.Glass, w.glass = volumetric.SodaLime, g
	default:
		return r.source.Fail([]any{"glass"}, "%q: borosilicate or soda-lime is meant", g)
	}
	if r.f.Balance == nil {
		w.warnings = append(w.warnings, "nothing is said of the balance beyond its scatter; write balance: 0.3 mg, the standard uncertainty of a difference")
		return nil
	}
	m, _, err := r.quantity(r.f.Balance, unit.DimMass, "0.3 mg", "balance")
	w.doubts.Balance = unit.Mass(m)
	return err
}

func (r *wareReader) weighings() error {
	burette := r.w.kind == string(volumetric.Burette)
	switch {
	case burette && len(r.f.Points) == 0:
		return r.source.Fail([]any{"kind"}, "a burette needs points, such as - {at: 10 mL, water: [9.965 g, 9.969 g]}")
	case !burette && len(r.f.Points) > 0:
		return r.source.Fail([]any{"points"}, "a %s has one mark; write water: [...] at the top", r.w.kind)
	case !burette && len(r.f.Water) == 0:
		return r.source.Fail([]any{"kind"}, "a %s needs its weighings, such as water: [9.965 g, 9.969 g]", r.w.kind)
	case burette && len(r.f.Water) > 0:
		return r.source.Fail([]any{"water"}, "weighings of a burette belong to a point; write points: - {at: 10 mL, water: [...]}")
	case !burette:
		return r.point(r.w.capacity, r.w.temperature, r.f.Water, []any{"water"})
	}
	last := unit.Volume(0)
	for i, p := range r.f.Points {
		v, _, err := r.quantity(p.At, unit.DimVolume, "10 mL", "points", i, "at")
		if err != nil {
			return err
		}
		if unit.Volume(v) <= last || unit.Volume(v) > r.w.capacity*(1+1e-9) {
			return r.source.Fail([]any{"points", i, "at"}, "%s does not follow on the point before, or is beyond the capacity", yamlfile.Text(p.At))
		}
		last = unit.Volume(v)
		t := r.w.temperature
		if p.Temperature != nil {
			x, _, err := r.quantity(p.Temperature, unit.DimTemperature, "22.4 °C", "points", i, "temperature")
			if err != nil {
				return err
			}
			t = unit.Temperature(x)
		}
		if err := r.point(last, t, p.Water, []any{"points", i, "water"}); err != nil {
			return err
		}
	}
	return nil
}

// farFromMark is from where on a weighing is a slip rather than an error of the
// ware: a tenth of the volume.
const farFromMark = 0.1

func (r *wareReader) point(at unit.Volume, t unit.Temperature, water []any, place []any) error {
	p := warePoint{at: at}
	for i, v := range water {
		m, _, err := r.quantity(v, unit.DimMass, "9.965 g", append(append([]any{}, place...), i)...)
		if err != nil {
			return err
		}
		if math.Abs(m/(float64(at)*1e3)-1) > farFromMark {
			return r.source.Fail(append(append([]any{}, place...), i), "%s of water is far from the %.4g mL marked", yamlfile.Text(v), at.Millilitres())
		}
		p.weighings = append(p.weighings, volumetric.Weighing{Reading: unit.Mass(m), Temperature: t})
	}
	var err error
	if p.cal, p.budget, err = volumetric.Budget(p.weighings, r.w.conditions, r.w.doubts); err != nil {
		return r.source.Fail(place, "%v", err)
	}
	if p.cal.SD == 0 {
		r.w.warnings = append(r.w.warnings, fmt.Sprintf("the weighings at %.4g mL are all equal: their scatter says nothing", at.Millilitres()))
	}
	r.w.points = append(r.w.points, p)
	return nil
}

type jsonWare struct {
	Schema   string          `json:"schema"`
	Title    string          `json:"title"`
	Kind     string          `json:"kind"`
	Capacity float64         `json:"capacity_mL"`
	Limit    *float64        `json:"limit_mL"` // null where none is held
	Points   []jsonWarePoint `json:"points"`
	Verdict  string          `json:"verdict"`
	Warnings []string        `json:"warnings"`
}

type jsonWarePoint struct {
	At       float64 `json:"marked_mL"`
	Volume   float64 `json:"volume_20C_mL"`
	Error    float64 `json:"error_mL"`
	StdUnc   float64 `json:"standard_uncertainty_mL"`
	Expanded float64 `json:"expanded_uncertainty_mL"`
	Coverage float64 `json:"coverage_factor"`
	SD       float64 `json:"standard_deviation_mL"`
	N        int     `json:"n"`
}

func (w *calibratedWare) json() jsonWare {
	out := jsonWare{Schema: "meniscus.ware/1", Title: w.title, Kind: w.kind, Capacity: w.capacity.Millilitres(), Verdict: w.verdict(), Warnings: append([]string{}, w.warnings...)}
	if w.limit.Tolerance > 0 {
		x := w.limit.Tolerance.Millilitres()
		out.Limit = &x
	}
	for _, p := range w.points {
		half, k := p.budget.Total.Expanded(0.95)
		out.Points = append(out.Points, jsonWarePoint{p.at.Millilitres(), p.budget.Total.X * 1e3, p.error(), p.budget.Total.U * 1e3, half * 1e3, k, p.cal.SD.Millilitres(), len(p.weighings)})
	}
	return out
}
