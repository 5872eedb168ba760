package setup

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"meniscus/equilibrium"
	"meniscus/titration"
	"meniscus/unit"
)

const examplesDir = "../examples/systems"

// An example is what stoichiometry alone says of a file in examples/systems.
type example struct {
	file string
	by   string    // hand arithmetic: amounts in mmol over the titrant's mol/L
	ve   []float64 // mL, with a jump
	flat []float64 // mL, equivalence points that show no jump
	warn string    // part of the only warning expected
}

// monotonicFrom: zinc's reading first falls, as the ammonia that binds it is
// diluted.
var monotonicFrom = map[string]float64{"zinc-edta": 10}

var examples = []example{
	{"iron-cerium", "50 x 0.04 / 0.1", []float64{20}, nil, ""},
	{"tin-cerium", "2 x 25 x 0.02 / 0.05", []float64{20}, nil, ""},
	{"titanium-cerium", "25 x 0.03 / 0.05", []float64{15}, nil, ""},
	{"uranium-cerium", "2 x 20 x 0.025 / 0.05", []float64{20}, nil, ""},
	{"vanadium-cerium", "20 x 0.02 / 0.05, three times", []float64{8, 16, 24}, nil, ""},
	{"iron-titanium-cerium", "25 x 0.01 / 0.05, and 25 x 0.02 / 0.05 more", []float64{5, 15}, nil, ""},
	{"ferrocyanide-cerium", "25 x 0.04 / 0.05", []float64{20}, nil, ""},
	{"hydroquinone-cerium", "2 x 25 x 0.02 / 0.05", []float64{20}, nil, ""},
	{"iron-permanganate", "50 x 0.05 / (5 x 0.02)", []float64{25}, nil, ""},
	{"iron-dichromate", "25 x 0.06 / (6 x 0.01)", []float64{25}, nil, ""},
	{"oxalate-permanganate", "2 x 25 x 0.05 / (5 x 0.02)", []float64{25}, nil, ""},
	{"peroxide-permanganate", "2 x 20 x 0.05 / (5 x 0.02)", []float64{20}, nil, ""},
	{"arsenic-bromate", "25 x 0.03 / (3 x 0.0125)", []float64{20}, nil, ""},
	{"arsenic-iodine", "25 x 0.02 / 0.025", []float64{20}, nil, ""},
	{"ascorbic-iodine", "25 x 0.02 / 0.025", []float64{20}, nil, ""},
	{"iodine-thiosulfate", "2 x 25 x 0.04 / 0.1", []float64{20}, nil, ""},
	{"copper-thiosulfate", "25 x 0.04 / 0.05", []float64{20}, nil, ""},
	{"iron-titanium", "25 x 0.04 / 0.05", []float64{20}, nil, ""},

	{"hydrochloric-acid", "20 x 0.1 / 0.1", []float64{20}, nil, ""},
	{"sodium-hydroxide", "20 x 0.05 / 0.1", []float64{10}, nil, ""},
	{"acetic-acid", "25 x 0.08 / 0.1", []float64{20}, nil, ""},
	{"ammonia", "25 x 0.08 / 0.1", []float64{20}, nil, ""},
	{"phosphoric-acid", "20 x 0.05 / 0.1, three times", []float64{10, 20}, []float64{30}, ""},
	{"phosphate", "20 x 0.05 / 0.1, three times", []float64{20}, []float64{10, 30}, ""},
	{"citric-acid", "20 x 0.02 / 0.05, three times", []float64{24}, []float64{8, 16}, ""},
	{"carbonate", "25 x 0.04 / 0.1, twice", []float64{10, 20}, nil, ""},
	{"glycine", "20 x 0.05 / 0.1, twice", []float64{10}, []float64{20}, ""},
	{"alanine", "20 x 0.05 / 0.1; pKa 9.9 gives hardly a jump", nil, []float64{10}, ""},
	{"mixed-acids", "20 x 0.05 / 0.1, and 20 x 0.04 / 0.1 more", []float64{18}, []float64{10}, ""},
	{"mixed-bases", "20 x 0.05 / 0.1, and 20 x 0.04 / 0.1 more", []float64{18}, []float64{10}, ""},
	{"kjeldahl", "50 x 0.01 / 0.05", []float64{10}, nil, ""},
	{"carbonated-alkali", "20 x (0.05 + 0.01) / 0.1, and 20 x 0.01 / 0.1 more", []float64{12, 14}, nil, ""},

	{"calcium-edta", "25 x 0.02 / 0.025", []float64{20}, nil, ""},
	{"magnesium-edta", "25 x 0.004 / 0.005", []float64{20}, nil, ""},
	{"hardness-edta", "50 x (0.0015 + 0.0005) / 0.005; calcium alone at 15", []float64{20}, nil, ""},
	{"zinc-edta", "25 x 0.02 / 0.025", []float64{20}, nil, ""},
	{"copper-edta", "25 x 0.02 / 0.025", []float64{20}, nil, ""},
	{"iron-edta", "25 x 0.01 / 0.0125", []float64{20}, nil, ""},

	{"chloride", "25 x 0.08 / 0.1", []float64{20}, nil, ""},
	{"bromide", "25 x 0.08 / 0.1", []float64{20}, nil, ""},
	{"iodide", "25 x 0.08 / 0.1", []float64{20}, nil, ""},
	{"halides", "30 x 0.02 / 0.1, 30 x 0.03 / 0.1 and 30 x 0.04 / 0.1 one after another; silver chloride begins before 15 mL", []float64{6, 27}, []float64{15}, ""},
	{"thiocyanate", "25 x 0.08 / 0.1", []float64{20}, nil, ""},
	{"cyanide", "25 x 0.04 / (2 x 0.025), and all of it as AgCN at 25 x 0.04 / 0.025", []float64{20, 40}, nil, ""},
	{"chloride-chromate", "50 x 0.04 / 0.1, and 2 x 50 x 0.005 / 0.1 more for the chromate", []float64{20}, []float64{25}, ""},
}

