package setup

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml"

	"meniscus/chem"
	"meniscus/unit"
	"meniscus/yamlfile"
)

// Read reads a setup file. name stands in messages. Errors are *Error.
func Read(data []byte, name string) (*Setup, error) {
	r := &reader{source: yamlfile.File{Name: name, Data: data}, s: &Setup{name: name, source: data}}
	if err := r.read(""); err != nil {
		return nil, err
	}
	return r.s, nil
}

// read does the work; more is one more entry of fit, or "".
func (r *reader) read(more string) error {
	if err := r.source.Decode(&r.f, "a setup needs at least a flask and a burette", "docs/setup.md"); err != nil {
		return err
	}
	if more != "" && !slices.Contains(r.f.Fit, more) {
		r.f.Fit = append(r.f.Fit, more)
	}
	r.addTraces()
	if err := r.basics(); err != nil {
		return err
	}
	if r.s.Ratio != nil && len(r.f.Chemistry) == 0 && len(r.s.Flask.Contents) == 0 {
		if len(r.f.Fit) > 0 {
			return r.fail([]any{"fit"}, "needs the chemistry; this setup gives only a ratio")
		}
		return nil
	}
	if err := r.resolve(); err != nil {
		return err
	}
	return r.extras()
}

type reader struct {
	source yamlfile.File
	f      file
	s      *Setup
}

// fail makes an error at a place in the file: keys and indices from the root.
func (r *reader) fail(place []any, format string, args ...any) error {
	return r.source.Fail(place, format, args...)
}

func text(v any) string { return yamlfile.Text(v) }

// value reads an optional quantity of one dimension.
func (r *reader) value(v any, dim unit.Dimension, example string, place ...any) (Value, error) {
	if v == nil {
		return Value{}, nil
	}
	q, err := unit.ParseQuantity(text(v))
	if err != nil {
		return Value{}, r.fail(place, "%v", err)
	}
	x, u, err := q.In(dim, example)
	if err != nil {
		return Value{}, r.fail(place, "%v", err)
	}
	return Value{X: x, U: u, Stated: q.Stated, Text: q.Text}, nil
}

// number reads a bare number.
func (r *reader) number(v any, place ...any) (float64, error) {
	d, err := unit.ParseDecimal(text(v))
	if err != nil {
		return 0, r.fail(place, "%v; a plain number is meant here", err)
	}
	return d.Float(), nil
}

