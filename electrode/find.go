package electrode

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"meniscus/unit"
)

// An UnknownError reports text that names no reference electrode.
type UnknownError struct {
	Text   string
	Reason string
	Known  []string // names in References, nearest first
}

func (e *UnknownError) Error() string {
	return fmt.Sprintf("reference electrode %q: %s; known are %s, or write a potential against SHE such as 0.241 V",
		e.Text, e.Reason, strings.Join(e.Known, "; "))
}

// FindReference returns the reference electrode that text means: a name as
// chemists write it, in any case ("SCE", "Ag/AgCl, 3 M KCl", "saturated
// calomel"), or a potential against SHE with its unit and perhaps its
// uncertainty ("0.241 V", "207 mV ± 2 mV"). A name without its filling is
// refused with an UnknownError, since fillings differ by up to 0.1 V; KCl is
// assumed where no salt is named.
func FindReference(text string) (Reference, error) {
	if numberStart.MatchString(text) {
		r, isNumber, err := userValue(text)
		if isNumber {
			return r, err
		}
	}
	w := readWords(text)
	if !w.known {
		return Reference{}, unknown(text, "is not known", w)
	}
	if potential.MatchString(text) {
		return Reference{}, unknown(text, "has a name and a potential, write one of them", w)
	}
	var found []Reference
	for _, r := range References {
		if w.fits(r) {
			found = append(found, r)
		}
	}
	switch {
	case len(found) == 1:
		return found[0], nil
	case len(found) > 1 && !w.filled:
		return Reference{}, unknown(text, "the filling is missing", w)
	case len(found) > 1:
		return Reference{}, unknown(text, "fits more than one", w)
	}
	return Reference{}, unknown(text, "this filling is not known", w)
}

var (
	against       = regexp.MustCompile(`(?i)\s*\(?(vs\.?|versus|against)\s+(the\s+)?(she|nhe)\)?\s*$`)
	potential     = regexp.MustCompile(`[0-9]\s*[mMµ]?[vV](\W|$)`)
	numberStart   = regexp.MustCompile(`^\s*[-+−.]?[0-9.]`)
	decimalComma  = regexp.MustCompile(`([0-9]),([0-9])`)
	concentration = regexp.MustCompile(`([0-9]*\.?[0-9]+)\s*(mol/l|mol/dm3|mol l-1|mol l\^-1|mol·l-1|molar|m|n)(?:[^a-z0-9/]|$)`)
	plainWords    = regexp.MustCompile(`[a-z0-9]+`)
)

// userValue reads a potential; isNumber is false if text is no quantity at
// all, such as "3 M KCl Ag/AgCl".
func userValue(text string) (r Reference, isNumber bool, err error) {
	q, err := unit.ParseQuantity(against.ReplaceAllString(text, ""))
	if err != nil {
		if readWords(text).known {
			return Reference{}, false, nil
		}
		return Reference{}, true, fmt.Errorf("reference electrode %q: %w", text, err)
	}
	v, u, err := q.In(unit.DimPotential, "0.241 V")
	if err != nil {
		return Reference{}, true, fmt.Errorf("reference electrode %q: %w", text, err)
	}
	return Reference{
		Name: "user value " + q.Text, At25: unit.Potential(v.Float()), Source: "the user", Origin: Read,
		Fixed: true, user: true, stated: q.Stated, given: unit.Potential(u),
	}, true, nil
}

// words is what a name says of the electrode.
type words struct {
	known   bool // the couple was recognised
	couple  couple
	salt    string // "" if none was named
	filled  bool   // a filling was given
	filling float64
}

