"""Complexometric and silver systems.

EDTA: one equation in the free chelate (and one in ammonia or pH where those
are free). Silver: one equation in free silver, in which each solid takes what
exceeds its solubility, so solids come and go by themselves.
"""
from exact import D, SLOPE, charge, davies, fixed_point, grid, log, plain, power, quadratic, root

EDTA_PKA = ("10.37", "6.13", "2.69", "2.0", "1.5", "0.0")
EDTA = ("Y^4-", "HY^3-", "H2Y^2-", "H3Y^-", "H4Y", "H5Y^+", "H6Y^2+")
Y_NOTE = ("Y stands for ethylenediaminetetraacetate with all six pKa; the burette holds H2Y^2- and its sodium. "
          "Ideal; pM = -log of the free ion's concentration; E = 0.1 V + S/2 log [M]. ")
AMMONIA = {"Cd": ("2.55", "4.56", "5.90", "6.74"), "Zn": ("2.37", "4.81", "7.31", "9.46")}
PKN = "9.246"


def edta_chemistry():
    return [(f"{EDTA[i + 1]} = {EDTA[i]} + H^+", "pKa", pka) for i, pka in enumerate(EDTA_PKA)]


def edta_forms(ph):
    """Each form of free EDTA as a multiple of Y^4-."""
    k, out = D(0), {"Y^4-": D(1)}
    for m, pka in enumerate(EDTA_PKA, 1):
        k += D(pka)
        out[EDTA[m]] = power(k - m * ph)
    return out


def ammine(metal, n):
    return f"{metal}(NH3){n if n > 1 else ''}^2+"


def ammine_chemistry(metal):
    return [(f"{metal}^2+ + {'' if n == 1 else str(n) + ' '}NH3 = {ammine(metal, n)}", "log beta", b)
            for n, b in enumerate(AMMONIA[metal], 1)]


def ammine_forms(metal, nh3):
    """Each form of free metal as a multiple of the aqua ion."""
    out = {f"{metal}^2+": D(1)}
    for n, b in enumerate(AMMONIA[metal], 1):
        out[ammine(metal, n)] = power(D(b)) * nh3**n
    return out


def scaled(forms, unit):
    return {s: unit * w for s, w in forms.items()}


def chelate(metals, totals, ph, nh3):
    """All forms of metals and EDTA at given pH and free ammonia.

    metals: {symbol: log K of MY^2-}. The free chelate's total y is the zero of
    its own balance, in which each metal binds T K'y/(1 + K'y).
    """
    y_forms = edta_forms(ph)
    m_forms = {m: ammine_forms(m, nh3) if m in AMMONIA else {f"{m}^2+": D(1)} for m in metals}
    spread_y = sum(y_forms.values())
    k = {m: power(D(v)) / spread_y / sum(m_forms[m].values()) for m, v in metals.items()}
    total = totals["Y"]
    if total == 0:
        y = D(0)
    elif len(metals) == 1:
        (m, km), = k.items()
        y = quadratic(km, 1 + km * (totals[m] - total), total)
    else:
        y = power(root(lambda x: power(x) + sum(totals[m] * km * power(x) / (1 + km * power(x))
                                                for m, km in k.items()) - total, -40, 1))
    out = scaled(y_forms, y / spread_y)
    for m, km in k.items():
        free = totals[m] / (1 + km * y)
        out.update(scaled(m_forms[m], free / sum(m_forms[m].values())))
        out[f"{m}Y^2-"] = km * y * free
    return out


def potential(c, ion):
    return D("0.1") + SLOPE * log(c[ion]) / 2


