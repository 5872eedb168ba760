package lsq

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"meniscus/num/dd"
)

// The Statistical Reference Datasets for nonlinear regression of the National
// Institute of Standards and Technology (NIST StRD), with certified values.

// A model returns f(b, x) and writes its derivatives for b into d.
type model func(b, x, d []float64) float64

var models = map[string]model{
	"BoxBOD":   saturation,
	"Misra1a":  saturation,
	"Misra1b":  misra1b,
	"Chwirut2": chwirut,
	"DanWood":  power,
	"Gauss1":   gauss,
	"Kirby2":   rational,
	"Lanczos1": exponentials,
	"Lanczos3": exponentials,
	"MGH09":    kowalik,
	"MGH17":    osborne,
	"Nelson":   nelson,
	"Rat42":    logistic,
	"Rat43":    richards,
	"Roszman1": roszman,
}

func saturation(b, x, d []float64) float64 {
	e := math.Exp(-b[1] * x[0])
	d[0], d[1] = 1-e, b[0]*x[0]*e
	return b[0] * (1 - e)
}

func misra1b(b, x, d []float64) float64 {
	u := 1 + b[1]*x[0]/2
	d[0], d[1] = 1-1/(u*u), b[0]*x[0]/(u*u*u)
	return b[0] * d[0]
}

func chwirut(b, x, d []float64) float64 {
	den := b[1] + b[2]*x[0]
	y := math.Exp(-b[0]*x[0]) / den
	d[0], d[1], d[2] = -x[0]*y, -y/den, -x[0]*y/den
	return y
}

func power(b, x, d []float64) float64 {
	d[0] = math.Pow(x[0], b[1])
	d[1] = b[0] * d[0] * math.Log(x[0])
	return b[0] * d[0]
}

func gauss(b, x, d []float64) float64 {
	d[0] = math.Exp(-b[1] * x[0])
	d[1] = -b[0] * x[0] * d[0]
	y := b[0] * d[0]
	for k := 2; k < 8; k += 3 {
		z := (x[0] - b[k+1]) / b[k+2]
		e := math.Exp(-z * z)
		d[k], d[k+1], d[k+2] = e, 2*b[k]*e*z/b[k+2], 2*b[k]*e*z*z/b[k+2]
		y += b[k] * e
	}
	return y
}

func rational(b, x, d []float64) float64 {
	t := x[0]
	num, den := b[0]+b[1]*t+b[2]*t*t, 1+b[3]*t+b[4]*t*t
	y := num / den
	d[0], d[1], d[2], d[3], d[4] = 1/den, t/den, t*t/den, -y*t/den, -y*t*t/den
	return y
}

func exponentials(b, x, d []float64) float64 {
	y := 0.0
	for k := 0; k < 6; k += 2 {
		d[k] = math.Exp(-b[k+1] * x[0])
		d[k+1] = -b[k] * x[0] * d[k]
		y += b[k] * d[k]
	}
	return y
}

func kowalik(b, x, d []float64) float64 {
	t := x[0]
	num, den := t*t+t*b[1], t*t+t*b[2]+b[3]
	y := b[0] * num / den
	d[0], d[1], d[2], d[3] = num/den, b[0]*t/den, -y*t/den, -y/den
	return y
}

func osborne(b, x, d []float64) float64 {
	e4, e5 := math.Exp(-x[0]*b[3]), math.Exp(-x[0]*b[4])
	d[0], d[1], d[2], d[3], d[4] = 1, e4, e5, -b[1]*x[0]*e4, -b[2]*x[0]*e5
	return b[0] + b[1]*e4 + b[2]*e5
}

// nelson models log y; see load.
func nelson(b, x, d []float64) float64 {
	e := math.Exp(-b[2] * x[1])
	d[0], d[1], d[2] = 1, -x[0]*e, b[1]*x[0]*x[1]*e
	return b[0] - b[1]*x[0]*e
}

func logistic(b, x, d []float64) float64 {
	e := math.Exp(b[1] - b[2]*x[0])
	d[0] = 1 / (1 + e)
	s := b[0] * e * d[0] * d[0]
	d[1], d[2] = -s, s*x[0]
	return b[0] * d[0]
}

func richards(b, x, d []float64) float64 {
	e := math.Exp(b[1] - b[2]*x[0])
	d[0] = math.Pow(1+e, -1/b[3])
	y := b[0] * d[0]
	s := y / b[3] * e / (1 + e)
	d[1], d[2], d[3] = -s, s*x[0], y*math.Log1p(e)/(b[3]*b[3])
	return y
}

func roszman(b, x, d []float64) float64 {
	u := x[0] - b[3]
	q := 1 / (math.Pi * (u*u + b[2]*b[2]))
	d[0], d[1], d[2], d[3] = 1, -x[0], -u*q, -b[2]*q
	return b[0] - b[1]*x[0] - math.Atan(b[2]/u)/math.Pi
}

type dataset struct {
	name      string
	start     [2][]float64
	value, sd []float64
	ssr       float64
	y         []float64
	x         [][]float64
	problem   Problem
}

func rows(t testing.TB, name string) [][]string {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", "nist-strd", name+".csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return all[1:]
}

