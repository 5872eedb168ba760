package solution

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"meniscus/constants"
	"meniscus/unit"
)

// A Class is who will titrate.
type Class struct {
	Students, Sections, Replicates int
	Spare                          float64 // 0.25 for 25 %
}

// Titrations is how many there will be.
func (c Class) Titrations() int { return c.Students * c.Sections * c.Replicates }

// A Use is a solution of the class: how much of it a titration takes.
type Use struct {
	Place  string // flask or burette
	Wanted Wanted // Volume is not read
	Each   unit.Volume
}

// A Batch is one solution for the whole class.
type Batch struct {
	Place   string
	Needed  unit.Volume // used and rinsed with, with the spare
	Used    unit.Volume // without the spare
	Lots    int
	Flasks  int     // lots that are poured together; 1 where each lot stands alone
	Recipe  Recipe  // of one lot
	Against Portion // primary standard for three titrations of each lot; zero for none
}

// A Purchase is a chemical to have.
type Purchase struct {
	Reagent  constants.Reagent
	Mass     unit.Mass   // of solids
	Volume   unit.Volume // of liquids
	Packages int
	Package  float64 // g or mL
}

// A Ware is glassware or gear to have.
type Ware struct {
	What  string
	Count int
	Why   string
}

// A WasteTotal is a stream with what will come into it.
type WasteTotal struct {
	Name, Say string
	Volume    unit.Volume
	Holds     []string
}

// A Stockroom is what a class needs in all.
type Stockroom struct {
	Class     Class
	Batches   []Batch
	Purchases []Purchase
	Wares     []Ware
	Waste     []WasteTotal
	Rules     []string // how it was counted
}

// Rinse is what a student rinses burette or pipette with, of each solution.
const Rinse = 20 * unit.Millilitre

// mostTitrations is the largest class: beyond it a digit slipped.
const mostTitrations = 10_000

// For counts what a class needs for solutions of which each titration takes
// Each; burette and aliquot say which ware to count.
func (c Class) For(uses []Use, burette, aliquot unit.Volume) (*Stockroom, error) {
	if c.Students < 1 || c.Sections < 1 || c.Replicates < 1 || !(c.Spare >= 0) {
		return nil, fmt.Errorf("a class needs at least one student, section and replicate, and no negative spare")
	}
	if c.Students > mostTitrations || c.Sections > mostTitrations || c.Replicates > mostTitrations || c.Titrations() > mostTitrations {
		return nil, &LimitError{fmt.Sprintf("%d sections of %d students with %d titrations each: a class of up to %d titrations can be planned; plan the courses one by one", c.Sections, c.Students, c.Replicates, mostTitrations)}
	}
	s := &Stockroom{Class: c, Rules: []string{
		fmt.Sprintf("%d sections of %d students, %d titrations each: %d titrations", c.Sections, c.Students, c.Replicates, c.Titrations()),
		fmt.Sprintf("a titration counts one burette filling and one aliquot; each student rinses with %g mL of each solution", Rinse.Millilitres()),
		fmt.Sprintf("%.0f %% spare on solutions and waste, one in ten on glass; rounded up to flasks, beyond the largest to half litres", 100*c.Spare),
	}}
	for _, u := range uses {
		b, err := c.batch(u)
		if err != nil {
			return nil, fmt.Errorf("solution for the %s: %w", u.Place, err)
		}
		s.Batches = append(s.Batches, b)
	}
	s.purchases()
	s.wares(burette, aliquot)
	return s, s.wastes()
}

func (c Class) batch(u Use) (Batch, error) {
	used := unit.Volume(c.Titrations())*u.Each + unit.Volume(c.Students*c.Sections)*Rinse
	b := Batch{Place: u.Place, Used: used, Needed: used * unit.Volume(1+c.Spare), Lots: 1}
	w := u.Wanted
	w.Volume = b.Needed
	r, err := Make(w)
	if err != nil {
		return b, err
	}
	if r.Keeps <= 1 {
		b.Lots = c.Sections // sections meet on different days
	}
	w.Volume = lot(b.Needed / unit.Volume(b.Lots))
	times := b.Lots
	flasks := 1
	if largest, fits := FlaskFor(w.Volume); !fits && r.ByMass() {
		flasks = int(math.Ceil(float64(w.Volume/largest) - 1e-9))
		w.Volume = lot(b.Needed / unit.Volume(b.Lots*flasks))
		b.Lots *= flasks
	}
	b.Flasks = flasks
	if b.Recipe, err = Make(w); err != nil {
		return b, err
	}
	note := func(format string, args ...any) {
		b.Recipe.Notes = append(b.Recipe.Notes, fmt.Sprintf(format, args...))
	}
	if times > 1 {
		note("it does not keep: make it fresh for each section, %d times", times)
	}
	if flasks > 1 {
		note("its concentration follows from the mass, which wants a volumetric flask: make %d flasks, weigh for each, and pour them together so that all have the same", flasks)
	}
	if len(b.Recipe.Against) > 0 {
		b.Against, err = StandardMass(b.Recipe.Against[0], b.Recipe.Portions[0].Conc, 0.75*50*unit.Millilitre)
	}
	return b, err
}