def edta(id, title, note, find, v0, flask, titrant, metals, eq, solve, ph=None, nh3=None,
         ammonia=False, pkw=None):
    balances = {m: {s: 1 for s in ([f"{m}^2+", f"{m}Y^2-"]
                                   + [ammine(m, n) for n in range(1, 5) if m in AMMONIA])} for m in metals}
    balances["Y"] = {s: 1 for s in EDTA} | {f"{m}Y^2-": 1 for m in metals}
    chemistry = edta_chemistry() + [(f"{m}^2+ + Y^4- = {m}Y^2-", "log K", k) for m, k in metals.items()]
    for m in metals:
        chemistry += ammine_chemistry(m) if m in AMMONIA else []
    if ammonia:
        balances["NH3"] = {"NH3": 1, "NH4^+": 1} | {ammine(m, n): n for m in metals for n in range(1, 5)}
        chemistry.append(("NH4^+ = NH3 + H^+", "pKa", PKN))
    if pkw:
        balances["H^+"] = {s: m for m, s in enumerate(EDTA) if m} | {"NH4^+": 1, "H^+": 1, "OH^-": -1}
        chemistry.append(("H2O = H^+ + OH^-", "log K", "-" + pkw))
    hold = {} if ph is None else {"H^+": ("pH", ph)}
    if nh3:
        hold["NH3"] = ("NH3", nh3)
    ion = f"{list(metals)[0]}^2+"
    sodium = plain(2 * D(titrant))

    def solved(totals):
        c = solve(totals)
        return c, potential(c, ion)
    return {"id": id, "kind": "complexometric", "title": title, "note": Y_NOTE + note + " Water activity 1.",
            "find": find, "v0": v0, "flask": flask, "burette": {"H2Y^2-": titrant, "Na^+": sodium},
            "chemistry": chemistry, "balances": balances, "hold": hold, "p": [f"{m}^2+" for m in metals],
            "electrode": {"indicator": ion, "standard potential": "0.1"}, "volumes": ["0"] + grid(*eq),
            "solve": solved, "equivalence": list(eq), "undefined": []}


def with_ammonia(metals, totals, ph):
    """Free ammonia from its own balance at a given pH."""
    h = power(D(PKN) - ph)

    def residual(x):
        nh3 = power(x)
        c = chelate(metals, totals, ph, nh3)
        bound = sum(n * c[ammine(m, n)] for m in metals for n in range(1, 5))
        return nh3 * (1 + h) + bound - totals["NH3"]
    nh3 = power(root(residual, -40, 1))
    return chelate(metals, totals, ph, nh3) | {"NH3": nh3, "NH4^+": nh3 * h}


def with_protons(metals, totals, pkw):
    found = {}

    def residual(ph):
        c = with_ammonia(metals, totals, ph) | {"H^+": power(-ph), "OH^-": power(ph - D(pkw))}
        found.update(c=c)
        return (c["H^+"] - c["OH^-"] + c["NH4^+"] + sum(m * c[s] for m, s in enumerate(EDTA))
                - totals["H^+"])
    residual(root(residual, 0, 14))
    return found["c"]


def silver(id, title, note, find, v0, flask, titrant, anions, solids, eq, forms, extra=(),
           complexes=(), a=None, ph=None):
    """A system in which free silver decides everything.

    anions: {anion: {species: atoms}}; solids: (name, reaction, pKsp, anion,
    silver atoms). forms(silver, totals, absent) gives every concentration.
    """
    balances = {"Ag": {"Ag^+": 1}} | {x: dict(f) for x, f in anions.items()}
    chemistry = []
    for name, reaction, pksp, anion, n in solids:
        balances["Ag"][name] = n
        balances[anion][name] = 1
        chemistry.append((reaction, "pKsp", pksp))
    for reaction, key, value, atoms in complexes:
        chemistry.append((reaction, key, value))
        balances["Ag"].update(atoms)

    def ideal(totals, absent=()):
        def residual(x):
            c = forms(power(x), totals, absent)
            return sum(n * c[s] for s, n in balances["Ag"].items()) - totals["Ag"]
        c = forms(power(root(residual, -90, 1, CORNERS)), totals, absent)
        return c, D("0.7993") + SLOPE * log(c["Ag^+"])

    def model(totals, absent=()):
        ions = [(s[6:], t) for s, t in totals.items() if s.startswith("inert ")]

        def at(i):
            gamma = davies(D(a), i)(1)
            c, e = ideal(dict(totals, gamma=gamma), absent)
            return c, i, e + SLOPE * log(gamma)

        def strength(i):
            every = list(at(i)[0].items()) + ions
            return sum(x * charge(s) ** 2 for s, x in every) / 2
        c, i, e = at(fixed_point(strength, D("0.05")))
        return c, e, i
    return {"id": id, "kind": "silver", "title": title, "note": note + " Water activity 1.", "find": find,
            "v0": v0, "flask": flask, "burette": {"Ag^+": titrant, "NO3^-": titrant}, "chemistry": chemistry,
            "balances": balances, "hold": {} if ph is None else {"H^+": ("pH", ph)}, "p": ["Ag^+"],
            "electrode": {"indicator": "silver", "standard potential": "0.7993"}, "davies": a,
            "volumes": grid(*eq, extra=extra), "solve": model if a else ideal, "equivalence": list(eq),
            "undefined": ["0"], "solids": solids}


