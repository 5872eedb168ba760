"""Decimal tools for the reference calculation: root finding, distribution of
one total over its forms, reactions, and the proof that a point is the answer.

Everything is decimal arithmetic with PRECISION digits. Constants: k and e are
exact in the SI (SI Brochure, 9th edition, table 1); R/F = k/e.
"""
from decimal import Decimal as D, getcontext

PRECISION = 200
getcontext().prec = PRECISION
getcontext().Emax = 10**9
getcontext().Emin = -10**9

LN10 = D(10).ln()
BOLTZMANN = D("1.380649E-23")
CHARGE = D("1.602176634E-19")
KELVIN = D("298.15")
SLOPE = BOLTZMANN * KELVIN * LN10 / CHARGE  # RT ln10 / F, volts per decade

HALVINGS = 24  # leaves a bracket of 200 decades at 1e-5, where 10^x is straight enough for secants


def power(x):
    """10 to the x."""
    return (x * LN10).exp()


def log(x):
    return x.log10()


def root(f, low, high, halvings=HALVINGS):
    """The zero of f, which changes sign once between low and high. More
    halvings where f has a corner close to its zero."""
    a, b = D(low), D(high)
    fa, fb = f(a), f(b)
    if fa == 0:
        return a
    if fb == 0:
        return b
    if (fa > 0) == (fb > 0):
        raise ValueError(f"no change of sign between {low} and {high}")
    for _ in range(halvings):
        m = (a + b) / 2
        fm = f(m)
        if fm == 0:
            return m
        if (fm > 0) == (fa > 0):
            a, fa = m, fm
        else:
            b, fb = m, fm
    return polish(f, a, fa, b, fb)


def polish(f, a, fa, b, fb):
    """Secant steps from a narrow bracket down to the rounding of f."""
    last = abs(b - a)
    for _ in range(60):
        if fa == fb:
            return b
        x = b - fb * (b - a) / (fb - fa)
        step = abs(x - b)
        a, fa = b, fb
        b, fb = x, f(x)
        if fb == 0 or (step < D("1E-60") and step >= last):
            return b  # steps no longer shrink: rounding is all that is left
        last = step
    raise ValueError("the secant rule does not settle")


def fixed_point(g, x):
    """The x that g maps to itself, where g changes little with x."""
    y = g(x)
    a, fa = x, y - x
    b = y
    fb = g(b) - b
    return b if fb == 0 else polish(lambda t: g(t) - t, a, fa, b, fb)


def quadratic(a, b, c):
    """The positive zero of a x^2 + b x - c for a >= 0 and c >= 0."""
    if c == 0:
        return D(0)
    s = (b * b + 4 * a * c).sqrt()
    return 2 * c / (b + s) if b >= 0 else (s - b) / (2 * a)


def spread(total, forms, pe=D(0), ph=D(0), gamma=lambda z: D(1)):
    """Distribute a total over its forms.

    forms: {species: (electrons, protons, log K)} counted from one of the
    forms, so that its activity is 10^(log K - electrons pe - protons pH)
    times that of the form counted from. Returns {species: mol/L}.
    """
    weight = {s: power(k - n * pe - m * ph) / gamma(charge(s))
              for s, (n, m, k) in forms.items()}
    unit = total / sum(weight.values())
    return {s: unit * w for s, w in weight.items()}


def charge(species):
    """The charge at the end of a name: Fe^3+ is 3, OH^- is -1, NH3 is 0."""
    if "^" not in species:
        return 0
    text = species.split("^")[1]
    size = int(text[:-1] or "1")
    return size if text[-1] == "+" else -size


def side(text):
    out = {}
    for term in text.split(" + "):
        parts = term.split()
        out[parts[-1]] = int(parts[0]) if len(parts) == 2 else 1
    return out


def parse(reaction):
    """Species of a reaction with their coefficients, products positive, and
    the electrons on its left. Water is left out: its activity is 1."""
    left, right = (side(t) for t in reaction.split(" = "))
    out = {s: -n for s, n in left.items()}
    for s, n in right.items():
        out[s] = out.get(s, 0) + n
    out.pop("H2O", None)
    return out, -out.pop("e^-", 0)


def log_constant(reaction, key, value):
    """log10 K of a reaction as written, electrons as reactants of unit activity."""
    v = D(value)
    if key in ("formal potential", "standard potential"):
        return parse(reaction)[1] * v / SLOPE
    return -v if key in ("pKa", "pKsp") else v


def davies(a, strength):
    """Activity coefficient by charge: C. W. Davies, Ion Association (1962),
    coefficient 0.3; from memory."""
    r = strength.sqrt()
    factor = a * (r / (1 + r) - D("0.3") * strength)
    return lambda z: power(-factor * z * z)


def grid(*equivalence, extra=()):
    """Volumes that matter: each stretch between equivalence points by parts,
    each equivalence point exactly and a thousandth beside it, then the excess."""
    out, before = set(extra), D(0)
    for text in equivalence:
        v = D(text)
        for part in ("0.1", "0.25", "0.5", "0.75", "0.9", "0.99", "0.999", "1", "1.001"):
            out.add(str(before + (v - before) * D(part)))
        before = v
    if len(equivalence) == 1:
        out.update(str(before * D(p)) for p in ("0.00000001 0.99999999 1.00000001".split()))
    out.update(str(before * D(p)) for p in ("1.01", "1.1", "1.5", "2"))
    return sorted({plain(v) for v in out}, key=D)


def plain(text):
    """A decimal without exponent or trailing zeros, for setup files."""
    out = format(D(text), "f")
    return out.rstrip("0").rstrip(".") if "." in out else out