func number(t testing.TB, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func load(t testing.TB) []*dataset {
	t.Helper()
	var sets []*dataset
	for _, row := range rows(t, "models") {
		s := &dataset{name: row[0], ssr: number(t, row[6])}
		for _, row := range rows(t, s.name) {
			v := make([]float64, len(row))
			for i := range row {
				v[i] = number(t, row[i])
			}
			if s.name == "Nelson" {
				v[0] = math.Log(v[0])
			}
			s.y, s.x = append(s.y, v[0]), append(s.x, v[1:])
		}
		for _, row := range rows(t, "certified") {
			if row[0] != s.name {
				continue
			}
			s.start[0] = append(s.start[0], number(t, row[2]))
			s.start[1] = append(s.start[1], number(t, row[3]))
			s.value, s.sd = append(s.value, number(t, row[4])), append(s.sd, number(t, row[5]))
		}
		s.problem = s.residuals(models[s.name])
		if s.name == "Lanczos1" {
			s.problem = lanczos1(t, s)
		}
		sets = append(sets, s)
	}
	if len(sets) != 15 {
		t.Fatalf("%d data sets, want 15", len(sets))
	}
	return sets
}

func (s *dataset) residuals(f model) Problem {
	p := len(s.value)
	d := make([]float64, p)
	return Problem{Params: p, Residuals: len(s.y), Eval: func(b, r, jac []float64) error {
		for i, x := range s.x {
			r[i] = f(b, x, d) - s.y[i]
			if jac != nil {
				copy(jac[i*p:], d)
			}
		}
		return nil
	}}
}

// lanczos1 forms the residuals in double-double: they are 1e-13 of the data,
// where rounding of a float64 alone would change the third digit of their sum
// of squares.
func lanczos1(t testing.TB, s *dataset) Problem {
	y, x := make([]dd.Num, len(s.y)), make([]dd.Num, len(s.y))
	for i, row := range rows(t, s.name) {
		y[i], x[i] = decimal(t, row[0]), decimal(t, row[1])
	}
	plain := s.residuals(exponentials)
	return Problem{Params: 6, Residuals: len(y), Eval: func(b, r, jac []float64) error {
		if err := plain.Eval(b, r, jac); err != nil {
			return err
		}
		for i := range r {
			f := y[i].Neg()
			for k := 0; k < 6; k += 2 {
				f = f.Add(exp(x[i].MulFloat(-b[k+1])).MulFloat(b[k]))
			}
			r[i] = f.Float()
		}
		return nil
	}}
}

// exp is the exponential by its series, halved until it converges at once.
func exp(x dd.Num) dd.Num {
	const halvings = 12
	x = x.MulFloat(1.0 / (1 << halvings))
	sum, term := dd.From(1), dd.From(1)
	for n := 1; n < 12; n++ {
		term = term.Mul(x).Div(dd.From(float64(n)))
		sum = sum.Add(term)
	}
	for range halvings {
		sum = sum.Mul(sum)
	}
	return sum
}

// digits is the number of decimal digits in which got and want agree.
func digits(got, want float64) float64 {
	if got == want {
		return 11 // all that are certified
	}
	return math.Min(11, -math.Log10(math.Abs(got-want)/math.Abs(want)))
}

// TestStRD compares with the certified values of NIST StRD, from both starts:
// parameters to 6 digits, standard deviations to 5. With -v it prints the
// table of docs/validation.md: in how many digits the worst of each agrees.
func TestStRD(t *testing.T) {
	ws := new(Workspace)
	t.Log("| data set | start | parameters | standard deviations | sum of squares | steps | condition |")
	for _, s := range load(t) {
		for k, start := range s.start {
			res, err := Fit(s.problem, start, Settings{}, ws)
			if err != nil {
				t.Errorf("%s from start %d: %v", s.name, k+1, err)
				continue
			}
			var value, sd []float64
			for j := range s.value {
				value = append(value, digits(res.Params[j], s.value[j]))
				sd = append(sd, digits(res.StdErr[j], s.sd[j]))
			}
			v, d := slices.Min(value), slices.Min(sd)
			t.Logf("| %-8s | %d | %4.1f | %4.1f | %4.1f | %2d | %.0e |",
				s.name, k+1, v, d, digits(res.SSR, s.ssr), res.Iterations, res.Condition)
			if v < 6 || d < 5 {
				t.Errorf("%s from start %d: parameters %.10g, want %.10g; standard deviations %.10g, want %.10g",
					s.name, k+1, res.Params, s.value, res.StdErr, s.sd)
			}
		}
	}
}

// TestDerivatives compares the derivatives of the models with differences, so
// that a fit that fails is not the test's own fault.
func TestDerivatives(t *testing.T) {
	for _, s := range load(t) {
		f, p := models[s.name], len(s.value)
		d, scratch := make([]float64, p), make([]float64, p)
		for _, x := range s.x {
			f(s.value, x, d)
			for j := range p {
				h := 1e-5 * s.value[j]
				b := slices.Clone(s.value)
				b[j] += h
				up := f(b, x, scratch)
				b[j] -= 2 * h
				down := f(b, x, scratch)
				want := (up - down) / (2 * h)
				if math.Abs(d[j]-want) > 1e-6*math.Abs(want)+1e-9*(math.Abs(up)/math.Abs(h))*1e-1 {
					t.Errorf("%s: derivative %d at %g is %g, differences give %g", s.name, j, x, d[j], want)
				}
			}
		}
	}
}

func BenchmarkNIST(b *testing.B) {
	ws := new(Workspace)
	for _, s := range load(b) {
		if s.name == "Lanczos1" {
			continue // double-double residuals would be timed, not the fit
		}
		b.Run(s.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Fit(s.problem, s.start[1], Settings{}, ws); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