def halides(*rows):
    """Anions that only precipitate: what stays dissolved is at most Ksp/[Ag]^n."""
    def forms(ag, totals, absent):
        out = {"Ag^+": ag}
        g = totals.get("gamma", D(1))
        for name, _, pksp, anion, n in rows:
            total = totals[anion]
            most = total if name in absent else min(total, power(-D(pksp)) / (g**(n + 1) * ag**n))
            out[anion], out[name] = most, total - most
        return out
    return forms


def chloride_complexes(ag, totals, absent):
    k, b1, b2 = power(D("-9.752")), power(D("3.31")), power(D("5.25"))
    total = totals["Cl^-"]
    free = quadratic(2 * b2 * ag, 1 + b1 * ag, total)
    if "AgCl(s)" not in absent:
        free = min(free, k / ag)
    c = {"Ag^+": ag, "Cl^-": free, "AgCl(aq)": b1 * ag * free, "AgCl2^-": b2 * ag * free**2}
    left = total - free - c["AgCl(aq)"] - 2 * c["AgCl2^-"]
    return c | {"AgCl(s)": left if ag * free == k or abs(left) > D("1E-150") else D(0)}


def cyanides(ag, totals, absent):
    k, b2, h = power(D("-15.66")), power(D("20.48")), power(D("9.21") - 11)
    total = totals["CN^-"]
    free = quadratic(2 * b2 * ag, 1 + h, total)
    if "AgCN(s)" not in absent:
        free = min(free, k / ag)
    c = {"Ag^+": ag, "CN^-": free, "HCN": h * free, "Ag(CN)2^-": b2 * ag * free**2}
    left = total - free - c["HCN"] - 2 * c["Ag(CN)2^-"]
    return c | {"AgCN(s)": left if abs(left) > D("1E-150") else D(0)}


AGCL = ("AgCl(s)", "AgCl(s) = Ag^+ + Cl^-", "9.752", "Cl^-", 1)
AGBR = ("AgBr(s)", "AgBr(s) = Ag^+ + Br^-", "12.30", "Br^-", 1)
AGI = ("AgI(s)", "AgI(s) = Ag^+ + I^-", "16.08", "I^-", 1)
CHROMATE = ("Ag2CrO4(s)", "Ag2CrO4(s) = 2 Ag^+ + CrO4^2-", "11.95", "CrO4^2-", 2)
AGCN = ("AgCN(s)", "AgCN(s) = Ag^+ + CN^-", "15.66", "CN^-", 1)
CORNERS = 60  # halvings: a solid that has only just begun puts a corner beside the zero
BEFORE = "0.000001"  # mL, too little silver for any solid


def alone(*anions):
    return {a: {a: 1} for a in anions}


