package plan

import (
	"fmt"
	"math"
	"slices"

	"meniscus/curve"
	"meniscus/fit"
	"meniscus/setup"
	"meniscus/uncertainty"
	"meniscus/unit"
)

// Wanted says what readings are taken for.
type Wanted int

// What can be wanted of a titration.
const (
	Equivalence Wanted = iota // equivalence volumes, hence contents
	Potential                 // formal potentials, or the offset of the electrode
	Both
)

// wantedNames lists the words for what is wanted.
var wantedNames = []string{"equivalence", "potential", "both"}

// WantedNames lists the words for what can be wanted.
func WantedNames() []string { return slices.Clone(wantedNames) }

// FindWanted returns what a word means.
func FindWanted(name string) (Wanted, bool) {
	i := slices.Index(wantedNames, name)
	return Wanted(i), i >= 0
}

// String returns the word.
func (w Wanted) String() string { return wantedNames[w] }

// A ScheduleError says why no place to read can be recommended, and what would
// help.
type ScheduleError struct{ Problem, Reason string }

func (e *ScheduleError) Error() string { return e.Reason }

func refuse(problem, format string, args ...any) error {
	return &ScheduleError{problem, fmt.Sprintf(format, args...)}
}

// ScheduleOptions of a schedule. The zero value is sound.
type ScheduleOptions struct {
	Want     Wanted
	Readings int         // 0 is 20
	Known    float64     // relative standard uncertainty of V_eq beforehand; 0 is that of the guess in the setup, or 3 %
	Step     unit.Volume // smallest addition; 0 is 0.05 mL, or 0.01 mL from a burette of 10 mL
}

// Defaults and limits of a schedule.
const (
	usualReadings = 20
	usualKnown    = 0.03
	mostKnown     = 0.3
)

// MostReadings is how many readings can be planned: more lie on one another.
const MostReadings = 200

// A ScheduledReading is one place to read.
type ScheduledReading struct {
	Volume  unit.Volume // added in all
	Add     unit.Volume // since the reading before
	Burette unit.Volume // what the burette shows then
	For     string      // what the reading mainly tells
}

// A Prediction is what a plan will tell about a quantity wanted: standard
// uncertainties in its unit, averaged over where the end point may fall.
type Prediction struct {
	Name     string
	Unit     string // mL, mV, or "" for pH and pIon
	Expected float64
	StdUnc   float64
	Equal    float64 // with as many readings in equal steps
}

// Ratio is how many times smaller the uncertainty is than with equal steps.
func (p Prediction) Ratio() float64 { return p.Equal / p.StdUnc }

// A Schedule says where to read.
type Schedule struct {
	Want     Wanted
	Readings []ScheduledReading
	Wanted   []Prediction
	Equal    []unit.Volume // the equal steps compared with
	Known    float64       // relative, as used
	Noise    fit.Noise     // as used
	Kind     curve.Kind
	Assumed  []string // what was not said
	Words    []string // the plan in words
}

// NewSchedule finds where to read in a titration so that what is wanted comes
// out best wherever the end point falls within what is known of it beforehand.
//
// The measure is the Fisher information of the exact model with all that the
// evaluation leaves free, and errors in volume as well as in the reading; the
// places are found by exchange on the marks of the burette. An error is a
// *ScheduleError where no plan helps.
func NewSchedule(s *setup.Setup, opt ScheduleOptions) (*Schedule, error) {
	b, err := newBench(s, naturalKind(s), opt.Want, opt.Step)
	if err != nil {
		return nil, err
	}
	n, err := b.count(opt.Readings)
	if err != nil {
		return nil, err
	}
	known, err := b.known(opt.Known)
	if err != nil {
		return nil, err
	}
	volumes, equal := b.candidates(0, b.zones(known)), b.equalSteps(n)
	truths, err := b.truths(known, slices.Concat(volumes, equal))
	if err != nil {
		return nil, err
	}
	others := make([]truth, len(truths)) // the same ones, with the readings of equal steps
	for m := range truths {
		truths[m], others[m] = truths[m].split(len(volumes))
	}
	d := newDesign(volumes, truths, b.wanted)
	d.fill(n)
	out := &Schedule{Want: opt.Want, Known: slices.Max(known), Noise: b.noise, Kind: b.kind}
	out.Wanted = b.predictions(d.mean)
	b.list(out, d)
	b.compare(out, equal, others)
	out.Assumed = b.assumed
	out.Words = scheduleWords(out.Readings)
	return out, nil
}

func (c *bench) count(n int) (int, error) {
	if n == 0 {
		n = usualReadings
	}
	free := len(c.prior)
	if c.blank >= 0 {
		free-- // regression finds it with the end point
	}
	if least := free + 1; n < least || n > MostReadings {
		return 0, refuse("number of readings", "%d readings: between %d and %d can be planned, as regression finds %d quantities from them", n, least, MostReadings, free)
	}
	if most := int(c.limit / c.step); n > most {
		return 0, refuse("number of readings", "%d readings of at least %.2f mL do not fit into %.2f mL; %d do", n, c.step*1e3, c.limit*1e3, most)
	}
	return n, nil
}