func (r *reader) basics() error {
	s, f := r.s, &r.f
	s.Title = f.Title
	s.Temperature = unit.Celsius(25)
	if f.Temperature != nil {
		t, err := r.value(f.Temperature, unit.DimTemperature, "25 °C", "temperature")
		if err != nil {
			return err
		}
		s.Temperature = unit.Temperature(t.Float())
		if c := s.Temperature.Celsius(); c < -5 || c > 100 {
			return r.fail([]any{"temperature"}, "%s is outside -5 to 100 °C, where water is a liquid", t.Text)
		}
	}
	for _, step := range []func() error{r.ratio, r.vessels, r.finds, r.rest, r.volumes} {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

// ratio reads "1 to 5": titrand to titrant.
func (r *reader) ratio() error {
	if r.f.Ratio == nil {
		return nil
	}
	q, err := parseRatio(text(r.f.Ratio))
	if err != nil {
		return r.fail([]any{"ratio"}, "%q is not a ratio of titrand to titrant such as 5 to 1", text(r.f.Ratio))
	}
	r.s.Ratio = q
	return nil
}

var errRatio = errors.New("not a ratio")

func parseRatio(s string) (*Ratio, error) {
	a, b, ok := strings.Cut(strings.NewReplacer(":", " to ", "/", " to ").Replace(s), " to ")
	x, err1 := strconv.ParseFloat(strings.TrimSpace(a), 64)
	y, err2 := strconv.ParseFloat(strings.TrimSpace(b), 64)
	if !ok || err1 != nil || err2 != nil || !(x > 0) || !(y > 0) || math.IsInf(x, 0) || math.IsInf(y, 0) {
		return nil, errRatio
	}
	return &Ratio{x, y}, nil
}

func (r *reader) vessels() error {
	s, f := r.s, &r.f
	var err error
	if len(f.Flask.Portions) > 0 {
		if f.Flask.Volume != nil || f.Flask.Contains != nil {
			return r.fail([]any{"flask"}, "has both portions and a volume or contains of its own; put everything into portions")
		}
		err = r.portions()
	} else {
		s.Flask.Volume, err = r.value(f.Flask.Volume, unit.DimVolume, "50.00 mL", "flask", "volume")
		if err == nil {
			s.Flask.Contents, err = r.contents(f.Flask.Contains, s.Flask.Volume, "flask", "contains")
		}
	}
	if err != nil {
		return err
	}
	s.Flask.Medium = f.Flask.Medium
	if s.Flask.Volume.X.Coef.Sign() <= 0 && (s.Ratio == nil || f.Flask.Volume != nil) {
		if f.Flask.Volume == nil {
			return r.fail([]any{"flask"}, "has no volume; write what was in the flask before the first drop, such as volume: 50.00 mL")
		}
		return r.fail([]any{"flask", "volume"}, "%s is not above 0", text(f.Flask.Volume))
	}
	return r.burette()
}

func (r *reader) portions() error {
	s := r.s
	for i, p := range r.f.Flask.Portions {
		v, err := r.value(p.Volume, unit.DimVolume, "25.00 mL", "flask", "portions", i, "volume")
		if err != nil {
			return err
		}
		if v.X.Coef.Sign() <= 0 {
			return r.fail([]any{"flask", "portions", i}, "needs a volume above 0")
		}
		c, err := r.contents(p.Contains, v, "flask", "portions", i, "contains")
		if err != nil {
			return err
		}
		s.Flask.Contents = append(s.Flask.Contents, c...)
		s.Flask.Volume.X = s.Flask.Volume.X.Add(v.X)
		s.Flask.Volume.U = math.Hypot(s.Flask.Volume.U, v.U)
		s.Flask.Volume.Stated = s.Flask.Volume.Stated || v.Stated
	}
	return nil
}

func (r *reader) burette() error {
	s, f := r.s, &r.f.Burette
	var err error
	if s.Burette.Contents, err = r.contents(f.Contains, Value{}, "burette", "contains"); err != nil {
		return err
	}
	s.Burette.Class = f.Class
	switch strings.ToLower(f.Reads) {
	case "", "up":
	case "down":
		s.Burette.ReadsDown = true
	default:
		return r.fail([]any{"burette", "reads"}, "%q is not up or down", f.Reads)
	}
	switch strings.ToLower(f.By) {
	case "", "volume":
	case "mass":
		return r.fail([]any{"burette", "by"}, "weighed titrant is not evaluated yet; divide the masses by the density and give volumes")
	default:
		return r.fail([]any{"burette", "by"}, "%q is not volume or mass", f.By)
	}
	for _, q := range []struct {
		to  *Value
		v   any
		dim unit.Dimension
		ex  string
		key string
	}{
		{&s.Burette.Capacity, f.Capacity, unit.DimVolume, "50 mL", "capacity"},
		{&s.Burette.Start, f.Start, unit.DimVolume, "0.35 mL", "start"},
		{&s.Burette.RefillAt, f.RefillAt, unit.DimVolume, "48 mL", "refill at"},
		{&s.Burette.Density, f.Density, unit.DimDensity, "1.02 g/mL", "density"},
	} {
		if *q.to, err = r.value(q.v, q.dim, q.ex, "burette", q.key); err != nil {
			return err
		}
		if q.v != nil && q.key != "start" && !(q.to.Float() > 0) {
			return r.fail([]any{"burette", q.key}, "%s is no %s; above 0 is meant, such as %s", q.to.Text, q.key, q.ex)
		}
	}
	return nil
}

// contents reads entries under contains.
func (r *reader) contents(m yaml.MapSlice, volume Value, place ...any) ([]Content, error) {
	var list []Content
	seen := map[string]bool{}
	for _, item := range m {
		key := text(item.Key)
		here := append(append([]any{}, place...), key)
		sp, err := chem.ParseSpecies(key)
		if err != nil {
			return nil, r.fail(here, "%v", err)
		}
		if seen[sp.Name] {
			return nil, r.fail(here, "%s is listed twice", sp.Name)
		}
		seen[sp.Name] = true
		conc, err := r.concentration(item.Value, sp, here)
		if err != nil {
			return nil, err
		}
		list = append(list, Content{Species: sp.Name, Conc: conc, Volume: volume, Trace: text(item.Value) == trace})
	}
	return list, nil
}

// concentration reads mol/L, g/L, mg/L or N.
func (r *reader) concentration(v any, sp chem.Species, place []any) (Value, error) {
	q, err := unit.ParseQuantity(text(v))
	if err != nil {
		return Value{}, r.fail(place, "%v", err)
	}
	val := Value{Stated: q.Stated, Text: q.Text}
	switch q.Dimension() {
	case unit.DimMassConc:
		val.X, val.U, err = q.In(unit.DimMassConc, "")
		if err == nil {
			m, merr := sp.MolarMass()
			if merr != nil {
				return Value{}, r.fail(place, "%v; give the concentration in mol/L", merr)
			}
			d, _ := unit.DecimalOf(val.Float() / float64(m.Value))
			val.X, val.U = d, math.Hypot(val.U/float64(m.Value), d.Float()*float64(m.StdUnc/m.Value))
		}
	case unit.DimNormality:
		if q.N == 0 {
			return Value{}, r.fail(place, "%s: normality needs its equivalents per mole, such as 0.1 N (n=5)", q.Text)
		}
		val.X, val.U, err = q.In(unit.DimNormality, "")
		d, _ := unit.DecimalOf(val.Float() / float64(q.N))
		val.X, val.U = d, val.U/float64(q.N)
	default:
		val.X, val.U, err = q.In(unit.DimConc, "0.1000 mol/L")
	}
	if err != nil {
		return Value{}, r.fail(place, "%v", err)
	}
	if val.X.Coef.Sign() < 0 {
		return Value{}, r.fail(place, "%s is negative", q.Text)
	}
	return val, nil
}

func (r *reader) finds() error {
	var list []any
	switch f := r.f.Find.(type) {
	case nil:
		return nil
	case []any:
		list = f
	default:
		list = []any{f}
	}
	for i, item := range list {
		place := []any{"find"}
		if len(list) > 1 {
			place = append(place, i)
		}
		name, where, _ := strings.Cut(text(item), " in ")
		sp, err := chem.ParseSpecies(strings.TrimSpace(name))
		if err != nil {
			return r.fail(place, "%v", err)
		}
		t := Target{Species: sp.Name, Text: text(item)}
		switch strings.TrimSpace(where) {
		case "", "flask":
		case "burette":
			t.InBurette = true
		default:
			return r.fail(place, "%q: what is found is in the flask or in the burette", text(item))
		}
		r.s.Find = append(r.s.Find, t)
	}
	return nil
}

func (r *reader) rest() error {
	s, f := r.s, &r.f
	var err error
	if s.Blank, err = r.value(f.Blank, unit.DimVolume, "0.05 ± 0.01 mL", "blank"); err != nil {
		return err
	}
	if err := r.noise(); err != nil {
		return err
	}
	if f.Sample != nil {
		if err := r.sample(); err != nil {
			return err
		}
	}
	if err := r.indirect(); err != nil {
		return err
	}
	for i, run := range f.Runs {
		a, err := r.value(run.Aliquot, unit.DimVolume, "25.00 mL", "runs", i, "aliquot")
		if err != nil {
			return err
		}
		if run.File == "" {
			return r.fail([]any{"runs", i}, "needs a file with readings")
		}
		s.Runs = append(s.Runs, Run{run.File, run.Sheet, a, isYes(run.Blank)})
	}
	return r.electrode()
}

func isYes(v any) bool {
	switch strings.ToLower(text(v)) {
	case "yes", "true", "on":
		return true
	}
	return false
}

func (r *reader) noise() error {
	p, err := r.value(r.f.Readings.Potential, unit.DimPotential, "0.5 mV", "readings", "potential")
	if err != nil {
		return err
	}
	v, err := r.value(r.f.Readings.Volume, unit.DimVolume, "0.01 mL", "readings", "volume")
	if err != nil {
		return err
	}
	n := Noise{Potential: p.Float(), Volume: v.Float()}
	if r.f.Readings.PH != nil {
		if n.PH, err = r.number(r.f.Readings.PH, "readings", "pH"); err != nil {
			return err
		}
	}
	if n.Potential < 0 || n.Volume < 0 || n.PH < 0 {
		return r.fail([]any{"readings"}, "the noise of a reading cannot be negative")
	}
	r.s.Noise = n
	return nil
}

func (r *reader) sample() error {
	f := r.f.Sample
	s := &Sample{}
	var err error
	for _, q := range []struct {
		to  *Value
		v   any
		dim unit.Dimension
		ex  string
		key string
	}{
		{&s.Mass, f.Mass, unit.DimMass, "0.9167 g", "mass"},
		{&s.Volume, f.Volume, unit.DimVolume, "100 mL", "volume"},
		{&s.MadeUpTo, f.MadeUpTo, unit.DimVolume, "250.0 mL", "made up to"},
		{&s.Aliquot, f.Aliquot, unit.DimVolume, "25.00 mL", "aliquot"},
	} {
		if *q.to, err = r.value(q.v, q.dim, q.ex, "sample", q.key); err != nil {
			return err
		}
		if q.v != nil && q.to.X.Coef.Sign() <= 0 {
			return r.fail([]any{"sample", q.key}, "%s is not above 0", text(q.v))
		}
	}
	r.s.Sample = s
	return r.reports()
}

// volumes reads "0 to 50 step 0.5 mL" or "0.5, 1, 24.95 mL".
func (r *reader) volumes() error {
	if r.f.Volumes == nil {
		return nil
	}
	list, err := ParseVolumes(text(r.f.Volumes))
	if err != nil {
		return r.fail([]any{"volumes"}, "%v", err)
	}
	r.s.Volumes = list
	return nil
}

// ParseVolumes reads a list of volumes, "0.5, 1, 24.95 mL", or a range, "0 to
// 50 step 0.5 mL", as exact decimals in litres. A list without a unit is an
// error.
func ParseVolumes(s string) ([]unit.Decimal, error) {
	if from, rest, ok := strings.Cut(s, " to "); ok {
		to, step, ok := strings.Cut(rest, " step ")
		if !ok {
			return nil, fmt.Errorf("%q has no step; write 0 to 50 step 0.5 mL", s)
		}
		q, err := unit.ParseQuantity(step)
		if err != nil {
			return nil, err
		}
		h, _, err := q.In(unit.DimVolume, "0 to 50 step 0.5 mL")
		if err != nil {
			return nil, err
		}
		a, err := volumeIn(from, q.Unit)
		if err != nil {
			return nil, err
		}
		b, err := volumeIn(to, q.Unit)
		if err != nil {
			return nil, err
		}
		return rangeOf(a, b, h)
	}
	parts := strings.Split(strings.ReplaceAll(s, ";", ","), ",")
	last, err := unit.ParseQuantity(parts[len(parts)-1])
	if err != nil {
		return nil, err
	}
	if _, _, err := last.In(unit.DimVolume, "12.5, 25 mL"); err != nil {
		return nil, err
	}
	var list []unit.Decimal
	for _, p := range parts {
		v, err := volumeIn(p, last.Unit)
		if err != nil {
			return nil, err
		}
		list = append(list, v)
	}
	return list, nil
}

func volumeIn(s, unitName string) (unit.Decimal, error) {
	q, err := unit.ParseQuantity(s)
	if err != nil {
		return unit.Decimal{}, err
	}
	if q.Unit == "" {
		q.Unit = unitName
	}
	v, _, err := q.In(unit.DimVolume, "25 mL")
	if err == nil && v.Coef.Sign() < 0 {
		err = fmt.Errorf("volume %s is negative", s)
	}
	return v, err
}

const maxVolumes = 1_000_000

func rangeOf(a, b, h unit.Decimal) ([]unit.Decimal, error) {
	if h.Coef.Sign() <= 0 {
		return nil, errors.New("the step must be above 0")
	}
	if b.Float() < a.Float() {
		return nil, errors.New("the range ends before it begins")
	}
	n := int(math.Floor((b.Float()-a.Float())/h.Float() + 1e-9))
	if n > maxVolumes {
		return nil, fmt.Errorf("the range has %d volumes; at most %d are computed", n, maxVolumes)
	}
	list := make([]unit.Decimal, n+1)
	for i := range list {
		k, _ := unit.DecimalOf(float64(i))
		list[i] = a.Add(h.Mul(k))
	}
	return list, nil
}
