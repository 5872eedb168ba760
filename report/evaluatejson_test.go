package report

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"strconv"
	"strings"
	"testing"

	"meniscus/assay"
)

// contract is the JSON as promised to programs, written apart from the types
// that produce it.
type contract struct {
	Schema      string
	Recommended *struct {
		Method string
		Volume float64 `json:"volume_mL"`
		U      float64 `json:"standard_uncertainty_mL"`
	}
	Methods []struct {
		Method   string
		Order    *int     `json:"equivalence_point"`
		Volume   *float64 `json:"volume_mL"`
		U        *float64 `json:"standard_uncertainty_mL"`
		Points   *int
		Refused  *string
		Warnings []string
	}
	Equivalence []struct {
		Order   int
		Species string
		Volume  float64 `json:"volume_mL"`
		U       float64 `json:"standard_uncertainty_mL"`
		K       float64 `json:"coverage_factor"`
		Method  string
	} `json:"equivalence_points"`
	Concentrations []struct {
		Species, Unit string
		Value         float64
		U             float64  `json:"standard_uncertainty"`
		Expanded      float64  `json:"expanded_uncertainty"`
		K             float64  `json:"coverage_factor"`
		Freedom       *float64 `json:"degrees_of_freedom"`
	}
	Potentials []struct {
		Couple, Reference, From string
		Value                   *float64 `json:"value_mV"`
		U                       *float64 `json:"standard_uncertainty_mV"`
	} `json:"formal_potentials"`
	Parameters []struct {
		Name, Unit string
		Value      float64
		U          float64 `json:"standard_uncertainty"`
		Start      float64
	}
	Correlation [][]float64
	Runs        []struct{ Name string }
	Mean        *struct {
		Species, Unit string
		Value         float64
		SD            float64 `json:"standard_deviation"`
		N             int
	}
	Warnings []string
	BadCells []struct {
		Row           int
		Column, Found string
		Reason        string
	} `json:"bad_cells"`
}

func decoded(t testing.TB, d Document) contract {
	t.Helper()
	var c contract
	if err := json.Unmarshal([]byte(render(t, "json", d)), &c); err != nil {
		t.Fatal(err)
	}
	return c
}

// keys are those of the contract at the top level, with whether they are lists.
var keys = map[string]bool{
	"schema": false, "recommended": false, "methods": true, "equivalence_points": true, "concentrations": true, "formal_potentials": true,
	"parameters": true, "correlation": true, "runs": true, "mean": false, "warnings": true, "bad_cells": true, "contents": true, "residuals": true,
}

func TestJSONKeys(t *testing.T) {
	for _, doc := range documents {
		t.Run(doc.name, func(t *testing.T) {
			var m map[string]any
			if err := json.Unmarshal([]byte(render(t, "json", doc.make(t))), &m); err != nil {
				t.Fatal(err)
			}
			if m["schema"] != "meniscus.evaluation/1" {
				t.Errorf("schema %v", m["schema"])
			}
			for k, list := range keys {
				v, ok := m[k]
				if !ok {
					t.Errorf("no key %q", k)
				}
				if _, is := v.([]any); list && !is {
					t.Errorf("%s is %v, not a list", k, v)
				}
			}
		})
	}
}

// TestJSONRun compares with the truth that the readings were simulated from:
// 25 mL, 0.05 mol/L.
func TestJSONRun(t *testing.T) {
	c := decoded(t, good(t))
	if c.Recommended == nil || c.Recommended.Method != "whole-curve-regression" {
		t.Fatalf("recommended %+v", c.Recommended)
	}
	if d := math.Abs(c.Recommended.Volume - 25); !(c.Recommended.U > 0) || d > 5*c.Recommended.U {
		t.Errorf("V = %v, u = %v, true 25 mL", c.Recommended.Volume, c.Recommended.U)
	}
	if len(c.Concentrations) != 1 {
		t.Fatalf("%d concentrations", len(c.Concentrations))
	}
	q := c.Concentrations[0]
	if q.Species != "Fe^2+" || q.Unit != "mol/L" || math.Abs(q.Value-0.05) > 5*q.U || math.Abs(q.Expanded-q.K*q.U) > 1e-18 {
		t.Errorf("%+v, true 0.05 mol/L", q)
	}
	n := len(c.Parameters)
	if n < 3 || len(c.Correlation) != n {
		t.Fatalf("%d parameters, %d rows of correlation", n, len(c.Correlation))
	}
	for i, row := range c.Correlation {
		for j, x := range row {
			if math.Abs(x) > 1+1e-12 || i == j && x != 1 || x != c.Correlation[j][i] {
				t.Errorf("correlation %d,%d is %v", i, j, x)
			}
		}
	}
	for _, p := range c.Potentials {
		if p.Reference != "SHE" || p.Value == nil || *p.Value < 600 || *p.Value > 1500 {
			t.Errorf("potential %+v", p)
		}
	}
	if len(c.BadCells) != 2 || c.BadCells[0].Row != 70 || c.BadCells[0].Column != "E (mV)" || c.BadCells[0].Found != "34O" {
		t.Errorf("bad cells %+v", c.BadCells)
	}
}