// lot rounds a volume up to a flask, or to half a litre.
func lot(v unit.Volume) unit.Volume {
	if size, ok := FlaskFor(v); ok && size >= 100*unit.Millilitre {
		return size
	} else if ok {
		return 100 * unit.Millilitre
	}
	return unit.Volume(math.Ceil(float64(v)/0.5-1e-9) * 0.5)
}

// StandardMass returns what to weigh of a primary standard that takes a volume of
// a titrant.
func StandardMass(s constants.Standard, c unit.Concentration, v unit.Volume) (Portion, error) {
	m, err := s.Reagent.Species.MolarMass()
	if err != nil {
		return Portion{}, fmt.Errorf("molar mass of %s: %w", s.Reagent.Formula, err)
	}
	return Portion{
		Reagent: s.Reagent, For: s.Titrant, PerUnit: s.PerUnit(), MolarMass: m,
		Mass: unit.Mass(float64(c) * float64(v) / s.PerUnit() * float64(m.Value)),
	}, nil
}

// standardised is how often the technician titrates a lot against its standard.
const standardised = 3

func (s *Stockroom) purchases() {
	for _, b := range s.Batches {
		for _, p := range b.Recipe.Portions {
			s.buy(p, float64(b.Lots))
		}
		if b.Against.Mass > 0 {
			s.buy(b.Against, float64(b.Lots*standardised))
		}
	}
	s.pack()
}

// buy counts what is taken from a bottle so many times.
func (s *Stockroom) buy(p Portion, times float64) {
	i := slices.IndexFunc(s.Purchases, func(q Purchase) bool { return q.Reagent.Formula == p.Reagent.Formula })
	if i < 0 {
		s.Purchases = append(s.Purchases, Purchase{Reagent: p.Reagent})
		i = len(s.Purchases) - 1
	}
	if p.Volume > 0 {
		s.Purchases[i].Volume += p.Volume * unit.Volume(times)
	} else {
		s.Purchases[i].Mass += p.Mass * unit.Mass(times)
	}
}

func (s *Stockroom) pack() {
	for i := range s.Purchases {
		p := &s.Purchases[i]
		p.Packages, p.Package = packages(max(float64(p.Mass), p.Volume.Millilitres()))
	}
}

// packages picks from the sizes that suppliers sell (common practice).
func packages(need float64) (n int, size float64) {
	sizes := []float64{5, 10, 25, 50, 100, 250, 500, 1000, 2500}
	for _, s := range sizes {
		if s >= need {
			return 1, s
		}
	}
	largest := sizes[len(sizes)-1]
	return int(math.Ceil(need / largest)), largest
}

// Bottles is how many bottles of a litre hold the lots.
func (b Batch) Bottles() int { return b.Lots * int(math.Ceil(float64(b.Recipe.Wanted.Volume)-1e-9)) }

func (s *Stockroom) wares(burette, aliquot unit.Volume) {
	n := s.Class.Students
	more := n + (n+9)/10
	add := func(what string, count int, why string) { s.Wares = append(s.Wares, Ware{what, count, why}) }
	add(fmt.Sprintf("burette, %g mL", burette.Millilitres()), more, "one a student, one in ten spare")
	add(fmt.Sprintf("pipette, %g mL, with bulb (or what delivers it)", aliquot.Millilitres()), more, "one a student, one in ten spare")
	vessel := 100.0
	for _, v := range []float64{100, 150, 250, 400, 600} {
		vessel = v
		if v >= 1.5*(aliquot+burette).Millilitres() {
			break
		}
	}
	add(fmt.Sprintf("beaker, %g mL, to titrate in", vessel), more, "one a student, one in ten spare")
	add("beaker, 100 mL, to fill from and for waste", 2*more, "two a student")
	add("stirrer and bar", n, "one a student")
	add("meter with indicator and reference electrode", n+1, "one a student, and one spare set")
	add("goggles, gloves", more, "one set a student, one in ten spare")
	for _, b := range s.Batches {
		size, ok := FlaskFor(b.Recipe.Wanted.Volume)
		if ok {
			add(fmt.Sprintf("volumetric flask, %g mL", size.Millilitres()), 1, "to make the solution for the "+b.Place+times(b.Lots))
		} else {
			add(fmt.Sprintf("carboy, marked at %s L", digits(float64(b.Recipe.Wanted.Volume), 2)), 1, "to make the solution for the "+b.Place+times(b.Lots))
		}
		add("stock bottle, 1 L ("+cmp.Or(b.Recipe.Bottle, "glass")+")", b.Bottles(), "solution for the "+b.Place)
	}
	s.Wares = append(s.Wares, Ware{"waste bottle, 5 L, labelled", 0, "see the waste"})
}

func times(n int) string {
	if n < 2 {
		return ""
	}
	return fmt.Sprintf(", %d times", n)
}

