package worked

import (
	"embed"
	"fmt"
	"io/fs"
	"path"
)

// The curves are made by reference/reference.py (Python's standard library, 200
// decimal digits), which proves each point from the reactions before it writes
// it: every law to 1e-90 decades, every balance to 1e-90 of its terms.
//
//go:embed reference/systems/*.json
var systemFiles embed.FS

// A Kind is a family of titrations.
type Kind string

// The families of Systems.
const (
	Redox          Kind = "redox"
	AcidBase       Kind = "acid-base"
	Complexometric Kind = "complexometric"
	Silver         Kind = "silver"
)

// A System is one titration with its curve in many digits. All numbers are
// decimal texts, exact where they are inputs. Temperature is 298.15 K.
// Concentrations are in mol/L, volumes in mL.
type System struct {
	ID      string `json:"id"`
	Kind    Kind   `json:"kind"`
	Title   string `json:"title"`
	Note    string `json:"note"`  // conventions: what is held, what H+ and pH mean
	Setup   string `json:"setup"` // the setup file, library off, with every constant
	FlaskML string `json:"flask_volume_mL"`

	Flask   map[string]string `json:"flask"`    // before the first drop
	Burette map[string]string `json:"burette"`  //
	Held    map[string]string `json:"held"`     // fixed at every volume
	DaviesA string            `json:"davies_A"` // empty: ideal

	EquivalenceML []string          `json:"equivalence_mL"`  // rising
	UndefinedML   []string          `json:"undefined_at_mL"` // where the electrode has no potential
	OnsetsML      map[string]string `json:"onsets_mL"`       // solid: volume at which it first appears
	Inert         []string          `json:"inert"`           // in contains, in no reaction

	Balances []Balance        `json:"balances"`
	Laws     []Law            `json:"laws"`
	Points   []ReferencePoint `json:"points"`
}

// A Balance is conserved by every reaction: the sum of coefficient times
// concentration is what was put in. "e^-" counts electrons, "H^+" protons.
type Balance struct {
	Name    string         `json:"name"`
	Species map[string]int `json:"species"`
}

// A Law is a reaction at equilibrium: the sum of coefficient times log activity
// over Species is log10 K less Electrons times E/(RT ln10/F), where log10 K
// comes from Constant ("pKa", "log K", "formal potential", ...) and Value. A
// solid's activity is 1; if it is absent the sum is at most that. Water, of
// activity 1, is left out.
type Law struct {
	Reaction  string         `json:"reaction"`
	Constant  string         `json:"constant"`
	Value     string         `json:"value"`
	Species   map[string]int `json:"species"` // products positive
	Electrons int            `json:"electrons"`
}

// A ReferencePoint is the equilibrium at one volume. Potential, pH, P and
// IonicStrength have 30 significant digits, Concentrations 40 (a solid's is its
// amount per litre of mixture). The derivatives are those of the pH for an
// acid-base system, otherwise of the potential in volts, by the volume in mL;
// they are left out at V = 0.
type ReferencePoint struct {
	VolumeML       string            `json:"volume_mL"`
	Potential      string            `json:"E_SHE_V"` // V against SHE; empty for acid-base
	PH             string            `json:"pH"`      // -log a(H+); empty where H+ plays no part
	P              map[string]string `json:"p"`       // -log activity of the ions followed
	IonicStrength  string            `json:"ionic_strength"`
	First          string            `json:"first_derivative_per_mL"`
	Second         string            `json:"second_derivative_per_mL2"`
	Concentrations map[string]string `json:"concentrations"`
}

// Systems returns every reference system, sorted by id.
func Systems() ([]System, error) {
	names, err := fs.Glob(systemFiles, "reference/systems/*.json")
	if err != nil {
		return nil, fmt.Errorf("listing reference systems: %w", err)
	}
	out := make([]System, len(names))
	for i, name := range names {
		if out[i], err = readSystem(name); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// Reference returns the reference system with an id.
func Reference(id string) (System, error) {
	return readSystem(path.Join("reference/systems", id+".json"))
}

// At returns the point at a volume written as in Points.
func (s System) At(volumeML string) (ReferencePoint, error) {
	for _, p := range s.Points {
		if p.VolumeML == volumeML {
			return p, nil
		}
	}
	return ReferencePoint{}, fmt.Errorf("%s has no point at %s mL", s.ID, volumeML)
}

func readSystem(name string) (System, error) {
	var s System
	b, err := systemFiles.ReadFile(name)
	if err != nil {
		return s, fmt.Errorf("reading reference system: %w", err)
	}
	if err := decode(b, &s); err != nil {
		return s, fmt.Errorf("reading reference system %s: %w", path.Base(name), err)
	}
	return s, nil
}
