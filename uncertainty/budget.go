package uncertainty

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// Level is the coverage probability of the expanded uncertainty in a Budget.
const Level = 0.95

// A Budget is the result of a Model by the law of propagation of uncertainty
// (GUM 5 and annex G, from memory).
type Budget struct {
	Value            // estimate, combined standard uncertainty, effective degrees of freedom
	K        float64 // coverage factor for Level
	Expanded float64 // K U

	Shares       []Share   // of the inputs, the largest first
	Correlation  float64   // share of the correlations in the variance; may be negative
	Intermediate []Derived // the other left sides, in the order of the equations

	// StdUnc2 adds the next order of the Taylor series to U, and Bias is what it
	// adds to the estimate; both as if the inputs were independent (GUM 5.1.2,
	// note).
	StdUnc2, Bias float64

	Halving  []Halving // for each input, what would halve U; the easiest first
	Together Halved    // the fewest inputs, largest first, that halve U when each is at most 3 times smaller
	Warnings []string
}

// A Share is what an input does to the result.
type Share struct {
	Name, Unit, Note, Type string
	Shape                  Shape
	Value                          // DoF is +Inf where it is not known
	Sensitivity            float64 // derivative of the measurand for the input
	Contribution           float64 // absolute value of Sensitivity times U, unit of the measurand
	Share                  float64 // of the variance, without the correlations
}

// Derived is an intermediate result.
type Derived struct {
	Name string
	X, U float64
}

// Halving says how many times smaller the standard uncertainty of one input
// must be for half the combined one. Factor 0 means that this input alone
// cannot do it; Rest is the part of U that is left without its uncertainty.
type Halving struct {
	Name         string
	Factor, Rest float64
	Readings     int // how many readings that takes, for an input with readings
}

// Halved says how many times smaller several uncertainties must be, all by
// the same factor, for half the combined one.
type Halved struct {
	Names  []string
	Factor float64
}

// Propagate returns the budget of the model. What is wrong with the model is
// an error that says where.
func (m *Model) Propagate() (*Budget, error) {
	c, err := m.compile()
	if err != nil {
		return nil, err
	}
	return c.budget()
}

func (c *compiled) budget() (*Budget, error) {
	d, err := c.p.at(c.x)
	if err != nil {
		return nil, err
	}
	cov := c.covariance()
	b := &Budget{}
	b.X = d.value[c.p.out]
	g := d.gradient(c.p.out)
	if b.U, err = Propagate(g, cov); err != nil {
		return nil, err
	}
	for _, k := range c.p.middle {
		u, err := Propagate(d.gradient(k.register), cov)
		if err != nil {
			return nil, err
		}
		b.Intermediate = append(b.Intermediate, Derived{k.name, d.value[k.register], u})
	}
	c.shares(b, g)
	c.freedom(b, g)
	b.Expanded, b.K = b.Value.Expanded(Level)
	c.secondOrder(b, g)
	c.halve(b, g)
	return b, nil
}

// covariance is u_i u_j r_ij.
func (c *compiled) covariance() []float64 {
	n := len(c.in)
	cov := make([]float64, n*n)
	for i := range n {
		for j := range n {
			cov[i*n+j] = c.r[i*n+j] * c.in[i].U * c.in[j].U
		}
	}
	return cov
}

func (c *compiled) shares(b *Budget, g []float64) {
	b.Correlation = 1
	for i, e := range c.in {
		in := &c.m.Inputs[i]
		s := Share{
			Name: in.Name, Unit: in.Unit, Note: in.Note, Type: in.kind(), Shape: e.stated.shape(),
			Value: e.Value, Sensitivity: g[i], Contribution: math.Abs(g[i] * e.U),
		}
		if b.U > 0 {
			s.Share = s.Contribution / b.U * s.Contribution / b.U
		}
		b.Correlation -= s.Share
		b.Shares = append(b.Shares, s)
	}
	if b.U == 0 || !slices.Contains(c.joint, true) {
		b.Correlation = 0
	}
	slices.SortStableFunc(b.Shares, func(x, y Share) int { return cmp.Compare(y.Share, x.Share) })
}

// freedom sets the effective degrees of freedom (GUM G.4). Inputs joined by
// correlations enter as one part: with their common degrees of freedom, as a
// line fitted to the same readings has (GUM H.3), or else with the fewest.
func (c *compiled) freedom(b *Budget, g []float64) {
	n := len(c.in)
	variance, dof := make([]float64, n), make([]float64, n)
	differ := false
	for i, e := range c.in {
		k := c.group[i]
		for j := range n {
			variance[k] += g[i] * g[j] * c.r[i*n+j] * e.U * c.in[j].U
		}
		if dof[k] != 0 && dof[k] != e.DoF {
			differ = true
		}
		if dof[k] == 0 || e.DoF < dof[k] {
			dof[k] = e.DoF
		}
	}
	var us, dofs []float64
	for k, f := range dof {
		if f > 0 {
			us, dofs = append(us, math.Sqrt(max(variance[k], 0))), append(dofs, f)
		}
	}
	b.DoF = Welch(us, dofs)
	if differ {
		b.Warnings = append(b.Warnings, "correlated inputs have different degrees of freedom; the fewest count for all of them")
	}
}

