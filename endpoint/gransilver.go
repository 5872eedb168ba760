package endpoint

import "meniscus/curve"

// granSilverBefore extrapolates (V0+V)·10^(-E/S) (rising) to zero: over a salt
// of one to one the concentration of the ion titrated is inverse to that of
// the titrant's ion, which the electrode follows.
func granSilverBefore(c *curve.Curve, opt Options) Result {
	t, r, ok := begin("gran-silver-before", c, opt, curve.Potential, curve.PIon)
	if !ok {
		return r
	}
	if opt.V0 == 0 {
		r.Refused = needsV0
		return r
	}
	l := law{name: signed("(V0+V)·10^(%sE/S)", -t.s.dir), factor: diluted}
	return t.before(r, func(branchData) law { return l }, t.theory/electrons(opt.Electrons.Titrand))
}

// granSilverAfter extrapolates (V0+V)·10^(E/S) (rising), the excess of the
// titrant's ion, back to zero.
func granSilverAfter(c *curve.Curve, opt Options) Result {
	return dilutedAfter("gran-silver-after", "E/S", c, opt, curve.Potential, curve.PIon)
}
