package curve

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// words are the header words by quantity: English, German, French, Spanish,
// Italian and Portuguese, lower case, accents removed. _ is a blank.
var words = map[quantity]string{
	qVolume: `vol volume volumen volumes volums added added_volume volume_added titrant titrant_volume vol_added
		volume_of_titrant titrator_volume titrantvolumen zugabe zugabevolumen verbrauch volumenzugabe volume_ajoute
		vol_ajoute v_ajoute volume_verse volumen_anadido volumen_agregado agregado anadido volume_aggiunto
		volume_adicionado burette burette_reading buret buret_reading burettenstand bureta ml`,
	qPotential: `e u emf emk fem potential potenzial potentiel potencial potenziale potentials voltage spannung
		tension voltaje voltagem tensione cell_potential ecell e_cell zellspannung redox_potential redoxpotential
		redoxpotenzial orp mv millivolt electrode_potential`,
	qPH:          `ph ph_value ph_wert phwert ph_reading valeur_ph valeur_de_ph valor_ph valor_de_ph`,
	qPIon:        `pion p_ion`,
	qTime:        `time zeit temps tiempo tempo dauer duree elapsed elapsed_time uhrzeit hora heure`,
	qTemperature: `temp temperature temperatur temperatura`,
	qRun: `run run_no run_number lauf serie series essai ensayo replicate replica replicat repetition wiederholung
		titration titration_no titrage titulacion valoracion sample probe echantillon muestra`,
	qExcluded: `excluded left_out`,
	qIgnored: `derivative ableitung derivee derivada derivata mean mittel mittelwert moyenne media average slope
		difference differenz delta gran increment inkrement residual blank`,
}

// index looks a phrase up.
var index = func() map[string]quantity {
	m := map[string]quantity{"v": qSymbolV}
	for q, list := range words {
		for w := range strings.FieldsSeq(list) {
			m[w] = q
		}
	}
	return m
}()

// How well a header says what its column holds.
const (
	byUnit  = 1 // only the unit is known
	byWord  = 2 // one of its words
	byStart = 3 // it begins with the words
	byName  = 4 // it is exactly the words
)

// A heading is a header cell that was taken apart.
type heading struct {
	text     string // as found
	q        quantity
	strength int
	unit     *unitDef
	unknown  string // stands where a unit would stand
	sure     bool   // unknown stands in brackets, or behind a slash and a known name
	upper    bool   // the symbol is a capital: T, not t
	run      string // "1" of "V1", or "Run 1" of "Run 1 V"
}

// fold makes a header comparable: one line, single blanks, no accents.
func fold(s string) string {
	s = norm.NFD.String(strings.Join(strings.Fields(strings.ReplaceAll(trim(s), "\u00A0", " ")), " "))
	return strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Mn, r) {
			return -1
		}
		return r
	}, s)
}

// parseHeading takes a header cell apart: name, unit, run.
func parseHeading(text string) heading {
	h := heading{text: trim(text)}
	if h.text == "" || len(h.text) > 200 || looksNumeric(h.text) {
		return h
	}
	name := fold(h.text)
	if strings.ContainsAny(name, "Δ∆∂²′") {
		h.q = qIgnored
		return h
	}
	name = h.cutBrackets(name)
	if h.unit == nil {
		name = h.cutSlash(name)
	}
	h.name(name)
	if h.unit == nil && !h.sure {
		h.trailingUnit(name)
	}
	h.settleUnit()
	return h
}

// cutBrackets takes "(mL)" or "[mV vs SCE]" out of a name.
func (h *heading) cutBrackets(name string) string {
	open := strings.LastIndexAny(name, "([{")
	if open < 0 {
		return name
	}
	end := strings.IndexAny(name[open:], ")]}")
	if end < 0 {
		return name
	}
	inside, rest := name[open+1:open+end], name[:open]+" "+name[open+end+1:]
	h.seeUnit(inside)
	if h.unit == nil {
		h.sure = !remark(inside)
	}
	return trim(rest)
}

// remark reports words in brackets that cannot be meant as a unit: a reference
// electrode, or a header word.
func remark(inside string) bool {
	first := strings.ToLower(firstWord(trim(inside)))
	switch first {
	case "", "vs", "versus", "against", "gegen", "contre", "contra", "frente", "corrected", "raw":
		return true
	}
	_, known := index[first]
	return known
}

// cutSlash takes "/ mL" or " in mL" off the end of a name.
func (h *heading) cutSlash(name string) string {
	i, n := strings.LastIndex(name, "/"), 1
	if i < 0 {
		i, n = strings.LastIndex(name, " in "), 4
	}
	if i < 0 {
		return name
	}
	left, right := trim(name[:i]), trim(name[i+n:])
	var u heading
	u.seeUnit(right)
	if u.unit != nil {
		h.unit, h.unknown, h.sure = u.unit, "", false
		return left
	}
	if q, strength, _ := lookupName(left); strength == byName && q != qIgnored && n == 1 {
		h.unknown, h.sure = right, true
		return left
	}
	return name
}

// seeUnit reads what stands where a unit stands; words may follow it.
func (h *heading) seeUnit(s string) {
	s = trim(s)
	if u, ok := lookupUnit(s); ok {
		h.unit = u
		return
	}
	first, _, more := strings.Cut(strings.ReplaceAll(s, ",", " "), " ")
	if u, ok := lookupUnit(first); ok && more {
		h.unit = u
		return
	}
	h.unknown = s
}