// secondOrder adds ∑∑ (h_ij²/2 + g_i g_ijj) u_i² u_j² to the variance (GUM 5.1.2,
// note, from memory) and ∑ h_ii u_i²/2 to the estimate. The note means normal
// inputs; for others the terms with i = j are h_ii² (K-1)/4 and g_i g_iii K/3, K
// being the fourth moment over u⁴. The higher derivatives are differences of the
// exact slopes one standard uncertainty apart, which is where a curved model
// shows.
func (c *compiled) secondOrder(b *Budget, g []float64) {
	n := len(c.in)
	extra := 0.0
	for j, e := range c.in {
		if e.U == 0 {
			continue
		}
		up, errUp := c.slopeAt(j, e.U)
		down, errDown := c.slopeAt(j, -e.U)
		if errUp != nil || errDown != nil {
			b.Warnings = append(b.Warnings, fmt.Sprintf("the equation gives no number one standard uncertainty of %s away from its value; trust no propagation here", c.m.Inputs[j].Name))
			b.StdUnc2 = math.NaN()
			return
		}
		for i := range n {
			half := (up[i] - down[i]) / 2 * c.in[i].U      // h_ij u_i u_j
			bend := (up[i] - 2*g[i] + down[i]) * c.in[i].U // g_ijj u_i u_j²
			if i != j {
				extra += half*half/2 + g[i]*c.in[i].U*bend
				continue
			}
			k := e.stated.kurtosis()
			extra += half*half*(k-1)/4 + g[i]*c.in[i].U*bend*k/3
			b.Bias += half / 2
		}
	}
	b.StdUnc2 = math.Sqrt(max(b.U*b.U+extra, 0))
	const noticeable = 0.05 // of U
	if math.Abs(b.StdUnc2-b.U) <= noticeable*b.U && math.Abs(b.Bias) <= noticeable*b.U {
		return
	}
	bias, u := Round(b.Bias, b.StdUnc2)
	text := fmt.Sprintf("the equation bends within the uncertainties: the next order makes u about %s", u)
	if math.Abs(b.Bias) > noticeable*b.U {
		text += " and moves the value by " + bias
	}
	b.Warnings = append(b.Warnings, text+"; use the Monte Carlo interval")
}

func (c *compiled) slopeAt(j int, step float64) ([]float64, error) {
	x := slices.Clone(c.x)
	x[j] += step
	d, err := c.p.at(x)
	if err != nil {
		return nil, err
	}
	return d.gradient(c.p.out), nil
}

// halve fills Halving and Together. With s the factor on u_i the variance is
// a s² + k s + rest, where k has the correlations.
func (c *compiled) halve(b *Budget, g []float64) {
	n := len(c.in)
	for i, e := range c.in {
		a := g[i] * e.U * g[i] * e.U
		k := 0.0
		for j := range n {
			if j != i {
				k += 2 * g[i] * e.U * g[j] * c.in[j].U * c.r[i*n+j]
			}
		}
		if a == 0 {
			continue
		}
		v := b.U * b.U
		h := Halving{Name: c.m.Inputs[i].Name, Rest: math.Sqrt(max(v-a-k, 0)) / b.U}
		if s := shrink(a, k, v-a-k, v/4); s > 0 {
			h.Factor = 1 / s
			if r := len(c.m.Inputs[i].Readings); r > 0 {
				h.Readings = int(math.Ceil(float64(r) * h.Factor * h.Factor))
			}
		}
		b.Halving = append(b.Halving, h)
	}
	effort := func(h Halving) float64 {
		if h.Factor == 0 {
			return math.Inf(1)
		}
		return h.Factor
	}
	slices.SortStableFunc(b.Halving, func(x, y Halving) int {
		return cmp.Or(cmp.Compare(effort(x), effort(y)), cmp.Compare(x.Rest, y.Rest))
	})
	c.together(b, g)
}

// shrink returns the largest s below 1 with a s² + k s + rest = want, 0 if there
// is none above 0.
func shrink(a, k, rest, want float64) float64 {
	q := k*k - 4*a*(rest-want)
	if q < 0 {
		return 0
	}
	for _, s := range []float64{(-k + math.Sqrt(q)) / (2 * a), (-k - math.Sqrt(q)) / (2 * a)} {
		if s > 1e-9 && s < 1 {
			return s
		}
	}
	return 0
}

const feasible = 3

// together takes the largest inputs until they can halve U without becoming
// more than feasible times smaller; all of them need a factor 2.
func (c *compiled) together(b *Budget, g []float64) {
	n := len(c.in)
	chosen := make([]bool, n)
	var names []string
	for _, s := range b.Shares {
		if s.Contribution == 0 {
			return
		}
		names = append(names, s.Name)
		chosen[c.find(s.Name)] = true
		var a, k float64
		for i := range n {
			for j := range n {
				t := g[i] * g[j] * c.r[i*n+j] * c.in[i].U * c.in[j].U
				switch {
				case chosen[i] && chosen[j]:
					a += t
				case chosen[i] || chosen[j]:
					k += t
				}
			}
		}
		v := b.U * b.U
		if f := shrink(a, k, v-a-k, v/4); f >= 1.0/feasible {
			b.Together = Halved{names, 1 / f}
			return
		}
	}
}

// String returns "m, V and P".
func (h Halved) String() string {
	if n := len(h.Names); n > 1 {
		return strings.Join(h.Names[:n-1], ", ") + " and " + h.Names[n-1]
	}
	return strings.Join(h.Names, "")
}
