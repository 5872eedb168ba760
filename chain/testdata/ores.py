"""Uncertainties and correlation of examples/chain/ores.yaml, computed apart from
the program: the arithmetic of the two ores written out by hand, derivatives by
central differences, standard library only. Writes the numbers that
chain_test.go compares with. Run: python3 chain/testdata/ores.py"""
from math import hypot, sqrt

TRI, RECT = 1 / sqrt(6), 1 / sqrt(3)


def sd(x):
    m = sum(x) / len(x)
    return sqrt(sum((v - m) ** 2 for v in x) / (len(x) - 1))


def buoyancy(density, air=0.0012, weights=8.0):
    return (1 - air / weights) / (1 - air / density)


# name: value, standard uncertainty
q = {
    "m_std": (1.2391, hypot(0.0001 * sqrt(2), 0.00015 * RECT * sqrt(2))),
    "P": (0.9997, 0.0002 * RECT),
    "flask": (250.0, 0.15 * TRI), "fill": (0.0, 0.03), "pip": (25.0, 0.03 * TRI),
    "b20": (0.0, 0.05 * TRI), "b30": (0.0, 0.05 * TRI),
    "rep_fe": (0.0, 0.0), "rep_ce": (0.0, 0.0), "rep_a": (0.0, 0.0),
    "blank": (0.11 / 3, sd([0.03, 0.05, 0.03]) / sqrt(3)),
    "m1": (0.3217, 0.00015 * RECT * sqrt(2)), "m2": (0.3304, 0.00015 * RECT * sqrt(2)), "m3": (0.3181, 0.00015 * RECT * sqrt(2)),
    "k1": (0.5120, hypot(0.0001, 0.00015 * RECT) * sqrt(2)), "k2": (0.4987, hypot(0.0001, 0.00015 * RECT) * sqrt(2)),
    "r1": (0.0, 0.015), "r2": (0.0, 0.015),
}
M_K2CR2O7 = 2 * 39.0983 + 2 * 51.9961 + 7 * 15.999
M_FE = 55.845


def read(v, p):
    """A delivery between 20 and 30 mL with the errors of the two marks."""
    r = (v - 20) / 10
    n = hypot(r, 1 - r)
    return v + (1 - r) / n * p["b20"] + r / n * p["b30"]


def runs(p):
    c_cr = 1000 * p["m_std"] * p["P"] * buoyancy(2.68) / M_K2CR2O7 / (p["flask"] + p["fill"])
    fe = [6 * c_cr * read(v, p) / p["pip"] for v in (24.62, 24.66, 24.63)]
    c_fe = sum(fe) / 3 + p["rep_fe"]
    ce = [c_fe * p["pip"] / read(v, p) for v in (24.31, 24.36, 24.33)]
    c_ce = sum(ce) / 3 + p["rep_ce"]
    a = [100 * c_ce * (read(v, p) - p["blank"]) * M_FE / 1000 / p[m] for v, m in ((23.87, "m1"), (24.49, "m2"), (23.61, "m3"))]
    # The blanks of B have the same numbers but are blanks of its own.
    b = [100 * c_ce * (read(v, p) + p[r] - p.get("blank_b", p["blank"])) * M_FE / 1000 / p[m] for v, m, r in ((21.94, "k1", "r1"), (21.35, "k2", "r2"))]
    return fe, ce, a, b, c_fe, c_ce


q["blank_b"] = q["blank"]
x = {k: v[0] for k, v in q.items()}
fe, ce, a, b, _, _ = runs(x)
for name, list_ in (("rep_fe", fe), ("rep_ce", ce), ("rep_a", a)):
    q[name] = (0.0, sd(list_) / sqrt(3))


def results(p):
    fe, ce, a, b, c_fe, c_ce = runs(p)
    return c_fe, c_ce, sum(a) / 3 + p["rep_a"], sum(b) / 2


def effects(i):
    out = {}
    for k, (v, u) in q.items():
        if u == 0:
            continue
        hi, lo = dict(x), dict(x)
        hi[k] += u * 1e-3
        lo[k] -= u * 1e-3
        out[k] = (results(hi)[i] - results(lo)[i]) / 2e-3
    return out


E = [effects(i) for i in range(4)]
U = [sqrt(sum(e * e for e in E[i].values())) for i in range(4)]
for name, value, u in zip(("iron stock", "cerium", "ore A", "ore B"), results(x), U):
    print(f"{name:12s} {value:.8g} {u:.4g}")
print("correlation of A and B", round(sum(E[2][k] * E[3][k] for k in E[2]) / U[2] / U[3], 4))