// TestExamplesAreAllTried: a file without a line above would go untried.
func TestExamplesAreAllTried(t *testing.T) {
	files, err := filepath.Glob(examplesDir + "/*.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		name := strings.TrimSuffix(filepath.Base(f), ".yaml")
		if !slices.ContainsFunc(examples, func(e example) bool { return e.file == name }) {
			t.Errorf("%s is not in the table", f)
		}
	}
	if len(files) != len(examples) {
		t.Errorf("%d files, %d lines", len(files), len(examples))
	}
}

func TestExamples(t *testing.T) {
	for _, e := range examples {
		t.Run(e.file, func(t *testing.T) {
			b, err := os.ReadFile(filepath.Join(examplesDir, e.file+".yaml"))
			if err != nil {
				t.Fatal(err)
			}
			s := readText(t, string(b))
			checkWarnings(t, s, e.warn)
			if s.Title == "" || len(s.Find) == 0 {
				t.Error("an example has a title and says what is found")
			}
			checkEquivalences(t, s, e)
			checkMonotonic(t, s, e)
			for _, v := range e.ve {
				checkJump(t, s, v, slices.Concat(e.ve, e.flat))
			}
		})
	}
}

func readText(t *testing.T, text string) *Setup {
	t.Helper()
	s, err := Read([]byte(text), "test.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func checkWarnings(t *testing.T, s *Setup, want string) {
	t.Helper()
	for _, w := range s.Warnings {
		if want == "" || !strings.Contains(w, want) {
			t.Errorf("warning: %s", w)
		}
	}
	if want != "" && len(s.Warnings) == 0 {
		t.Errorf("no warning of %q", want)
	}
}

func checkEquivalences(t *testing.T, s *Setup, e example) {
	t.Helper()
	all := slices.Concat(e.ve, e.flat)
	list, err := s.Titration.Problem.Equivalences(1.5e-3 * slices.Max(all))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range all {
		found := false
		for _, q := range list {
			found = found || math.Abs(q.Volume*1e3-want) < 1e-9*want
		}
		if !found {
			t.Errorf("no equivalence point at %g mL (%s), among %v", want, e.by, volumesOf(s, list))
		}
	}
}

// signal is what the electrode shows: potential, pH or pIon.
func signal(s *Setup, p titration.Point) float64 {
	switch s.Titration.Cell.Sensor {
	case titration.Glass:
		return p.PH
	case titration.Ion:
		return p.PIon
	}
	return p.Potential
}

// checkMonotonic: adding titrant moves the reading one way only, from the
// first drop to a quarter more than is needed. (Further on permanganate turns
// back by microvolts, as the acid is diluted.)
func checkMonotonic(t *testing.T, s *Setup, e example) {
	t.Helper()
	p := s.Titration.Predictor()
	first, last := monotonicFrom[e.file], 1.25*slices.Max(slices.Concat(e.ve, e.flat))
	sign, before := 0.0, math.NaN()
	for i := 1; i <= 400; i++ {
		pt := at(t, p, first+(last-first)*float64(i)/400)
		x := signal(s, pt)
		if math.IsNaN(x) {
			t.Fatalf("%.4g mL: nothing to read: %s", float64(pt.Volume)*1e3, pt.Undefined)
		}
		step := x - before
		if math.Abs(step) > 1e-6 {
			if sign == 0 {
				sign = step
			}
			if step*sign < 0 {
				t.Fatalf("%.4g mL: the curve turns back, from %.8g to %.8g", float64(pt.Volume)*1e3, before, x)
			}
		}
		before = x
	}
	if sign == 0 {
		t.Error("the curve is flat")
	}
}

// checkJump: the curve is steeper at an equivalence point than half way to
// its neighbours.
func checkJump(t *testing.T, s *Setup, v float64, all []float64) {
	t.Helper()
	before, after := 0.0, 1.5*v
	for _, x := range all {
		if x < v {
			before = math.Max(before, x)
		}
		if x > v {
			after = math.Min(after, x)
		}
	}
	here, left, right := steepness(t, s, v), steepness(t, s, (v+before)/2), steepness(t, s, (v+after)/2)
	if !(here > 3*left && here > 3*right) {
		t.Errorf("no jump at %g mL: %.3g, against %.3g and %.3g half way", v, here, left, right)
	}
}

// steepness is the change of the reading over 0.02 mL around a volume.
func steepness(t *testing.T, s *Setup, v float64) float64 {
	t.Helper()
	p := s.Titration.Predictor()
	return math.Abs(signal(s, at(t, p, v+0.01)) - signal(s, at(t, p, v-0.01)))
}

// at solves at a volume in mL.
func at(t *testing.T, p *titration.Predictor, mL float64) titration.Point {
	t.Helper()
	d, ok := unit.DecimalOf(mL)
	if !ok {
		t.Fatalf("%g is no volume", mL)
	}
	pt, err := p.At(d.Shift(-3))
	if err != nil {
		t.Fatal(err)
	}
	return pt
}

func volumesOf(s *Setup, list []equilibrium.Equivalence) []string {
	var out []string
	for _, q := range list {
		out = append(out, fmt.Sprintf("%.6g mL (%s, then %s)", q.Volume*1e3, s.System().Species[q.Species].Name, s.System().Species[q.Next].Name))
	}
	return out
}
