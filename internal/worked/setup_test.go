package worked_test

import (
	"maps"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"

	"meniscus/internal/worked"
)

// setupFile has the keys of a setup file that reference systems use.
type setupFile struct {
	Title       string `yaml:"title"`
	Temperature string `yaml:"temperature"`
	Find        any    `yaml:"find"`
	Flask       struct {
		Volume   string            `yaml:"volume"`
		Contains map[string]string `yaml:"contains"`
	} `yaml:"flask"`
	Burette struct {
		Contains map[string]string `yaml:"contains"`
	} `yaml:"burette"`
	Electrode map[string]string   `yaml:"electrode"`
	Activity  any                 `yaml:"activity"`
	Hold      map[string]string   `yaml:"hold"`
	Chemistry []map[string]string `yaml:"chemistry"`
	Library   string              `yaml:"library"`
	Volumes   string              `yaml:"volumes"`
}

func parseSetup(t *testing.T, s worked.System) setupFile {
	t.Helper()
	var out setupFile
	if err := yaml.UnmarshalWithOptions([]byte(s.Setup), &out, yaml.Strict()); err != nil {
		t.Fatalf("%s: %v", s.ID, err)
	}
	return out
}

// The setup says the same as the data beside it: composition, every constant,
// what is held, the volumes.
func TestSetupAgrees(t *testing.T) {
	for _, s := range systems(t) {
		f := parseSetup(t, s)
		if f.Library != "off" || f.Temperature != "25 °C" || f.Flask.Volume != s.FlaskML+" mL" || f.Electrode["reference"] != "SHE" {
			t.Errorf("%s: library %q, temperature %q, flask %q, reference %q", s.ID, f.Library, f.Temperature, f.Flask.Volume, f.Electrode["reference"])
		}
		for _, part := range []struct{ setup, data map[string]string }{{f.Flask.Contains, s.Flask}, {f.Burette.Contains, s.Burette}} {
			if !maps.Equal(part.setup, withUnit(part.data)) {
				t.Errorf("%s: setup contains %v, data %v", s.ID, part.setup, part.data)
			}
		}
		if len(f.Hold) != len(s.Held) || (f.Activity == "ideal") != (s.DaviesA == "") {
			t.Errorf("%s: holds %v and %v, activity %v", s.ID, f.Hold, s.Held, f.Activity)
		}
		checkChemistry(t, s, f)
		volumes := strings.Split(strings.TrimSuffix(f.Volumes, " mL"), ", ")
		if len(volumes) != len(s.Points) {
			t.Fatalf("%s: %d volumes, %d points", s.ID, len(volumes), len(s.Points))
		}
		for i, p := range s.Points {
			if volumes[i] != p.VolumeML {
				t.Errorf("%s: volume %s, point %s", s.ID, volumes[i], p.VolumeML)
			}
		}
	}
}

func withUnit(contains map[string]string) map[string]string {
	out := map[string]string{}
	for x, c := range contains {
		out[x] = c + " mol/L"
	}
	return out
}

func checkChemistry(t *testing.T, s worked.System, f setupFile) {
	t.Helper()
	if len(f.Chemistry) != len(s.Laws) {
		t.Fatalf("%s: %d reactions, %d laws", s.ID, len(f.Chemistry), len(s.Laws))
	}
	for i, l := range s.Laws {
		got, unit := f.Chemistry[i], ""
		if strings.HasSuffix(l.Constant, "potential") {
			unit = " V"
		}
		text, ok := strings.CutSuffix(got[l.Constant], unit)
		if !ok || len(got) != 2 || got["reaction"] != l.Reaction || number(t, text) != number(t, l.Value) {
			t.Errorf("%s: setup has %v, law is %+v", s.ID, got, l)
		}
	}
}

// The coefficients of each law are those of the reaction as the setup writes it.
func TestLawsReadTheReaction(t *testing.T) {
	for _, s := range systems(t) {
		for _, l := range s.Laws {
			got, electrons := map[string]int{}, 0
			left, right, ok := strings.Cut(l.Reaction, " = ")
			if !ok {
				t.Fatalf("%s: %q", s.ID, l.Reaction)
			}
			for sign, side := range map[int]string{-1: left, 1: right} {
				for _, term := range strings.Split(side, " + ") {
					n, species := 1, term
					if a, b, ok := strings.Cut(term, " "); ok {
						n, species = int(number(t, a)), b
					}
					switch species {
					case "H2O":
					case "e^-":
						electrons -= sign * n
					default:
						got[species] += sign * n
					}
				}
			}
			if !maps.Equal(got, l.Species) || electrons != l.Electrons {
				t.Errorf("%s: %s read as %v and %d electrons, law has %v and %d", s.ID, l.Reaction, got, electrons, l.Species, l.Electrons)
			}
		}
	}
}