// TestJSONBuilt checks every digit of an evaluation made by hand.
func TestJSONBuilt(t *testing.T) {
	c := decoded(t, built(t))
	if r := c.Recommended; r == nil || r.Method != "second-derivative" || r.Volume != 24.98 || r.U != 0.055 {
		t.Errorf("recommended %+v", r)
	}
	if len(c.Methods) != 4 {
		t.Fatalf("%d methods, want one a line", len(c.Methods))
	}
	if m := c.Methods[0]; m.Order != nil || m.Volume != nil || m.U != nil || m.Points != nil || m.Refused == nil || !strings.HasPrefix(*m.Refused, "3 readings") {
		t.Errorf("refused method: %+v", m)
	}
	if m := c.Methods[2]; m.Order == nil || *m.Order != 1 || *m.Volume != 25.1 || *m.U != 0.3 || *m.Points != 2 || m.Refused != nil || len(m.Warnings) != 1 {
		t.Errorf("method with an end point: %+v", m)
	}
	if q := c.Concentrations[0]; q.Value != 0.04996 || q.U != 0.000055 || q.Expanded != 0.00011 || q.K != 2 || q.Freedom != nil {
		t.Errorf("concentration %+v", q)
	}
	if len(c.Potentials) != 2 || *c.Potentials[0].Value != 680.1 || *c.Potentials[0].U != 5.4 || c.Potentials[1].Value != nil || c.Potentials[1].U != nil {
		t.Errorf("potentials %+v", c.Potentials)
	}
	if len(c.Equivalence) != 1 || c.Equivalence[0].Species != "Fe^2+" || c.Equivalence[0].Method != "second-derivative" || math.Abs(c.Equivalence[0].K-1.96) > 1e-3 {
		t.Errorf("equivalence points %+v", c.Equivalence)
	}
	if c.Mean != nil || len(c.Runs) != 1 {
		t.Errorf("mean %+v of %d runs", c.Mean, len(c.Runs))
	}
}

// TestJSONRefused: no method gives a number.
func TestJSONRefused(t *testing.T) {
	c := decoded(t, refused(t))
	if c.Recommended != nil || len(c.Methods) != len(assay.MethodNames()) {
		t.Errorf("recommended %+v, %d methods", c.Recommended, len(c.Methods))
	}
	for _, m := range c.Methods {
		if m.Refused == nil || *m.Refused == "" {
			t.Errorf("%s gives no reason", m.Method)
		}
	}
}

// TestMean: 0.0499, 0.0500 and 0.0504 have the mean 0.0501 and the standard
// deviation sqrt(7)·1e-4 (by hand).
func TestMean(t *testing.T) {
	d := built(t)
	first := *d.Evaluations[0]
	d.Evaluations = nil
	for _, v := range []float64{0.0499, 0.0500, 0.0504, math.NaN()} {
		e := first
		e.Concentrations = []assay.Result{{Name: "Fe^2+", Unit: "mol/L", Value: v}}
		d.Evaluations = append(d.Evaluations, &e)
	}
	m := decoded(t, d).Mean
	if m == nil || m.N != 3 || math.Abs(m.Value-0.0501) > 1e-15 || math.Abs(m.SD-math.Sqrt(7)*1e-4) > 1e-15 {
		t.Fatalf("mean %+v", m)
	}
	if text := render(t, "text", d); !strings.Contains(text, "c(Fe²⁺) = 0.05010 mol/L, the mean of 3; their standard deviation is") {
		t.Error("the mean is not in the text")
	}
}

// TestNotFinite: what is no number becomes null, in every format without
// panic.
func TestNotFinite(t *testing.T) {
	d := built(t)
	e := d.Evaluations[0]
	for _, x := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		e.Concentrations[0].Value, e.Concentrations[0].StdUnc, e.Concentrations[0].Coverage = x, x, x
		e.Concentrations[0].Parts[0].StdUnc = x
		e.Curve.Readings[1].Value = x
		c := decoded(t, d)
		if c.Concentrations[0].Value != 0 {
			t.Errorf("%v became %v, not null", x, c.Concentrations[0].Value)
		}
		for _, f := range FormatNames() {
			if out := render(t, f, d); out == "" {
				t.Errorf("%s of %v is empty", f, x)
			}
		}
	}
}

func TestCSV(t *testing.T) {
	rows, err := csv.NewReader(strings.NewReader(render(t, "csv", built(t)))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 5 {
		t.Fatalf("%d rows, want a header and one for each end point or refusal", len(rows))
	}
	if v, err := strconv.ParseFloat(rows[2][5], 64); err != nil || v != 24.98 || rows[2][2] != "yes" || rows[2][4] != "Fe^2+" {
		t.Errorf("row %v", rows[2])
	}
	if rows[1][5] != "" || !strings.HasPrefix(rows[1][8], "3 readings") {
		t.Errorf("refusal %v", rows[1])
	}
}