// AddIndicator adds what an indicator takes to what is to be had and set out.
func (s *Stockroom) AddIndicator(d Drops) error {
	r := d.Reagent
	if d.Given.Of != "" {
		var ok bool
		var err error
		if r, ok, err = constants.FindReagent(d.Given.Of); err != nil || !ok {
			return fmt.Errorf("%s, of which %s is made, is not in the tables: %w", d.Given.Of, d.Name(), err)
		}
	}
	p := Portion{Reagent: r, Mass: d.Mass}
	if d.Given.ReadyMade() {
		p.Volume = d.Volume
	}
	s.buy(p, 1)
	if v := d.Ethanol(); v > 0 {
		ethanol, _, err := constants.FindReagent("C2H5OH")
		if err != nil {
			return err
		}
		s.buy(Portion{Reagent: ethanol, Volume: v}, 1)
	}
	s.pack()
	what := "dropping bottle"
	if d.Given.Ground > 0 {
		what = "small jar with a spatula"
	}
	s.set(Ware{what, (s.Class.Students + 1) / 2, d.Name() + ", one for two students"})
	return nil
}

// AddGear adds what goes with every meter, for a reason.
func (s *Stockroom) AddGear(what, why string) { s.set(Ware{what, s.Class.Students + 1, why}) }

// set adds a piece before the waste bottles, which stay last.
func (s *Stockroom) set(w Ware) { s.Wares = slices.Insert(s.Wares, len(s.Wares)-1, w) }

// wastes adds up: what was titrated is one mixture and goes to the stream that
// claims it first; what is left over goes to its own.
func (s *Stockroom) wastes() error {
	order, err := constants.WasteOrder()
	if err != nil {
		return err
	}
	rank := func(w constants.WasteStream) int { return slices.Index(order, w.Name) }
	var all []constants.WasteStream
	var mixed unit.Volume
	var holds []string
	streams := make([][]constants.WasteStream, len(s.Batches))
	for i, b := range s.Batches {
		var names []string
		for _, p := range b.Recipe.Portions {
			names = append(names, p.Reagent.Formula)
			if pretty := Pretty(p.Reagent); !slices.Contains(holds, pretty) {
				holds = append(holds, pretty)
			}
		}
		c, err := constants.CautionsFor(names...)
		if err != nil {
			return err
		}
		slices.SortStableFunc(c.Waste, func(a, b constants.WasteStream) int { return rank(a) - rank(b) })
		streams[i] = c.Waste
		all = append(all, c.Waste...)
		mixed += b.Used
	}
	slices.SortStableFunc(all, func(a, b constants.WasteStream) int { return rank(a) - rank(b) })
	if len(all) > 0 {
		s.addWaste(all[0], mixed, "what was titrated, and rinsings: "+strings.Join(holds, ", "))
	}
	for i, b := range s.Batches {
		if err := s.wasteOfStandard(b, rank); err != nil {
			return err
		}
		if len(streams[i]) > 0 {
			made := b.Recipe.Wanted.Volume * unit.Volume(b.Lots)
			s.addWaste(streams[i][0], made-b.Used, "solution for the "+b.Place+" left over")
		}
	}
	s.countBottles()
	return nil
}

// standardWaste is what one titration of a standard leaves, with its water and
// rinsings: common practice.
const standardWaste = 150 * unit.Millilitre

// wasteOfStandard counts what standardising a solution leaves, with what claims it
// first of the titrant and its standard.
func (s *Stockroom) wasteOfStandard(b Batch, rank func(constants.WasteStream) int) error {
	if b.Against.Mass == 0 {
		return nil
	}
	c, err := constants.CautionsFor(b.Against.Reagent.Formula, b.Recipe.Portions[0].Reagent.Formula)
	if err != nil {
		return err
	}
	slices.SortStableFunc(c.Waste, func(x, y constants.WasteStream) int { return rank(x) - rank(y) })
	if len(c.Waste) > 0 {
		s.addWaste(c.Waste[0], standardWaste*unit.Volume(b.Lots*standardised), fmt.Sprintf("solution for the %s standardised against %s, %d titrations", b.Place, Pretty(b.Against.Reagent), b.Lots*standardised))
	}
	return nil
}

func (s *Stockroom) addWaste(w constants.WasteStream, v unit.Volume, what string) {
	i := slices.IndexFunc(s.Waste, func(t WasteTotal) bool { return t.Name == w.Name })
	if i < 0 {
		s.Waste = append(s.Waste, WasteTotal{Name: w.Name, Say: w.Say})
		i = len(s.Waste) - 1
	}
	s.Waste[i].Volume += v
	s.Waste[i].Holds = append(s.Waste[i].Holds, what)
}

func (s *Stockroom) countBottles() {
	last := &s.Wares[len(s.Wares)-1] // the waste bottles, which wares left to count
	for _, w := range s.Waste {
		last.Count += int(math.Ceil(float64(w.Volume) / (0.9 * 5))) // nine tenths full at most
	}
}