def systems():
    ten, zinc = D(10), {"Zn": "16.50"}
    yield edta("ca-edta", "Calcium with EDTA at pH 10", "", "Ca^2+", "50", {"Ca^2+": "0.01"}, "0.01",
               {"Ca": "10.65"}, ("50",), lambda t: chelate({"Ca": "10.65"}, t, ten, D(0)), ph="10")
    yield edta("cd-edta-ammonia-held", "Cadmium with EDTA at pH 10 in held ammonia",
               "Free NH3 is held at 0.01 mol/L at every volume.", "Cd^2+", "50", {"Cd^2+": "0.005"}, "0.01",
               {"Cd": "16.5"}, ("25",), lambda t: chelate({"Cd": "16.5"}, t, ten, D("0.01")) | {"NH3": D("0.01")},
               ph="10", nh3="0.01")
    both = {"Ca": "10.65", "Mg": "8.79"}
    yield edta("ca-mg-edta", "Calcium and magnesium with EDTA at pH 10", "E is that of calcium.",
               ["Ca^2+", "Mg^2+"], "50", {"Ca^2+": "0.006", "Mg^2+": "0.004"}, "0.01", both, ("30", "50"),
               lambda t: chelate(both, t, ten, D(0)), ph="10")
    flask = {"Zn^2+": "0.002", "NH3": "0.1", "NH4^+": "0.02"}
    yield edta("zn-edta-ammonia-diluted", "Zinc with EDTA in ammonia buffer, pH held",
               "pH 10 is held; the ammonia is diluted along the curve and taken up by zinc.", "Zn^2+", "50",
               flask, "0.004", zinc, ("25",), lambda t: with_ammonia(zinc, t, ten), ph="10", ammonia=True)
    yield edta("zn-edta-ammonia-free", "Zinc with EDTA in ammonia buffer, pH free",
               "Nothing is held: EDTA sets protons free and the buffer is diluted.", "Zn^2+", "50",
               flask | {"Cl^-": "0.024"}, "0.004", zinc, ("25",),
               lambda t: with_protons(zinc, t, "13.995"), ammonia=True, pkw="13.995")
    yield silver("cl-ag", "Chloride with silver", "Ideal; no complexes. At V_eq exactly pKsp/2. At "
                 f"{BEFORE} mL no solid exists yet and Ksp does not apply.", "Cl^-", "50",
                 {"Cl^-": "0.05", "Na^+": "0.05"}, "0.1", alone("Cl^-"), [AGCL], ("25",),
                 halides(AGCL), extra=(BEFORE,))
    yield silver("cl-ag-davies", "Chloride with silver, Davies",
                 "Davies, A = 0.509, coefficient 0.3; pAg = -log a(Ag+), so at V_eq still exactly pKsp/2; "
                 "concentrations are larger than ideal.", "Cl^-", "50",
                 {"Cl^-": "0.05", "Na^+": "0.05"}, "0.1", alone("Cl^-"), [AGCL], ("25",), halides(AGCL), a="0.509")
    yield silver("cl-ag-complexes", "Chloride with silver, with AgCl(aq) and AgCl2-", "Ideal.", "Cl^-", "50",
                 {"Cl^-": "0.05", "Na^+": "0.05"}, "0.1",
                 {"Cl^-": {"Cl^-": 1, "AgCl(aq)": 1, "AgCl2^-": 2}}, [AGCL], ("25",), chloride_complexes,
                 extra=(BEFORE,), complexes=[("Ag^+ + Cl^- = AgCl(aq)", "log K", "3.31", {"AgCl(aq)": 1}),
                                             ("Ag^+ + 2 Cl^- = AgCl2^-", "log beta", "5.25", {"AgCl2^-": 1})])
    yield silver("i-ag", "Iodide with silver", "Ideal; no complexes.", "I^-", "25",
                 {"I^-": "0.1", "K^+": "0.1"}, "0.05", alone("I^-"), [AGI], ("50",), halides(AGI))
    mixed = [AGI, AGBR, AGCL]
    yield silver("halides-ag", "Iodide, bromide and chloride with silver",
                 "Ideal; pure solids, no mixed crystals. AgCl begins before the bromide equivalence: the kink is "
                 "not V_eq.", ["I^-", "Br^-", "Cl^-"], "50",
                 {"I^-": "0.02", "Br^-": "0.02", "Cl^-": "0.02", "Na^+": "0.06"}, "0.05",
                 alone("I^-", "Br^-", "Cl^-"), mixed, ("20", "40", "60"), halides(*mixed),
                 extra=("39.5", "39.7", "39.8", "39.9"))
    yield silver("cn-ag", "Cyanide with silver at pH 11",
                 "Ideal. Ag(CN)2- to 20 mL, then AgCN(s); HCN by the held pH.", "CN^-", "50",
                 {"CN^-": "0.04", "K^+": "0.04"}, "0.05",
                 {"CN^-": {"CN^-": 1, "HCN": 1, "Ag(CN)2^-": 2}}, [AGCN], ("20", "40"), cyanides, ph="11",
                 complexes=[("Ag^+ + 2 CN^- = Ag(CN)2^-", "log beta", "20.48", {"Ag(CN)2^-": 1}),
                            ("HCN = CN^- + H^+", "pKa", "9.21", {})])
    yield silver("cl-chromate-ag", "Chloride with silver, chromate present",
                 "Ideal; chromate is not protonated (no H+ in any reaction).", "Cl^-", "50",
                 {"Cl^-": "0.05", "CrO4^2-": "0.005", "Na^+": "0.06"}, "0.1",
                 alone("Cl^-", "CrO4^2-"), [AGCL, CHROMATE], ("25", "30"), halides(AGCL, CHROMATE))
