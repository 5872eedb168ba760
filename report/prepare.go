package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"meniscus/constants"
	"meniscus/solution"
	"meniscus/uncertainty"
	"meniscus/unit"
)

// A Preparation is the solutions of a titration, and what a class needs of them.
type Preparation struct {
	Title      string
	Solutions  []Prepared
	Indicators []PreparedIndicator
	Diluted    *Diluted            // nil unless a stock is diluted
	Buffer     *solution.Buffer    // nil where no pH is held
	Stockroom  *solution.Stockroom // nil unless a class was given
	Notes      []string
}

// A Prepared is one solution with its place.
type Prepared struct {
	Place     string // flask, burette or ""
	Recipe    solution.Recipe
	Lots      int                   // how often it is made; 0 is once
	Flasks    int                   // lots that are poured together; 0 is 1
	Exact     *uncertainty.Budget   // nil unless the mass was given, of several flasks poured together all masses
	ByLot     []*uncertainty.Budget // of each lot whose mass was given, where there are several
	ExactSaid string                // what was assumed for it
}

// A PreparedIndicator is an indicator to make up, and what it is for.
type PreparedIndicator struct {
	solution.Drops
	For string // "for Fe²⁺: red to pale blue, error below 0.001 %"; "" where it was asked for
}

// A Diluted is a wanted concentration and the ways to it from a stock.
type Diluted struct {
	Name  string // species or salt
	Want  unit.Concentration
	Stock solution.Stock
	Ways  []solution.Dilution
}

// PrepareFormats lists the formats of a preparation.
var PrepareFormats = FormatTable[Preparation]{{"text", prepareText}, {"json", prepareJSON}, {"html", prepareHTML}}

// A prepareSection is a body with steps between its tables and its list.
type prepareSection struct {
	Key, Heading string
	planBody
	Steps []string
}

func (p *Preparation) sections() ([]prepareSection, error) {
	var list []prepareSection
	add := func(s prepareSection) {
		s.Key = fmt.Sprintf("part%d", len(list)+1)
		list = append(list, s)
	}
	var reagents []string
	for _, s := range p.Solutions {
		add(s.section())
		reagents = append(reagents, s.reagents()...)
	}
	if p.Diluted != nil {
		add(p.Diluted.section())
		reagents = append(reagents, p.Diluted.Name)
	}
	if p.Buffer != nil {
		s := Prepared{Recipe: p.Buffer.Recipe}
		add(p.bufferSection(s))
		reagents = append(reagents, s.reagents()...)
	}
	for _, d := range p.Indicators {
		add(d.section())
		reagents = append(reagents, d.Holds()...)
	}
	if p.Stockroom != nil {
		for _, s := range stockroomSections(p.Stockroom) {
			add(s)
		}
		for _, q := range p.Stockroom.Purchases {
			reagents = append(reagents, q.Reagent.Formula)
		}
	}
	if len(p.Notes) > 0 {
		add(prepareSection{Heading: "Notes", planBody: planBody{Items: p.Notes}})
	}
	c, err := constants.CautionsFor(reagents...)
	if err != nil {
		return nil, err
	}
	add(prepareSection{Heading: "Cautions", planBody: CautionWords(c)})
	return list, nil
}

// reagents names what the solution is made of, with its standard.
func (s Prepared) reagents() []string {
	var list []string
	for _, q := range s.Recipe.Portions {
		list = append(list, q.Reagent.Formula)
	}
	if len(s.Recipe.Against) > 0 {
		list = append(list, s.Recipe.Against[0].Reagent.Formula)
	}
	return list
}

// CautionWords says the cautions as paragraphs and a list.
func CautionWords(c constants.Cautions) planBody {
	var b planBody
	b.say("Reagents as bought, by their usual classification, from memory or from one sheet; dilute solutions are often milder.")
	for _, h := range c.Hazards {
		s := orElse(h.Name, h.Reagent)
		if w := h.Words(); len(w) > 0 {
			s += " (" + orElse(h.Signal, "as bought") + "): " + strings.Join(w, "; ")
		} else {
			s += ": usually not classified"
		}
		b.Items = append(b.Items, s)
	}
	if len(c.Unknown) > 0 {
		b.Items = append(b.Items, "not in the tables, which does not mean harmless: "+strings.Join(c.Unknown, ", "))
	}
	b.Items = append(b.Items, c.Precautions...)
	for _, w := range c.Waste {
		b.Items = append(b.Items, "waste, "+w.Name+" ("+strings.Join(formulasOf(w.Takes), ", ")+"): "+w.Say)
	}
	if len(c.Protection) > 0 {
		b.say("Wear and do: %s.", strings.Join(c.Protection, "; "))
	}
	b.say("%s", c.Closing)
	return b
}

// formulasOf typesets names of substances, hydrates too.
func formulasOf(names []string) []string {
	var list []string
	for _, n := range names {
		list = append(list, formula(n))
	}
	return list
}

