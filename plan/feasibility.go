package plan

import (
	"math"
	"slices"

	"meniscus/chem"
	"meniscus/curve"
	"meniscus/equilibrium"
	"meniscus/fit"
	"meniscus/setup"
	"meniscus/titration"
	"meniscus/unit"
)

// Noise that is assumed where a setup states none, and the drop of a burette:
// common practice.
const (
	assumedPotential = 1e-3    // V
	assumedPH        = 0.02    // pH or pIon
	assumedVolume    = 0.01e-3 // L
	assumedDrop      = 0.05e-3 // L
)

// A Jump says how good one equivalence point is.
type Jump struct {
	Point
	Within   [2]float64 // readings at V (1 ∓ accuracy)
	Height   float64    // their distance, in the unit of the scale; above 0
	Left     float64    // part of what is titrated that is left at equivalence; NaN where not followed
	LogK     float64    // decadic, of the titration reaction; NaN where it makes no sense
	LogKNote string
	// Carried is the standard uncertainty of V from 20 readings: 5 evenly
	// before, 10 at steps of V/250 across, 5 evenly after, with the potentials
	// or the offset free.
	Carried float64 // L
	Drop    float64 // one drop as part of V
	Enough  bool    // completeness and 2 u(V)/V are within the accuracy wanted
}

func (p *Plan) feasibility() error {
	for _, pt := range p.points {
		j := Jump{Point: pt, LogK: math.NaN(), Left: p.left(pt), Drop: assumedDrop / pt.Volume}
		for i, x := range []float64{-p.Accuracy, p.Accuracy} {
			y, err := p.walk.read(pt.Volume, x*pt.Volume)
			if err != nil {
				return err
			}
			j.Within[i] = y
		}
		j.Height = math.Abs(j.Within[1] - j.Within[0])
		if err := p.logK(&j); err != nil {
			return err
		}
		var err error
		if j.Carried, err = p.carried(pt); err != nil {
			return err
		}
		j.Enough = (math.IsNaN(j.Left) || j.Left <= p.Accuracy) && 2*j.Carried <= p.Accuracy*pt.Volume
		p.Jumps = append(p.Jumps, j)
	}
	return nil
}

// left returns how much of the species used up is left at equivalence, as part
// of the most there was of it, its side forms counted with it.
func (p *Plan) left(pt Point) float64 {
	sys := p.Setup.System()
	group := p.forms(sys, sys.Index(pt.Species))
	amount := func(v float64) float64 {
		if _, err := p.walk.at(v, 0); err != nil {
			return math.NaN()
		}
		sum := 0.0
		for _, j := range group {
			sum += p.walk.pred.Solver.Concentration(j)
		}
		return sum * p.walk.pred.Solver.TotalVolume()
	}
	most := 0.0
	for _, v := range []float64{pt.Volume * 1e-6, pt.From * 0.98, pt.From, pt.From*0.9 + pt.Volume*0.1} {
		most = math.Max(most, amount(v))
	}
	if most == 0 {
		return math.NaN()
	}
	return amount(pt.Volume) / most
}

// forms returns the species that count as one with species j: those with the
// same elements beside H and O that it turns into without electrons and without
// the titrant, nor protons where these are titrated.
func (p *Plan) forms(sys *equilibrium.System, j int) []int {
	group := []int{j}
	if j < 0 {
		return nil
	}
	without := []int{sys.Electron()}
	if p.Setup.Titration.Cell.Sensor == titration.Glass {
		without = append(without, sys.Index(chem.Proton), sys.Index(chem.Hydroxide))
	}
	core := elements(sys.Species[j].Name)
	titrant := map[string]bool{}
	for _, c := range p.Setup.Burette.Contents {
		for _, t := range c.Ions {
			for _, e := range elements(t.Species.Name) {
				titrant[e] = true
			}
		}
	}
	for i, sp := range sys.Species {
		names := elements(sp.Name)
		own := sp.Kind == equilibrium.Dissolved && i != j && len(core) > 0
		for _, e := range core {
			own = own && slices.Contains(names, e)
		}
		if own && !slices.ContainsFunc(names, func(e string) bool { return titrant[e] && !slices.Contains(core, e) }) && linked(sys, j, i, without) {
			group = append(group, i)
		}
	}
	return group
}

// elements returns the elements of a species other than H and O; for a label
// the label itself.
func elements(name string) []string {
	sp, err := chem.ParseSpecies(name)
	if err != nil || sp.IsLabel {
		return []string{name}
	}
	var list []string
	for _, e := range sp.Elements {
		if e.Symbol != "H" && e.Symbol != "O" {
			list = append(list, e.Symbol)
		}
	}
	return list
}

