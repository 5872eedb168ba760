package endpoint

import "meniscus/curve"

// granRedoxBefore extrapolates V·10^(-E/S) (V·10^(E/S) on a falling curve) to
// zero: [Red]/[Ox] of the titrand couple is (V_e-V)/V.
func granRedoxBefore(c *curve.Curve, opt Options) Result {
	t, r, ok := begin("gran-redox-before", c, opt, curve.Potential)
	if !ok {
		return r
	}
	l := law{name: signed("V·10^(%sE/S)", -t.s.dir), factor: sinceStart}
	return t.before(r, func(branchData) law { return l }, t.theory/electrons(opt.Electrons.Titrand))
}

// granRedoxAfter extrapolates 10^(E/S) (10^(-E/S) on a falling curve) back to
// zero: [Ox]/[Red] of the titrant couple is (V-V_e)/V_e.
func granRedoxAfter(c *curve.Curve, opt Options) Result {
	t, r, ok := begin("gran-redox-after", c, opt, curve.Potential)
	if !ok {
		return r
	}
	l := law{name: signed("10^(%sE/S)", t.s.dir), factor: one, after: true}
	return t.after(r, l, t.theory/electrons(opt.Electrons.Titrant))
}

func electrons(n int) float64 {
	if n == 0 {
		return 1
	}
	return float64(n)
}
