package setup

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"

	"meniscus/equilibrium"
	"meniscus/internal/worked"
	"meniscus/unit"
)

// A published example is recomputed from a setup with its own constants, or
// stands in notRecomputed with the reason.
var published = joined(publishedRedox, publishedAcids, publishedSalts, publishedElectrolytes)

func joined(parts ...map[string]func(*testing.T, worked.Record)) map[string]func(*testing.T, worked.Record) {
	all := map[string]func(*testing.T, worked.Record){}
	for _, part := range parts {
		maps.Copy(all, part)
	}
	return all
}

// notRecomputed lists records that the engine cannot recompute, and why.
var notRecomputed = map[string]string{
	"ab-gran-setup": "the readings behind the scale factor are a picture on the page and were not read",
}

// misprints are printed values that are wrong; beside them what the record's
// constants give exactly.
var misprints = map[string]map[string]float64{
	"ab-hcl-naoh-equal-volume": {"pH at V=20.1 mL": 10.397, "pH at V=21.0 mL": 11.387},
	"ppt-harvey-cl":            {"pCl at V=25 mL": 4.872, "pAg at V=25 mL": 4.872}, // truncated on the way
	"edta-alpha-harris":        {"alpha(Y4-) at pH 0": 1.0e-23},                    // the six constants give 1.00e-23, not 1.3e-23
	"davies-examples":          {`log gamma z=1 at I=0.1 by "Davies"`: -0.1062},    // 0.3 I subtracted outside the bracket
}

// TestPublished compares every published record with what a setup gives.
func TestPublished(t *testing.T) {
	for _, topic := range worked.Topics {
		records, err := worked.Published(topic)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range records {
			check, ok := published[r.ID]
			reason, left := notRecomputed[r.ID]
			if ok == left {
				t.Errorf("%s: recomputed %t, listed as not recomputed %t", r.ID, ok, left)
				continue
			}
			if left {
				t.Logf("%s (%s): not recomputed: %s", r.ID, r.Source, reason)
				continue
			}
			t.Run(r.ID+"/"+origin(r), func(t *testing.T) {
				t.Log(r.Source)
				check(t, r)
			})
		}
	}
}

func origin(r worked.Record) string {
	if r.Origin == worked.Memory {
		return "from memory"
	}
	return "read"
}

// compare holds a computed value against the printed one. A tolerance of 0
// means exact, which a reaction that leaves 1e-10 behind reaches to 1e-9.
func compare(t *testing.T, r worked.Record, e worked.Expected, got float64) {
	t.Helper()
	if exact, ok := misprints[r.ID][e.Quantity]; ok {
		if math.Abs(got-e.Value) <= e.Tolerance {
			t.Errorf("%s: %g agrees with the print; it is no misprint", e.Quantity, got)
		}
		if !(math.Abs(got-exact) <= 6e-4*math.Abs(exact)) && !(math.Abs(got-exact) <= 6e-4) {
			t.Errorf("%s: %.6g, want %.6g, where %.6g is a misprint (%s, %s)", e.Quantity, got, exact, e.Value, r.Source, origin(r))
		}
		return
	}
	tolerance := e.Tolerance*(1+1e-9) + 1e-9*math.Abs(e.Value)
	if !(math.Abs(got-e.Value) <= tolerance) {
		t.Errorf("%s: %.6g, want %.6g ± %.2g %s (%s, %s)", e.Quantity, got, e.Value, e.Tolerance, e.Unit, r.Source, origin(r))
	}
}

// A bench is a setup under test: contents in mol/L, rows of chemistry, and
// further lines.
type bench struct {
	volume, flask, burette string
	chemistry              []string
	lines                  string
	slope                  float64 // V a decade that the book uses; 0 for that of 25 °C
}