// known returns how well each sought concentration is known beforehand,
// relative.
func (c *bench) known(given float64) ([]float64, error) {
	if given < 0 || given > mostKnown || math.IsNaN(given) {
		return nil, refuse("guess", "an equivalence volume known to %.3g %% beforehand: between 0 and %.0f %% can be planned for; otherwise titrate one portion roughly first", given*100, mostKnown*100)
	}
	list := make([]float64, len(c.targets))
	said := false
	for i := range list {
		list[i] = given
		if given == 0 {
			list[i] = usualKnown
			if u := c.guessed(i); u > 0 && u <= mostKnown {
				list[i], said = math.Max(u, leastKnown), true
			}
		}
	}
	if given == 0 && !said {
		c.assumed = append(c.assumed, fmt.Sprintf("the equivalence volume is known to %.0f %% beforehand, as one standard uncertainty", 100*usualKnown))
	}
	return list, nil
}

// leastKnown keeps a plan from trusting a guess beyond what a burette can show.
const leastKnown = 0.001

// guessed returns the relative uncertainty written beside the guess of target
// i, 0 if there is none.
func (c *bench) guessed(i int) float64 {
	contents := c.s.Flask.Contents
	if c.targets[i].InBurette {
		contents = c.s.Burette.Contents
	}
	for _, x := range contents {
		if x.Species == c.targets[i].Name && x.Conc.Stated {
			return x.Conc.U / x.Conc.Float()
		}
	}
	return 0
}

// A zone is where an end point may fall, L.
type zone struct{ from, to float64 }

// sigmas is how far from the expected end point a plan still looks, in standard
// uncertainties of it.
const sigmas = 3

// zones returns where the end points may fall.
func (c *bench) zones(known []float64) []zone {
	var list []zone
	for _, q := range c.quantities {
		if q.eq < 0 {
			continue
		}
		e, u := c.eq[q.eq], 0.0
		for i, k := range c.sought {
			u = math.Hypot(u, e.Gradient[k]*c.start[k]*known[i])
		}
		u = math.Max(sigmas*u, 10*c.step)
		list = append(list, zone{e.Volume - u, e.Volume + u})
	}
	return list
}

// Sizes of the grid of candidates.
const (
	fineCandidates   = 120 // in a zone, at most
	coarseCandidates = 100 // over the whole burette
)

// candidates lists the volumes above from where a reading may be planned: marks
// of the burette one smallest addition apart where an end point may fall, and
// a hundredth of the scale apart elsewhere, since readings side by side on a
// flat stretch share what the model does not know.
func (c *bench) candidates(from float64, zones []zone) []float64 {
	coarse := c.nice(c.limit / coarseCandidates)
	marks := map[int]bool{}
	mark := func(v float64) {
		if k := int(math.Round(v / c.step)); float64(k)*c.step > from+c.step/2 && float64(k)*c.step <= c.limit+1e-9 {
			marks[k] = true
		}
	}
	within := func(v float64) bool {
		return slices.ContainsFunc(zones, func(z zone) bool { return v > z.from && v < z.to })
	}
	for v := coarse; v <= c.limit+1e-9; v += coarse {
		if !within(v) {
			mark(v)
		}
	}
	for _, z := range zones {
		fine := math.Ceil((z.to-z.from)/fineCandidates/c.step-1e-6) * c.step
		for v := math.Ceil(z.from/fine) * fine; v <= z.to; v += fine {
			mark(v)
		}
	}
	var list []float64
	for k := range marks {
		list = append(list, float64(k)*c.step)
	}
	slices.Sort(list)
	return list
}

// nice rounds a step up to 1, 2 or 5 times a power of ten, at least the
// smallest addition.
func (c *bench) nice(x float64) float64 {
	ten := math.Pow(10, math.Floor(math.Log10(x)))
	for _, k := range []float64{1, 2, 5, 10} {
		if k*ten >= x*(1-1e-9) {
			x = k * ten
			break
		}
	}
	return math.Max(math.Round(x/c.step), 1) * c.step
}

// Numbers of truths. Along one unknown they lie closer than a reading tells of
// an end point; along several they are spread evenly.
const (
	leastTruths  = 25
	mostTruths   = 61
	truthSpacing = 1e-4 // L
	spreadTruths = 61
)

// truths spreads the sought concentrations over what is known of them.
func (c *bench) truths(known []float64, volumes []float64) ([]truth, error) {
	var list []truth
	try := func(z []float64, weight float64) {
		values := slices.Clone(c.start)
		for i, k := range c.sought {
			values[k] *= math.Exp(known[i] * z[i])
		}
		if t, ok := c.truth(values, weight, volumes); ok {
			list = append(list, t)
		}
	}
	if len(known) == 1 {
		n := leastTruths
		for _, q := range c.quantities {
			if q.eq >= 0 {
				n = max(n, int(2*sigmas*known[0]*c.eq[q.eq].Volume/truthSpacing))
			}
		}
		n = min(n, mostTruths)
		for i := range n {
			z := sigmas * (2*(float64(i)+0.5)/float64(n) - 1)
			try([]float64{z}, math.Exp(-z*z/2))
		}
	} else {
		for i := range spreadTruths {
			try(spread(i, spreadTruths, len(known)), 1)
		}
	}
	return list, c.normalise(list)
}