// linked says whether a reaction holds both species on different sides, and
// none of those to be without.
func linked(sys *equilibrium.System, a, b int, without []int) bool {
	return slices.ContainsFunc(sys.Reactions, func(r equilibrium.Reaction) bool {
		var x, y int64
		for _, t := range r.Terms {
			switch {
			case t.Species == a:
				x = t.Num
			case t.Species == b:
				y = t.Num
			case slices.Contains(without, t.Species):
				return false
			}
		}
		return x*y < 0
	})
}

// logK fills in the constant of the titration reaction.
func (p *Plan) logK(j *Jump) error {
	switch p.Setup.Titration.Cell.Sensor {
	case titration.Inert:
		p.logKCouples(j)
	case titration.Glass:
		return p.logKProtons(j)
	default:
		if k, _ := p.conditional(j.Point); !math.IsNaN(k) {
			j.LogK, j.LogKNote = k, "conditional, all side reactions counted"
		} else {
			p.logKSolid(j)
		}
	}
	return nil
}

func (p *Plan) logKProtons(j *Jump) error {
	pair, ok, err := p.pair(j.Point)
	switch {
	case err != nil || !ok:
	case pair.Acid:
		j.LogK, j.LogKNote = pair.PKw-pair.PKa, "of the acid with hydroxide: pKw − pKa"
	default:
		j.LogK, j.LogKNote = pair.PKa, "of the base with hydrogen ions: pKa"
	}
	return err
}

// logKSolid takes the solid that the sensed ion and the species used up give.
func (p *Plan) logKSolid(j *Jump) {
	sys := p.Setup.System()
	sensed := sys.Species[p.Setup.Titration.Cell.Species].Name
	for i, r := range sys.Reactions {
		solid := slices.ContainsFunc(r.Terms, func(t equilibrium.Term) bool { return sys.Species[t.Species].Kind == equilibrium.Solid })
		if x := coefficient(sys, i, j.Name); sensed != j.Name && solid && x != 0 && coefficient(sys, i, sensed) == x {
			j.LogK, j.LogKNote = math.Abs(r.LnK)/math.Ln10, "of the solid forming"
			return
		}
	}
}

// logKCouples is for two couples, at the acidity of the equivalence point, for
// the electrons of the least common multiple.
func (p *Plan) logKCouples(j *Jump) {
	a, b := p.couple(j.Name, j.Next), p.titrantCouple()
	if a == nil || b == nil || a == b {
		return
	}
	t := p.Setup.Titration
	s := t.Thermal() * math.Ln10
	ph := 0.0
	if pt, err := p.walk.at(j.Volume, 0); err == nil && !math.IsNaN(pt.PH) {
		ph = pt.PH
	}
	e := func(c *titration.Couple) float64 { return c.Potential - s*c.Protons/c.Electrons*ph }
	n := lcm(a.Electrons, b.Electrons)
	j.LogK = n * math.Abs(e(b)-e(a)) / s
	j.LogKNote = "from the two potentials, for " + number(n) + " electrons"
	if n == 1 {
		j.LogKNote = "from the two potentials, for one electron"
	}
}

// couple returns the couple that turns one species into the other.
func (p *Plan) couple(a, b string) *titration.Couple {
	sys := p.Setup.System()
	var best *titration.Couple
	for i := range p.Setup.Titration.Couples {
		c := &p.Setup.Titration.Couples[i]
		x, y := coefficient(sys, c.Reaction, a), coefficient(sys, c.Reaction, b)
		if x*y < 0 {
			return c
		}
		if x != 0 && best == nil {
			best = c
		}
	}
	return best
}

func (p *Plan) titrantCouple() *titration.Couple { return p.coupleOf(p.Setup.Burette.Contents) }

// coupleOf returns the first couple that something of a vessel takes part in.
func (p *Plan) coupleOf(contents []setup.Content) *titration.Couple {
	sys := p.Setup.System()
	for _, content := range contents {
		for _, term := range content.Ions {
			for i := range p.Setup.Titration.Couples {
				c := &p.Setup.Titration.Couples[i]
				if coefficient(sys, c.Reaction, term.Species.Name) != 0 && term.Species.Name != chem.Proton {
					return c
				}
			}
		}
	}
	return nil
}

func coefficient(sys *equilibrium.System, reaction int, name string) int64 {
	j := sys.Index(name)
	for _, t := range sys.Reactions[reaction].Terms {
		if t.Species == j {
			return t.Num
		}
	}
	return 0
}

func lcm(a, b float64) float64 {
	x, y := a, b
	for y > 0.5 {
		x, y = y, math.Mod(x, y)
	}
	return a * b / x
}