// name finds the quantity of what is left when the unit is gone.
func (h *heading) name(name string) {
	if first, rest, ok := runPrefix(name); ok {
		h.run, name = first, rest
	}
	var idx string
	h.q, h.strength, idx = lookupName(name)
	if h.run == "" {
		h.run = idx
	}
	if r := []rune(name); len(r) > 0 {
		h.upper = unicode.IsUpper(r[0])
	}
}

// runPrefix splits "Run 1 V" and "Lauf 2: E".
func runPrefix(name string) (first, rest string, ok bool) {
	f := strings.FieldsFunc(name, func(r rune) bool { return r == ' ' || r == '_' || r == ':' })
	if len(f) < 3 || len(f[1]) > 3 {
		return "", "", false
	}
	if q := index[strings.ToLower(f[0])]; q != qRun {
		return "", "", false
	}
	return f[0] + " " + f[1], strings.Join(f[2:], " "), true
}

// lookupName finds the quantity that a name without unit stands for, how well
// it says so, and the run number behind it.
func lookupName(name string) (q quantity, strength int, run string) {
	toks := strings.FieldsFunc(name, func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r)
	})
	if len(toks) == 0 {
		return qNone, 0, ""
	}
	toks, run = cutIndex(toks)
	if isPIon(toks[0]) {
		return qPIon, byName, run
	}
	for i := range toks {
		toks[i] = strings.ToLower(toks[i])
	}
	if derived(toks) {
		return qIgnored, byName, ""
	}
	if q, ok := phrase(toks); ok {
		return q, byName, run
	}
	for n := len(toks) - 1; n > 0; n-- {
		if q, ok := phrase(toks[:n]); ok && q != qRun && q != qExcluded {
			return q, byStart, run
		}
	}
	for _, t := range toks[1:] {
		if q, ok := index[t]; ok && len(t) > 2 {
			return q, byWord, run
		}
	}
	return qNone, 0, run
}

// phrase looks up words; t and T are both time until the unit has its say.
func phrase(toks []string) (quantity, bool) {
	p := strings.Join(toks, "_")
	if p == "t" {
		return qTime, true
	}
	q, ok := index[p]
	return q, ok
}

// cutIndex takes a run number off the last word: V1, "E 2", pH_3. A 0 is part
// of a symbol (E0), not a run.
func cutIndex(toks []string) ([]string, string) {
	last := toks[len(toks)-1]
	stem := strings.TrimRight(last, "0123456789")
	num := last[len(stem):]
	if num == "" || num[0] == '0' || len(num) > 3 {
		return toks, ""
	}
	if stem != "" {
		toks[len(toks)-1] = stem
		return toks, num
	}
	if len(toks) == 1 {
		return toks, ""
	}
	return toks[:len(toks)-1], num
}

// isPIon reports pAg, pCa, pI and the like: p and the symbol of an element.
func isPIon(t string) bool {
	r := []rune(t)
	if len(r) < 2 || len(r) > 3 || r[0] != 'p' || strings.Contains(" pH pE pKa pKb ", " "+t+" ") || !unicode.IsUpper(r[1]) {
		return false
	}
	return len(r) == 2 || unicode.IsLower(r[2])
}

// derived reports names of slopes, differences and means.
func derived(toks []string) bool {
	for _, t := range toks {
		if index[t] == qIgnored {
			return true
		}
		switch t {
		case "de", "dv", "du", "dph", "d2e", "d2ph", "dmv", "dml", "dvol":
			return true
		}
	}
	return false
}

// trailingUnit reads V_mL, "Volume mL" and "E, mV": a last word that is a unit
// of the quantity that the words before it name.
func (h *heading) trailingUnit(name string) {
	i := strings.LastIndexAny(name, " _,;:-.")
	if i < 0 {
		if u, ok := lookupUnit(name); ok && u.name != "" && h.q == qNone {
			h.unit = u
		}
		return
	}
	before, last := trim(strings.TrimRight(name[:i], " _,;:-.")), name[i+1:]
	q, strength, run := lookupName(before)
	if strength == 0 || q == qIgnored {
		return
	}
	if u, ok := unitFor(q, last); ok && u.name != "" {
		h.unit, h.unknown = u, ""
		h.q, h.strength = q, strength
		if run != "" {
			h.run = run
		}
	}
}

// settleUnit lets the unit decide where the name leaves it open, and the
// capital where there is no unit: t is a time, T a temperature.
func (h *heading) settleUnit() {
	symbolT := h.q == qTime && h.strength >= byStart && strings.EqualFold(firstWord(h.text), "t")
	if h.unit == nil {
		if strings.EqualFold(h.text, "ml") || strings.EqualFold(h.text, "mv") {
			h.unit, _ = lookupUnit(h.text) // the name is the unit
		}
		if symbolT && h.upper {
			h.q = qTemperature
		}
		return
	}
	of := h.unit.of
	switch {
	case h.q == qIgnored || of == qPH || of == qPIon:
	case h.q == qSymbolV && (of == qVolume || of == qPotential), symbolT && of == qTemperature:
		h.q = of
	case h.q == qNone, h.q != of && h.strength < byName:
		h.q, h.strength = of, byUnit
	}
}

// firstWord is the letters that a text begins with.
func firstWord(s string) string {
	if i := strings.IndexFunc(s, func(r rune) bool { return !unicode.IsLetter(r) }); i >= 0 {
		return s[:i]
	}
	return s
}
