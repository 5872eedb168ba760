package assay

import (
	"math"
	"strings"
	"testing"

	"meniscus/internal/lab"
	"meniscus/setup"
)

// TestBias: with couples 0.20 V apart the inflection lies 0.17 % before
// equivalence, 0.0425 mL of 25 (closed form of two one-electron couples). The
// second derivative, read in steps of 0.1 mL, is told so and corrected by it.
func TestBias(t *testing.T) {
	r := lab.IronCerium()
	r.Titrant.E = 0.88
	c := lab.Bench{Noise: 2e-5, VolumeNoise: 1e-6}.Run(r, lab.DefaultPlan(0.025).Volumes(), 3)
	s, err := setup.Read([]byte(strings.Replace(diagnosedIron, "1.44", "0.88", 1)+"readings: {potential: 0.02 mV, volume: 0.001 mL}\n"), "near.yaml")
	if err != nil {
		t.Fatal(err)
	}
	e, err := Evaluate(&c, s, Options{Method: "second-derivative", Bias: true})
	if err != nil {
		t.Fatal(err)
	}
	p := e.EquivalencePoints[0]
	if p.Bias == nil || !p.Bias.Applied {
		t.Fatalf("no bias is corrected: %+v", p)
	}
	raw := e.Methods[e.Recommended].Points[0].Volume
	t.Logf("raw %.4f, bias %.4f ± %.4f, corrected %.4f ± %.4f mL", raw.Millilitres(), p.Bias.Volume.Millilitres(), p.Bias.StdUnc.Millilitres(), p.Volume.Millilitres(), p.StdUnc.Millilitres())
	if math.Abs(p.Bias.Volume.Millilitres()+0.0425) > 0.01 {
		t.Errorf("bias %.4f mL, want about -0.0425", p.Bias.Volume.Millilitres())
	}
	if d := math.Abs(float64(p.Volume) - 0.025); d > 3*float64(p.StdUnc) || d > 0.5*math.Abs(float64(raw)-0.025) {
		t.Errorf("corrected %.4f mL ± %.4f, true 25 mL, raw %.4f mL", p.Volume.Millilitres(), p.StdUnc.Millilitres(), raw.Millilitres())
	}
	if len(e.Inflections) != 1 || math.Abs(float64(e.Inflections[0].Beyond)+4.25e-5) > 3e-6 {
		t.Errorf("inflections %+v, want one 0.0425 mL before equivalence", e.Inflections)
	}
}