func (b bench) read(t *testing.T) *Setup {
	t.Helper()
	text := ""
	if b.slope != 0 {
		text += fmt.Sprintf("temperature: %.6f K\n", b.slope*unit.Faraday/unit.GasConstant/math.Ln10)
	}
	text += fmt.Sprintf("flask:\n  volume: %s mL\n  contains: {%s}\nburette:\n  contains: {%s}\n%slibrary: off\n", b.volume, molar(b.flask), molar(b.burette), b.lines)
	if len(b.chemistry) > 0 {
		text += "chemistry:\n"
	}
	for _, row := range b.chemistry {
		text += "  - {reaction: " + row + "}\n"
	}
	return readText(t, text)
}

// molar puts the unit behind each amount of a list like "Fe^2+: 0.1, Cl^-: 0.2".
func molar(list string) string {
	parts := strings.Split(list, ", ")
	for i := range parts {
		parts[i] += " mol/L"
	}
	return strings.Join(parts, ", ")
}

// predicted compares all quantities that name a volume; reference is the
// potential of the reference electrode, V, where one is used.
func predicted(t *testing.T, r worked.Record, s *Setup, reference float64) {
	t.Helper()
	seen := 0
	for _, e := range r.Expected {
		place, err := worked.ParsePlace(e.Quantity)
		if err != nil {
			continue
		}
		seen++
		compare(t, r, e, place1(t, s, place, reference))
	}
	if seen == 0 {
		t.Fatal("no quantity names a volume")
	}
}

// place1 computes E, pH, a p-quantity or a concentration at a volume.
func place1(t *testing.T, s *Setup, place worked.Place, reference float64) float64 {
	t.Helper()
	p := s.Titration.Predictor()
	d, err := unit.ParseDecimal(place.VolumeML)
	if err != nil {
		t.Fatal(err)
	}
	pt, err := p.At(d.Shift(-3))
	if err != nil {
		t.Fatal(err)
	}
	conc := func(name string) float64 {
		j := slices.IndexFunc(s.System().Species, func(sp equilibrium.Species) bool {
			return plain(sp.Name) == name || "["+strings.ReplaceAll(sp.Name, "^", "")+"]" == place.What
		})
		if j < 0 {
			t.Fatalf("no %s", name)
		}
		return p.Solver.Concentration(j)
	}
	switch what := place.What; {
	case what == "E" && place.Reference == "SCE":
		return pt.Standard - reference
	case what == "E":
		return pt.Standard
	case what == "pH":
		return pt.PH
	case strings.HasPrefix(what, "p"):
		return -math.Log10(conc(strings.TrimPrefix(what, "p")))
	case what == "[H3O+]":
		return conc("H+")
	case strings.HasPrefix(what, "["):
		return conc(strings.Trim(what, "[]"))
	}
	t.Fatalf("%+v is of no kind known", place)
	return 0
}

// plain writes a name as books print it, and a bare element for its ion.
func plain(name string) string {
	s := strings.ReplaceAll(name, "^", "")
	if one, ok := map[string]string{"Ag+": "Ag", "Cl-": "Cl", "Cd2+": "Cd", "Mg2+": "Mg"}[s]; ok {
		return one
	}
	return s
}

// equivalence returns the first equivalence volume, mL.
func equivalence(t *testing.T, s *Setup) float64 {
	t.Helper()
	list, err := s.Titration.Problem.Equivalences(1)
	if err != nil {
		t.Fatal(err)
	}
	if len(list) == 0 {
		t.Fatal("no equivalence point")
	}
	return list[0].Volume * 1e3
}

// input is a number of a record.
func input(t *testing.T, r worked.Record, name string) float64 {
	t.Helper()
	x, err := r.Number(name)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// expected is a printed value of a record.
func expected(t *testing.T, r worked.Record, quantity string) worked.Expected {
	t.Helper()
	for _, e := range r.Expected {
		if e.Quantity == quantity {
			return e
		}
	}
	t.Fatalf("%s: no %q", r.ID, quantity)
	return worked.Expected{}
}

// numberIn is the number behind a word of a quantity, such as 25 in "S at 25 C".
func numberIn(t *testing.T, quantity, after string) float64 {
	t.Helper()
	_, rest, ok := strings.Cut(quantity, after)
	if !ok {
		t.Fatalf("%q has no %q", quantity, after)
	}
	return parse(t, strings.Fields(strings.TrimLeft(rest, "="))[0])
}