// Names of the couples and salts as users write them, each as one word or as
// words that all occur.
var coupleWords = []struct {
	couple couple
	words  string
}{
	{hydrogen, "she"},
	{hydrogen, "nhe"},
	{hydrogen, "standard hydrogen"},
	{hydrogen, "normal hydrogen"},
	{calomel, "sce"},
	{calomel, "calomel"},
	{calomel, "hg2cl2"},
	{calomel, "mercurous chloride"},
	{silverChloride, "agcl"},
	{silverChloride, "agagcl"},
	{silverChloride, "silver chloride"},
	{mercurySulfate, "hg2so4"},
	{mercurySulfate, "mercury sulfate"},
	{mercurySulfate, "mercury sulphate"},
	{mercurySulfate, "mercurous sulfate"},
	{mercurySulfate, "mercurous sulphate"},
	{mercuryOxide, "hgo"},
	{mercuryOxide, "mercury oxide"},
	{mercuryOxide, "mercuric oxide"},
	{copperSulfate, "cu cuso4"},
	{copperSulfate, "copper sulfate"},
	{copperSulfate, "copper sulphate"},
}

var saltWords = []string{"kcl", "nacl", "licl", "nh4cl", "hcl", "k2so4", "na2so4", "h2so4", "naoh", "koh", "cuso4", "standard"}

func readWords(text string) words {
	s := normal(text)
	list := plainWords.FindAllString(s, -1)
	var w words
	for _, row := range coupleWords {
		if containsAll(list, strings.Fields(row.words)) {
			w.known, w.couple = true, row.couple
			break
		}
	}
	for _, salt := range saltWords {
		if slices.Contains(list, salt) && w.couple != hydrogen {
			w.salt = salt
			break
		}
	}
	w.readFilling(s, list)
	return w
}

func (w *words) readFilling(s string, list []string) {
	if slices.ContainsFunc(list, func(x string) bool { return x == "sce" || strings.HasPrefix(x, "sat") }) {
		w.filled, w.filling = true, saturated
	}
	if m := concentration.FindStringSubmatch(s); m != nil {
		c, err := strconv.ParseFloat(m[1], 64)
		if err != nil || w.filled { // "saturated" and a concentration contradict
			c = math.NaN()
		}
		w.filled, w.filling = true, c
	}
	w.filled = w.filled || w.salt == "standard" || w.known && w.couple == hydrogen
}

// normal lowers text, and writes decimal commas and subscripts plainly.
func normal(text string) string {
	s := strings.NewReplacer("₁", "1", "₂", "2", "₃", "3", "₄", "4", "³", "3", "⁻¹", "-1").Replace(strings.ToLower(text))
	return decimalComma.ReplaceAllString(s, "$1.$2")
}

func containsAll(list, want []string) bool {
	for _, x := range want {
		if !slices.Contains(list, x) {
			return false
		}
	}
	return true
}

func (w words) fits(r Reference) bool {
	if r.couple != w.couple || w.salt != "" && w.salt != r.salt {
		return false
	}
	if !w.filled {
		return true
	}
	return r.filling == w.filling || w.salt == "standard"
}

// unknown lists electrodes of the same couple first, then by likeness of name.
func unknown(text, reason string, w words) error {
	type ranked struct {
		name  string
		other int // 1 for another couple
		edits int
	}
	list := make([]ranked, len(References))
	for i, r := range References {
		list[i] = ranked{name: r.Name, edits: distance(normal(text), normal(r.Name))}
		if w.known && r.couple != w.couple {
			list[i].other = 1
		}
	}
	slices.SortStableFunc(list, func(a, b ranked) int {
		if a.other != b.other {
			return a.other - b.other
		}
		return a.edits - b.edits
	})
	names := make([]string, len(list))
	for i, x := range list {
		names[i] = x.name
	}
	return &UnknownError{Text: text, Reason: reason, Known: names}
}

// distance is the number of characters to insert, delete or replace
// (Levenshtein 1966, from memory). Only the first 60 of each text count.
func distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	x, y = x[:min(len(x), 60)], y[:min(len(y), 60)]
	row := make([]int, len(y)+1)
	for j := range row {
		row[j] = j
	}
	for i := range x {
		diagonal := row[0]
		row[0] = i + 1
		for j := range y {
			cost := 1
			if x[i] == y[j] {
				cost = 0
			}
			diagonal, row[j+1] = row[j+1], min(row[j+1]+1, row[j]+1, diagonal+cost)
		}
	}
	return row[len(y)]
}