// readings returns the volumes of the plausible set of readings around a point.
func readings(pt Point) []float64 {
	var list []float64
	for i := 1; i <= 5; i++ {
		x := float64(i) / 5.5
		list = append(list, pt.From+x*(pt.Volume-pt.From), pt.Volume+x*(pt.To-pt.Volume))
	}
	for i := range 10 {
		list = append(list, pt.Volume*(1+(float64(i)-4.5)/250))
	}
	return list
}

// carried returns the standard uncertainty of an equivalence volume from the
// plausible readings: the inverse of the Fisher information with the couples'
// potentials, or the offset, unknown too.
func (p *Plan) carried(pt Point) (float64, error) {
	s := p.Setup
	out := titration.Potential
	kind := curve.Potential
	noise := s.Noise.Potential
	if p.walk.scale.unit == "" {
		out, kind, noise = titration.PIon, curve.PH, s.Noise.PH
		if p.walk.scale.name == "pH" {
			out = titration.PH
		}
	}
	if noise == 0 {
		noise = map[bool]float64{true: assumedPotential, false: assumedPH}[kind == curve.Potential]
	}
	target := p.target()
	if target.Species < 0 || target.Name == "" {
		return math.NaN(), nil
	}
	params := fit.DefaultParameters(s.Titration, []fit.Target{target}, kind, true)
	m, err := s.Titration.NewModel(params, out)
	if err != nil {
		return 0, err
	}
	vol := s.Noise.Volume
	if vol == 0 {
		vol = assumedVolume
	}
	n := len(params)
	info, grad := make([]float64, n*n), make([]float64, n)
	for _, v := range readings(pt) {
		d, _ := unit.DecimalOf(v)
		_, slope, ok, err := m.EvalDecimal(d, grad)
		if err != nil {
			return 0, err
		}
		if !ok {
			continue
		}
		weight := 1 / (noise*noise + slope*slope*vol*vol)
		for i := range n {
			for k := range n {
				info[i*n+k] += weight * grad[i] * grad[k]
			}
		}
	}
	eq, err := m.Equivalences(farthest)
	if err != nil {
		return 0, err
	}
	for _, e := range eq {
		if math.Abs(e.Volume-pt.Volume) < 1e-9 {
			if x := alone(info, n); x > 0 && e.Gradient[0] != 0 {
				return math.Abs(e.Gradient[0]) / math.Sqrt(x), nil
			}
			return math.NaN(), nil
		}
	}
	return math.NaN(), nil
}

// alone returns the information on the first parameter when all others are
// unknown: they are eliminated one after another. One that the readings say
// nothing of, given the others, takes nothing away.
func alone(info []float64, n int) float64 {
	for k := n - 1; k > 0; k-- {
		own := info[k*n+k]
		if !(own > 0) {
			continue
		}
		for i := range k {
			f := info[i*n+k] / own
			for j := range k {
				info[i*n+j] -= f * info[k*n+j]
			}
		}
	}
	return math.Max(info[0], 0)
}

// target is what is sought as a parameter of the model: of the particles that
// its substance gives, the one that the equivalence points hang on most.
func (p *Plan) target() fit.Target {
	c, inBurette := p.sought()
	if c == nil {
		return fit.Target{}
	}
	return fit.Target{Species: p.weighs(c, inBurette), InBurette: inBurette, Name: c.Species}
}

// sought returns the content that is to be determined: the first of find that
// is there, else the first of the flask that an equivalence point hangs on.
func (p *Plan) sought() (content *setup.Content, inBurette bool) {
	for _, f := range p.Setup.Find {
		list := p.Setup.Flask.Contents
		if f.InBurette {
			list = p.Setup.Burette.Contents
		}
		for i := range list {
			c := &list[i]
			given := slices.ContainsFunc(c.Ions, func(t chem.Term) bool { return t.Species.Name == f.Species })
			if (c.Species == f.Species || given) && p.weighs(c, f.InBurette) >= 0 {
				return c, f.InBurette
			}
		}
	}
	for i := range p.Setup.Flask.Contents {
		if c := &p.Setup.Flask.Contents[i]; p.weighs(c, false) >= 0 {
			return c, false
		}
	}
	return nil, false
}

// weighs returns the particle of a content that an equivalence volume hangs on
// most, -1 if none does.
func (p *Plan) weighs(c *setup.Content, inBurette bool) int {
	best, most := -1, 0.0
	sys := p.Setup.System()
	for _, t := range c.Ions {
		j := sys.Index(t.Species.Name)
		if j < 0 {
			continue
		}
		for _, e := range p.eq {
			if !slices.ContainsFunc(p.points, func(x Point) bool { return math.Abs(x.Volume-e.Volume) < 1e-9 }) {
				continue
			}
			per := e.PerFlask
			if inBurette {
				per = e.PerBurette
			}
			if x := math.Abs(per[j]); x > most {
				best, most = j, x
			}
		}
	}
	return best
}