func (c *bench) normalise(list []truth) error {
	sum := 0.0
	for _, t := range list {
		sum += t.weight
	}
	if sum == 0 {
		return refuse("guess", "the titration has other equivalence points everywhere around the guess; titrate one portion roughly first")
	}
	for i := range list {
		list[i].weight /= sum
	}
	return nil
}

// spread returns the i-th of n evenly spread points of a standard normal
// distribution: the additive recurrence of the generalised golden ratio.
func spread(i, n, dims int) []float64 {
	phi := 2.0
	for range 30 { // the root of x^(d+1) = x + 1
		phi = math.Pow(1+phi, 1/float64(dims+1))
	}
	z := make([]float64, dims)
	for k := range z {
		_, p := math.Modf(0.5 + float64(i+1)*math.Pow(phi, -float64(k+1)))
		if dims == 1 {
			p = (float64(i) + 0.5) / float64(n)
		}
		z[k] = uncertainty.NormalQuantile(math.Min(math.Max(p, 0.001), 0.999))
	}
	return z
}

// predictions turns standard uncertainties of the quantities wanted into the
// units of people.
func (c *bench) predictions(u func(q int) float64) []Prediction {
	list := make([]Prediction, c.wanted)
	for i, q := range c.quantities[:c.wanted] {
		k, name := scale(q.unit)
		x := 0.0
		if q.eq >= 0 {
			x = c.eq[q.eq].Volume
		} else {
			x = c.start[q.param]
		}
		list[i] = Prediction{Name: q.name, Unit: name, Expected: x * k, StdUnc: u(i) * k}
	}
	return list
}

// scale returns the unit that people use, and how many of it the base unit is.
func scale(base string) (float64, string) {
	switch base {
	case "L":
		return 1e3, "mL"
	case "V":
		return 1e3, "mV"
	}
	return 1, base
}

// equalSteps lists n volumes up to twice the last end point.
func (c *bench) equalSteps(n int) []float64 {
	last := 0.0
	for _, q := range c.quantities {
		if q.eq >= 0 {
			last = math.Max(last, 2*c.eq[q.eq].Volume)
		}
	}
	last = math.Min(last, c.limit)
	volumes := make([]float64, n)
	for i := range volumes {
		volumes[i] = math.Round(last*float64(i+1)/float64(n)/c.step) * c.step
	}
	return volumes
}

// compare computes the same for equal steps.
func (c *bench) compare(out *Schedule, volumes []float64, truths []truth) {
	for _, v := range volumes {
		out.Equal = append(out.Equal, unit.Volume(v))
	}
	for m := range truths {
		t := &truths[m]
		n := len(t.values)
		for j := range volumes {
			t.update(t.grad[j*n:j*n+n], 1)
		}
	}
	d := design{truths: truths}
	for i := range out.Wanted {
		k, _ := scale(c.quantities[i].unit)
		out.Wanted[i].Equal = d.mean(i) * k
	}
}

// list writes the readings of a design, each with what it is for.
func (c *bench) list(out *Schedule, d *design) {
	before := 0.0
	for i, j := range d.chosen {
		v := d.volumes[j]
		out.Readings = append(out.Readings, ScheduledReading{
			Volume: unit.Volume(v), Add: unit.Volume(v - before),
			Burette: c.s.Burette.Reading(unit.Volume(v)), For: c.purpose(d, i),
		})
		before = v
	}
}

// sameLoss is the part by which losses must differ to count as different: end
// points that hang together lose alike, and the first is named.
const sameLoss = 1e-6

// purpose names the quantity whose mean uncertainty would rise most without
// the i-th reading.
func (c *bench) purpose(d *design, i int) string {
	j := d.chosen[i]
	best, most := 0, 0.0
	for q := range c.quantities {
		had, without := 0.0, 0.0
		for m := range d.truths {
			t := &d.truths[m]
			had += t.weight * math.Sqrt(t.variance(q))
			without += t.weight * math.Sqrt(t.without(j, q))
		}
		if x := without / had; x > most*(1+sameLoss) {
			best, most = q, x
		}
	}
	return c.quantities[best].name
}

// without returns the variance of a quantity without candidate j, which has
// been read.
func (t *truth) without(j, q int) float64 {
	n := len(t.values)
	g, w := t.grad[j*n:j*n+n], t.want[q*n:q*n+n]
	gg, wg := 0.0, 0.0
	for i := range n {
		for k := range n {
			gg += g[i] * t.inv[i*n+k] * g[k]
			wg += w[i] * t.inv[i*n+k] * g[k]
		}
	}
	return t.variance(q) + wg*wg/math.Max(1-gg, 1e-12)
}