// Title names the solution: "1000 mL of 0.04 mol/L Fe^2+ in 1 mol/L H2SO4".
func (s Prepared) Title() string {
	text := s.name()
	if s.Recipe.Wanted.Medium != "" {
		text += " in " + s.Recipe.Wanted.Medium
	}
	return nominal(s.Recipe.Wanted.Volume) + " of " + text
}

func (s Prepared) name() string {
	var words []string
	for _, x := range s.Recipe.Wanted.Solutes {
		words = append(words, concentration(x.Conc)+" "+formula(x.Name))
	}
	return strings.Join(words, " + ")
}

func concentration(c unit.Concentration) string { return fmt.Sprintf("%.4g mol/L", float64(c)) }

// figures writes x with at least so many significant figures, without an
// exponent and without zeros behind the last figure that counts.
func figures(x float64, n int) string {
	d := n
	for y := math.Abs(x); y >= 1 && d > 0; y /= 10 {
		d--
	}
	text := strconv.FormatFloat(x, 'f', d, 64)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	return text
}

// nominal writes a volume as people name it: 250 mL, 1000 mL, 5.5 L.
func nominal(v unit.Volume) string {
	if v > 2*(1+1e-9) {
		return figures(float64(v), 4) + " L"
	}
	return figures(v.Millilitres(), 4) + " mL"
}

func grams(m unit.Mass) string { return fmt.Sprintf("%.4f g", float64(m)) }

func (s Prepared) section() prepareSection {
	r := s.Recipe
	b := prepareSection{Heading: s.Title(), Steps: r.Steps}
	if s.Place != "" {
		b.Heading = "For the " + s.Place + ": " + b.Heading
	}
	rows := [][]string{{"amount", "bottle", "g/mol", "or instead"}}
	for _, q := range r.Portions {
		amount, bottle := grams(q.Mass), solution.Pretty(q.Reagent)+", "+q.Reagent.Name()
		if q.Volume > 0 {
			amount = figures(q.Volume.Millilitres(), 3) + " mL"
			bottle = fmt.Sprintf("%s %g %%, %.2f g/mL", q.Reagent.Name(), q.Reagent.Assay.Value, q.Reagent.Density.Value)
		}
		var other []string
		for _, c := range q.Alternatives {
			other = append(other, grams(c.Mass)+" of "+formula(c.Formula))
		}
		rows = append(rows, []string{amount, bottle, fmt.Sprintf("%.3f", float64(q.MolarMass.Value)), strings.Join(other, "; ")})
	}
	b.Tables = []planTable{{Rows: rows, Align: "rlrl"}}
	s.exact(&b)
	s.against(&b)
	keeps := "Keeps " + Keeps(r.Keeps)
	if len(r.Against) > 0 && r.Keeps < 3650 {
		keeps += "; standardise again after that, or on the day of use where it counts"
	}
	b.Items = append(b.Items, keeps+".")
	b.Items = append(b.Items, r.Notes...)
	return b
}

func (s Prepared) exact(b *prepareSection) {
	for i, e := range s.ByLot {
		x, u := uncertainty.Round(e.X, e.U)
		b.say("as weighed, lot %d of %d: %s ± %s mol/L (one standard uncertainty; %s)", i+1, s.Lots, x, u, s.ExactSaid)
	}
	if s.Exact == nil {
		return
	}
	how := "as weighed"
	if len(s.ByLot) > 0 {
		how = "all poured together"
	}
	x, u := uncertainty.Round(s.Exact.X, s.Exact.U)
	b.say("%s: %s ± %s mol/L (one standard uncertainty; %s)", how, x, u, s.ExactSaid)
	rows := [][]string{{"from", "u/(mol/L)", "share"}}
	for _, c := range s.Exact.Shares {
		if c.Contribution > 0 {
			rows = append(rows, []string{c.Note, fmt.Sprintf("%.2g", c.Contribution), fmt.Sprintf("%.1f %%", 100*c.Share)})
		}
	}
	b.Tables = append(b.Tables, planTable{Rows: rows, Align: "lrr"})
}

// Title names an indicator solution as a label does.
func (d PreparedIndicator) Title() string {
	g := d.Given
	switch {
	case g.ReadyMade():
		return fmt.Sprintf("%s of %s, %s", nominal(d.Volume), d.Name(), g.Solvent)
	case g.Ground > 0:
		return fmt.Sprintf("%s g of %s, 1 : %g with %s", figures(float64(d.Total), 2), d.Name(), g.Ground, formula(g.Solvent))
	}
	of := ""
	if g.Of != "" {
		of = " of " + formula(g.Of)
	}
	return fmt.Sprintf("%s of %s, %g %%%s in %s", nominal(d.Volume), d.Name(), g.Strength, of, strings.TrimPrefix(g.Solvent, "boiling "))
}

