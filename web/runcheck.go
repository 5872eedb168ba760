package web

import (
	"fmt"
	"math"
	"strings"
	"unicode"

	"meniscus/setup"
	"meniscus/store"
	"meniscus/titration"
	"meniscus/unit"
)

// confirmed is the reason of a row by which a person says that a doubtful
// reading is right. It is not asked about again.
const confirmed = "looked at again: it is right"

// A checker asks about readings that look like slips. It changes nothing.
type checker struct {
	unit     string
	capacity float64 // mL; 0 where it is not known or refilled
	pred     *titration.Predictor
	cell     *titration.Cell
}

func newChecker(s *setup.Setup, u string) *checker {
	c := &checker{unit: u}
	if s == nil {
		return c
	}
	if s.Burette.RefillAt.Float() == 0 {
		c.capacity = s.Burette.Capacity.Float() * 1e3
	}
	if s.Titration != nil && settingKind(s) == shownUnit(u) {
		c.pred, c.cell = s.Titration.Predictor(), &s.Titration.Cell
	}
	return c
}

func settingKind(s *setup.Setup) string {
	switch cell := &s.Titration.Cell; {
	case cell.Known:
		return "mV"
	case cell.Sensor == titration.Glass:
		return "pH"
	}
	return "pIon"
}

// expect is the predicted reading at a volume (mL); NaN where there is none.
func (c *checker) expect(v float64) float64 {
	if c.pred == nil || !(v >= 0) {
		return math.NaN()
	}
	d, ok := unit.DecimalOf(v * 1e-3)
	if !ok {
		return math.NaN()
	}
	pt, err := c.pred.At(d)
	if err != nil {
		return math.NaN()
	}
	switch {
	case c.cell.Known:
		return pt.Potential * 1e3
	case c.cell.Sensor == titration.Glass:
		return pt.PH
	}
	return pt.PIon
}

// check fills in what is asked about each row, seen from the ones before it.
func (c *checker) check(rows []runRow) {
	before, step := -1, 0.0
	for i := range rows {
		r := &rows[i]
		if r.State == store.LeftOut {
			continue
		}
		ask := func(format string, args ...any) { r.Asks = append(r.Asks, fmt.Sprintf(format, args...)) }
		c.texts(r, ask)
		if math.IsNaN(r.x) {
			continue
		}
		var prev *runRow
		if before >= 0 {
			prev = &rows[before]
			c.volume(prev, r, step, ask)
			step = max(step, r.x-prev.x)
		}
		c.beyond(prev, r, ask)
		if !math.IsNaN(r.y) {
			c.value(prev, r, ask)
		}
		before = i
		if r.Why == confirmed {
			r.Asks = []string{}
		}
	}
}

type asker func(format string, args ...any)

// texts asks about cells that are no numbers.
func (c *checker) texts(r *runRow, ask asker) {
	for _, t := range []struct {
		name, text string
		needed     bool
	}{{"volume", r.Volume, true}, {"reading", r.Value, true}, {"time", r.Time, false}, {"temperature", r.Temperature, false}} {
		zero := strings.NewReplacer("O", "0", "o", "0", "l", "1", "I", "1").Replace(t.text)
		switch {
		case t.text == "" && t.needed:
			ask("There is no %s. Is one missing?", t.name)
		case t.text == "" || !math.IsNaN(typedNumber(t.text)):
		case !math.IsNaN(typedNumber(zero)):
			ask("The %s “%s” has a letter in it. Is %s meant?", t.name, visible(t.text), zero)
		default:
			ask("The %s “%s” is no number. What is meant?", t.name, visible(t.text))
		}
	}
}

// visible names the signs of a text that would not be seen, or turn the words
// around them.
func visible(text string) string {
	var b strings.Builder
	for _, r := range text {
		if unicode.Is(unicode.Cf, r) || unicode.IsControl(r) {
			fmt.Fprintf(&b, "⟨U+%04X⟩", r)
			continue
		}
		b.WriteRune(r)
	}
	return b.String()
}

func (c *checker) volume(prev, r *runRow, step float64, ask asker) {
	d := r.x - prev.x
	switch {
	case d < 0:
		ask("The volume falls from %s to %s mL. Is it right?", prev.Volume, r.Volume)
	case d == 0 && r.y == prev.y && r.Time == "":
		ask("This is the same reading again. Was it taken twice?")
	case d == 0 && math.IsNaN(r.t-prev.t):
		ask("The volume is the same as before, %s mL. Was nothing added?", r.Volume)
	case step > 0 && d > 10*step && d > 1:
		ask("The step of %.2f mL is more than ten times any before it. Is %s mL right?", d, r.Volume)
	}
}

func (c *checker) beyond(prev *runRow, r *runRow, ask asker) {
	if r.x < 0 {
		ask("%s mL is less than nothing. Is it right?", r.Volume)
	}
	if c.capacity > 0 && r.x > c.capacity && (prev == nil || prev.x <= c.capacity) {
		ask("%s mL is more than the burette of %.0f mL holds. Is it right?", r.Volume, c.capacity)
	}
}

// A reading may turn back by this much without being asked about.
const (
	backPotential = 5   // mV
	backP         = 0.1 // pH or pIon
)

func (c *checker) value(prev, r *runRow, ask asker) {
	if c.slip(prev, r, ask) || prev == nil || math.IsNaN(prev.y) || r.x <= prev.x {
		return
	}
	back := backP
	if c.potential() {
		back = backPotential
	}
	d := r.y - prev.y
	if math.Abs(d) <= back {
		return
	}
	if want := c.expect(r.x) - c.expect(prev.x); d*want < 0 {
		word := map[bool]string{true: "rises", false: "falls"}
		ask("The reading %s from %s to %s, where the curve %s. Is %s right?", word[d > 0], prev.Value, r.Value, word[want > 0], r.Value)
	}
}

func (c *checker) potential() bool { return c.unit == "mV" || c.unit == "V" }

// slip asks about a value in another unit than that of the run.
func (c *checker) slip(prev, r *runRow, ask asker) bool {
	if !c.potential() {
		if c.unit == "pH" && (r.y < -1 || r.y > 15) {
			ask("%s is no usual pH. Was it read in mV?", r.Value)
			return true
		}
		return false
	}
	like := c.expect(r.x)
	if prev != nil && !math.IsNaN(prev.y) {
		like = prev.y
	}
	ratio := math.Abs(like / r.y) // NaN compares false
	switch {
	case c.unit == "mV" && math.Abs(r.y) < 3 && ratio > 300 && ratio < 3000:
		ask("%s mV is a thousandth of what comes before or is expected. Was it read in V?", r.Value)
	case c.unit == "V" && math.Abs(r.y) > 3000:
		ask("%s V is a great deal. Was it read in mV?", r.Value)
	default:
		return false
	}
	return true
}