func (d PreparedIndicator) section() prepareSection {
	b := prepareSection{Heading: "Indicator: " + d.Title(), Steps: d.Steps}
	amount, bottle := figures(float64(d.Mass), 2)+" g", formula(d.Weighed())
	if d.Given.ReadyMade() {
		amount, bottle = nominal(d.Volume), d.Name()+", "+d.Given.Solvent
	}
	b.Tables = []planTable{{Rows: [][]string{{"amount", "bottle"}, {amount, bottle}}, Align: "rl"}}
	give := d.Given.Said + " to each titration"
	if d.Given.Aside != "" {
		give += ", " + d.Given.Aside
	}
	b.Items = append(b.Items, fmt.Sprintf("give %s, the same each time, and to the blank: enough for %d titrations", give, d.Serves))
	if d.For != "" {
		b.Items = append(b.Items, d.For)
	}
	b.Items = append(b.Items, "Keeps "+Keeps(d.Reagent.Keeps)+".")
	if d.Reagent.Note != "" {
		b.Items = append(b.Items, d.Name()+": "+d.Reagent.Note)
	}
	return b
}

// against says what to weigh of the standard for 60 to 90 % of a 50 mL burette.
func (s Prepared) against(b *prepareSection) {
	for i, st := range s.Recipe.Against {
		if i > 0 {
			b.Items = append(b.Items, "or against "+st.Reagent.Name()+" ("+st.Conditions+")")
			continue
		}
		low, high, ok := s.standardMasses(st)
		text := fmt.Sprintf("standardise against %s: %s (%s)", st.Reagent.Name(), st.Reaction.Unicode(), st.Conditions)
		if ok {
			text += fmt.Sprintf(". Weigh %s to %s: that takes 30 to 45 mL, 60 to 90 %% of a 50 mL burette", figures(float64(low), 3)+" g", figures(float64(high), 3)+" g")
			if float64(high) < 0.15 {
				text += ", but it is little to weigh: dissolve ten times as much in 250 mL and take 25 mL"
			}
		}
		b.Items = append(b.Items, text)
	}
}

func (s Prepared) standardMasses(st constants.Standard) (low, high unit.Mass, ok bool) {
	c := s.Recipe.Portions[0].Conc
	a, err := solution.StandardMass(st, c, 30*unit.Millilitre)
	z, err2 := solution.StandardMass(st, c, 45*unit.Millilitre)
	return a.Mass, z.Mass, err == nil && err2 == nil
}

// Keeps says days as people do.
func Keeps(days int) string {
	switch {
	case days == 0:
		return "hours: make it just before use"
	case days == 1:
		return "1 day"
	case days < 14:
		return fmt.Sprintf("%d days", days)
	case days < 60:
		return fmt.Sprintf("%d weeks", days/7)
	case days < 365:
		return fmt.Sprintf("%d months", days/30)
	case days < 730:
		return "1 year"
	}
	return "for years"
}

func (d *Diluted) section() prepareSection {
	b := prepareSection{Heading: fmt.Sprintf("%s %s from a stock of %s", concentration(d.Want), formula(d.Name), concentration(d.Stock.Conc))}
	rows := [][]string{{"take of the stock", "into flask", "gives/(mol/L)", "off"}}
	for i, w := range d.Ways {
		if i >= 6 {
			break
		}
		x, u := uncertainty.Round(w.Budget.X, w.Budget.U)
		rows = append(rows, []string{w.TakeWords(), figures(w.Flask.Millilitres(), 4) + " mL", x + " ± " + u, minus(fmt.Sprintf("%+.2f %%", 100*w.Off))})
	}
	b.Tables = []planTable{{Rows: rows, Align: "llrr"}}
	first := d.Ways[0]
	b.say("One standard uncertainty; class A ware, stock and flask at one temperature.")
	b.Steps = []string{
		"Let the stock come to room temperature and shake it.",
		"Rinse the " + string(first.Kind) + " with a little of it.",
		fmt.Sprintf("Take %s into the %s mL volumetric flask.", first.TakeWords(), figures(first.Flask.Millilitres(), 4)),
		"Fill up to the mark with what the stock is made in, or with water if that is all right for it (acid stocks of metals that hydrolyse need acid).",
		"Stopper, turn it over twenty times, and label it.",
	}
	var shares []string
	for _, c := range first.Budget.Shares {
		if c.Share > 0.005 {
			shares = append(shares, fmt.Sprintf("%s %.0f %%", c.Note, 100*c.Share))
		}
	}
	b.Items = append(b.Items, "The variance of the first way: "+strings.Join(shares, ", ")+".")
	return b
}

func (p *Preparation) bufferSection(s Prepared) prepareSection {
	b := s.section()
	b.Heading = fmt.Sprintf("Buffer for pH %g: %s", p.Buffer.PH, s.Title())
	b.Items = append(b.Items, "Add enough that both forms stay well above what the titration frees or takes; see the total concentration above.")
	if p.Buffer.Neighbouring {
		b.Items = append(b.Items, fmt.Sprintf("The pK of %.2f is more than 1 from pH %g, so this buffer holds it badly.", p.Buffer.PK, p.Buffer.PH))
	}
	return b
}
