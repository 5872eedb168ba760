"""Redox systems: the electron balance is one equation in pe, because every
element's total spreads over its oxidation states at a given pe and pH."""
from exact import D, SLOPE, grid, power, quadratic, root, spread

FORMAL, STANDARD = "formal potential", "standard potential"
HELD = "Held pH means -log a(H+) at every volume; "
STAYS = "H+ written in a reaction stays in the Nernst expression, so its potential is that at [H+] = 1 mol/L; "
LOW, HIGH = -80, 120  # pe: far outside every couple used here


def simple(ox, red, n, potential, protons=0, water=0, kind=FORMAL):
    """A couple of one element with one form on each side."""
    electron = "e^-" if n == 1 else f"{n} e^-"
    proton = {0: "", 1: " + H^+"}.get(protons, f" + {protons} H^+")
    tail = {0: "", 1: " + H2O"}.get(water, f" + {water} H2O")
    return (f"{ox}{proton} + {electron} = {red}{tail}", kind, potential)


def steps(name, first, *rest):
    """An element whose oxidation states follow one another.

    rest: (species, electrons, protons, potential, water) of each step down.
    """
    forms, chemistry = {first: (0, 0, D(0))}, []
    above, n, m, k = first, 0, 0, D(0)
    for species, electrons, protons, potential, water in rest:
        n, m, k = n + electrons, m + protons, k + electrons * D(potential) / SLOPE
        forms[species] = (n, m, k)
        chemistry.append(simple(above, species, electrons, potential, protons, water))
        above = species
    return {"name": name, "chemistry": chemistry, "atoms": {s: 1 for s in forms},
            "electrons": {s: f[0] for s, f in forms.items()},
            "protons": {s: f[1] for s, f in forms.items()},
            "at": lambda total, pe, ph: spread(total, forms, pe, ph)}


def iron(e="0.68"):
    return steps("Fe", "Fe^3+", ("Fe^2+", 1, 0, e, 0))


def cerium(e="1.44"):
    return steps("Ce", "Ce^4+", ("Ce^3+", 1, 0, e, 0))


def manganese(e="1.51"):
    return steps("Mn", "MnO4^-", ("Mn^2+", 5, 8, e, 4))


def titanium(e="0.10"):
    return steps("Ti", "TiO^2+", ("Ti^3+", 1, 2, e, 1))


def pairing(name, single, double, n, potential, protons, kind, reaction, reduced):
    """Two of `single` make one `double`; the one named by reduced has the electrons."""
    def at(total, pe, ph):
        k = n * D(potential) / SLOPE - n * pe - protons * ph
        if reduced == single:  # double + n e = 2 single
            k = -k
        k = power(k)  # double = k single^2
        one = quadratic(2 * k, D(1), total)
        return {single: one, double: k * one * one}
    counts = {double: n, single: 0} if reduced == double else {single: D(n) / 2, double: 0}
    return {"name": name, "chemistry": [(reaction, kind, potential)],
            "atoms": {single: 1, double: 2}, "electrons": counts, "protons": {}, "at": at}


def chromium(e="1.33"):
    return pairing("Cr", "Cr^3+", "Cr2O7^2-", 6, e, 14, FORMAL,
                   "Cr2O7^2- + 14 H^+ + 6 e^- = 2 Cr^3+ + 7 H2O", "Cr^3+")


def oxalate():
    return pairing("C", "CO2(aq)", "H2C2O4", 2, "-0.49", 2, FORMAL,
                   "2 CO2(aq) + 2 H^+ + 2 e^- = H2C2O4", "H2C2O4")


def thiosulfate():
    return pairing("S2O3", "S2O3^2-", "S4O6^2-", 2, "0.08", 0, STANDARD,
                   "S4O6^2- + 2 e^- = 2 S2O3^2-", "S2O3^2-")


def iodine():
    def at(total, pe, ph):
        k2 = power(2 * pe - 2 * D("0.6195") / SLOPE)
        k3 = k2 * power(D("2.85"))
        if total == 0:
            free = D(0)
        else:  # x + 2 k2 x^2 + 3 k3 x^3 = total, for x as a part of the total
            p, q = 2 * k2 * total, 3 * k3 * total * total
            u = root(lambda u: power(u) * (1 + power(u) * (p + power(u) * q)) - 1, -400, 1)
            free = total * power(u)
        return {"I^-": free, "I2(aq)": k2 * free**2, "I3^-": k3 * free**3}
    return {"name": "I", "at": at, "protons": {},
            "chemistry": [("I2(aq) + 2 e^- = 2 I^-", STANDARD, "0.6195"),
                          ("I2(aq) + I^- = I3^-", "log K", "2.85")],
            "atoms": {"I^-": 1, "I2(aq)": 2, "I3^-": 3},
            "electrons": {"I2(aq)": -2, "I3^-": -2}}


def bromine():
    def at(total, pe, ph):
        k2 = power(2 * pe - 2 * D("1.087") / SLOPE)
        k3 = power(6 * pe + 6 * ph - 6 * D("1.44") / SLOPE)
        free = quadratic(2 * k2, 1 + k3, total)
        return {"Br^-": free, "Br2(aq)": k2 * free**2, "BrO3^-": k3 * free}
    return {"name": "Br", "at": at, "protons": {},
            "chemistry": [("Br2(aq) + 2 e^- = 2 Br^-", STANDARD, "1.087"),
                          ("BrO3^- + 6 H^+ + 6 e^- = Br^- + 3 H2O", STANDARD, "1.44")],
            "atoms": {"Br^-": 1, "Br2(aq)": 2, "BrO3^-": 1},
            "electrons": {"Br2(aq)": -2, "BrO3^-": -6}}


def arsenic():
    e = 2 * D("0.56") / SLOPE
    forms = {"H3AsO4": (0, 0, D(0)), "H2AsO4^-": (0, -1, D("-2.24")),
             "HAsO4^2-": (0, -2, D("-9.20")), "AsO4^3-": (0, -3, D("-20.70")),
             "H3AsO3": (2, 2, e), "H2AsO3^-": (2, 1, e - D("9.29"))}
    return {"name": "As", "protons": {}, "atoms": {s: 1 for s in forms},
            "electrons": {"H3AsO3": 2, "H2AsO3^-": 2},
            "at": lambda total, pe, ph: spread(total, forms, pe, ph),
            "chemistry": [("H3AsO4 + 2 H^+ + 2 e^- = H3AsO3 + H2O", STANDARD, "0.56"),
                          ("H3AsO4 = H2AsO4^- + H^+", "pKa", "2.24"),
                          ("H2AsO4^- = HAsO4^2- + H^+", "pKa", "6.96"),
                          ("HAsO4^2- = AsO4^3- + H^+", "pKa", "11.50"),
                          ("H3AsO3 = H2AsO3^- + H^+", "pKa", "9.29")]}


def held(pools, ph):
    """Solve the electron balance at a held pH (None: no reaction has H+)."""
    acidity = D(0) if ph is None else D(ph)

    def forms(totals, pe):
        out = {}
        for p in pools:
            out.update(p["at"](totals[p["name"]], pe, acidity))
        return out

    def solve(totals):
        weights = [(s, n) for p in pools for s, n in p["electrons"].items() if n]
        def residual(pe):
            c = forms(totals, pe)
            return sum(n * c[s] for s, n in weights) - totals["e^-"]
        pe = root(residual, LOW, HIGH)
        return forms(totals, pe), pe * SLOPE
    return solve


def free_protons(pools, pkw):
    """Solve the electron balance within the proton balance."""
    def solve(totals):
        found = {}

        def proton(ph):
            c, e = held(pools, ph)(totals)
            h = power(-ph)
            c.update({"H^+": h, "OH^-": power(ph - D(pkw))})
            found.update(c=c, e=e, ph=ph)
            weights = [(s, m) for p in pools for s, m in p["protons"].items()]
            return h - c["OH^-"] + sum(m * c[s] for s, m in weights) - totals["H^+"]
        root(proton, -2, 16)
        proton(found["ph"])
        return found["c"], found["e"]
    return solve


def redox(id, note, find, v0, flask, burette, pools, ph=None, at=(), zero=False,
          title=None, pkw=None, equivalence=None):
    balances = {p["name"]: p["atoms"] for p in pools}
    balances["e^-"] = {s: n for p in pools for s, n in p["electrons"].items() if n}
    chemistry = [c for p in pools for c in p["chemistry"]]
    solve = held(pools, ph)
    if pkw:
        balances["H^+"] = {s: m for p in pools for s, m in p["protons"].items() if m}
        balances["H^+"].update({"H^+": 1, "OH^-": -1})
        chemistry.append(("H2O = H^+ + OH^-", "log K", "-" + pkw))
        solve = free_protons(pools, pkw)
    volumes = (["0"] if zero else []) + list(at)
    if ph is not None:
        note = HELD + STAYS + note
    return {"id": id, "kind": "redox", "title": title, "note": note, "find": find,
            "v0": v0, "flask": flask, "burette": burette, "chemistry": chemistry,
            "balances": balances, "hold": {} if ph is None else {"H^+": ("pH", ph)},
            "electrode": {"indicator": "platinum"}, "volumes": volumes, "solve": solve,
            "equivalence": equivalence, "undefined": [] if zero else ["0"]}


def one(id, title, note, find, v0, flask, burette, pools, eq, **more):
    eq = eq if isinstance(eq, tuple) else (eq,)
    return redox(id, note + " Water activity 1.", find, v0, flask, burette, pools,
                 at=grid(*eq), title=title, equivalence=list(eq), **more)


def systems():
    fe, ce = iron, cerium
    yield one("fe-ce-sulfuric", "Iron(II) with cerium(IV), 1 mol/L sulfuric acid",
              "Formal potentials, no H+ in any reaction. At V_eq exactly (E1 + E2)/2.", "Fe^2+", "50",
              {"Fe^2+": "0.05"}, {"Ce^4+": "0.1"}, [fe(), ce()], "25")
    yield one("fe-ce-perchloric", "Iron(II) with cerium(IV), 1 mol/L perchloric acid",
              "Formal potentials, no H+ in any reaction.", "Fe^2+", "50",
              {"Fe^2+": "0.1"}, {"Ce^4+": "0.1"}, [fe("0.767"), ce("1.70")], "50")
    yield one("ce-fe-falling", "Cerium(IV) with iron(II)",
              "The oxidant is in the flask: the curve falls.", "Ce^4+", "50",
              {"Ce^4+": "0.05"}, {"Fe^2+": "0.1"}, [fe(), ce()], "25")
    yield one("fe-ce-trace", "Iron(II) with 1 % iron(III) at the start, with cerium(IV)",
              "V = 0 is set by the iron(III): E = E1 - S log 99 exactly.", "Fe^2+", "50",
              {"Fe^2+": "0.0495", "Fe^3+": "0.0005"}, {"Ce^4+": "0.099"}, [fe(), ce()], "25", zero=True)
    yield one("one-to-one-k60", "A 1:1 reaction with K = 1e60",
              "Iron and cerium stand for any 1:1 pair; the potentials are invented so that log K = 60.01.",
              "Fe^2+", "50", {"Fe^2+": "0.1"}, {"Ce^4+": "0.1"}, [fe("0.00"), ce("3.55")], "50")
    yield one("sn-ce", "Tin(II) with cerium(IV)", "At V_eq exactly (2 E1 + E2)/3.", "Sn^2+", "40",
              {"Sn^2+": "0.025"}, {"Ce^4+": "0.1"},
              [steps("Sn", "Sn^4+", ("Sn^2+", 2, 0, "0.14", 0)), ce()], "20")
    yield one("sn-tl", "Tin(II) with thallium(III)", "Two electrons on both sides.", "Sn^2+", "25",
              {"Sn^2+": "0.01"}, {"Tl^3+": "0.05"},
              [steps("Sn", "Sn^4+", ("Sn^2+", 2, 0, "0.139", 0)),
               steps("Tl", "Tl^3+", ("Tl^+", 2, 0, "0.77", 0))], "5")
    for ph in ("0", "1"):
        yield one(f"fe-mno4-ph{ph}", f"Iron(II) with permanganate at pH {ph}",
                  "At V_eq exactly (E1 + 5 E2 - 8 S pH)/6.", "Fe^2+", "50",
                  {"Fe^2+": "0.1"}, {"MnO4^-": "0.02"}, [fe(), manganese()], "50", ph=ph)
    yield one("fe-mno4-unbuffered", "Iron(II) with permanganate, pH free",
              "0.5 mol/L strong acid in the flask, none in the burette: eight H+ go with each permanganate "
              "and dilution takes more, so pH drifts. " + STAYS + "pH = -log [H+] (ideal).", "Fe^2+", "50",
              {"Fe^2+": "0.05", "H^+": "0.5", "ClO4^-": "0.6"}, {"MnO4^-": "0.02", "K^+": "0.02"},
              [fe(), manganese()], "25", pkw="14")
    yield one("fe-mno4-scarce-acid", "Iron(II) with permanganate, hardly enough acid",
              "4.25 mmol of strong acid in the flask, of which 4 mmol are used up by V_eq: pH rises from 1.1 "
              "to 2.5 and the potential of the excess branch falls with it. " + STAYS + "pH = -log [H+] (ideal).", "Fe^2+", "50",
              {"Fe^2+": "0.05", "H^+": "0.085"}, {"MnO4^-": "0.02"},
              [fe(), manganese()], "25", pkw="14")
    yield one("fe-cr2o7-ph0", "Iron(II) with dichromate at pH 0",
              "Not symmetric: at V_eq 7 E = E1 + 6 E2 - S log(2 [Cr3+]).", "Fe^2+", "25",
              {"Fe^2+": "0.12"}, {"Cr2O7^2-": "0.02"}, [fe(), chromium()], "25", ph="0")
    yield one("fe-cr2o7-diluted", "Iron(II) with dichromate at pH 0, diluted",
              "The equivalence potential depends on dilution through [Cr3+].", "Fe^2+", "250",
              {"Fe^2+": "0.006"}, {"Cr2O7^2-": "0.01"}, [fe(), chromium()], "25", ph="0")
    yield one("oxalate-mno4", "Oxalic acid with permanganate at pH 0",
              "log K of the reaction with two permanganate is 338. CO2 stays dissolved.", "H2C2O4", "50",
              {"H2C2O4": "0.05"}, {"MnO4^-": "0.02"}, [oxalate(), manganese()], "50", ph="0")
    yield one("peroxide-mno4", "Hydrogen peroxide with permanganate at pH 0",
              "Oxygen stays dissolved. The couple O2/H2O2 only: peroxide to water takes no part.", "H2O2", "50",
              {"H2O2": "0.05"}, {"MnO4^-": "0.02"},
              [steps("O2", "O2(aq)", ("H2O2", 2, 2, "0.78", 0)), manganese()], "50", ph="0")
    yield one("fe3-ti", "Iron(III) with titanium(III) at pH 0", "Falling curve; V = 0 undefined.", "Fe^3+", "50",
              {"Fe^3+": "0.02"}, {"Ti^3+": "0.05"}, [fe(), titanium()], "20", ph="0")
    yield one("fe-ti-ce", "Titanium(III) and iron(II) with cerium(IV) at pH 0",
              "Two jumps. The first V_eq is that of titanium.", ["Ti^3+", "Fe^2+"], "50",
              {"Ti^3+": "0.03", "Fe^2+": "0.02"}, {"Ce^4+": "0.1"}, [fe(), titanium(), ce()],
              ("15", "25"), ph="0")
    yield one("v-ce", "Vanadium(II) with cerium(IV) at pH 0", "Three steps.", "V^2+", "50",
              {"V^2+": "0.02"}, {"Ce^4+": "0.1"},
              [steps("V", "VO2^+", ("VO^2+", 1, 2, "1.000", 1), ("V^3+", 1, 2, "0.337", 1),
                     ("V^2+", 1, 0, "-0.255", 0)), ce("1.70")], ("10", "20", "30"), ph="0")
    yield one("u-ce", "Uranium(IV) with cerium(IV) at pH 0", "Two electrons and four H+ against one.", "U^4+", "50",
              {"U^4+": "0.02"}, {"Ce^4+": "0.1"},
              [steps("U", "UO2^2+", ("U^4+", 2, 4, "0.327", 2)), ce()], "20", ph="0")
    yield one("as-iodine", "Arsenic(III) with iodine at pH 8",
              "Triiodide, arsenic acid (three steps) and arsenous acid (one) included.", "H3AsO3", "50",
              {"H3AsO3": "0.025"}, {"I3^-": "0.05", "I^-": "0.1"}, [arsenic(), iodine()], "25", ph="8")
    yield one("iodine-thiosulfate", "Iodine in iodide with thiosulfate",
              "Standard potentials under the ideal model, no H+. Iodide grows along the curve.", "I3^-", "50",
              {"I3^-": "0.01", "I^-": "0.1"}, {"S2O3^2-": "0.05"}, [iodine(), thiosulfate()], "20", zero=True)
    yield one("as-bromate", "Arsenic(III) with bromate and bromide at pH 0",
              "After V_eq bromate makes bromine from bromide.", "H3AsO3", "50",
              {"H3AsO3": "0.03", "Br^-": "0.02"}, {"BrO3^-": "0.02"}, [arsenic(), bromine()], "25", ph="0")
    yield one("ferrocyanide-ce", "Hexacyanoferrate(II) with cerium(IV)",
              "Formal potentials, no H+ in any reaction.", "Fe(CN)6^4-", "50",
              {"Fe(CN)6^4-": "0.05"}, {"Ce^4+": "0.1"},
              [steps("Fe(CN)6", "Fe(CN)6^3-", ("Fe(CN)6^4-", 1, 0, "0.70", 0)), ce()], "25")
    yield one("hydroquinone-ce", "Hydroquinone with cerium(IV) at pH 0", "Two electrons and two H+.", "C6H6O2", "40",
              {"C6H6O2": "0.025"}, {"Ce^4+": "0.1"},
              [steps("C6", "C6H4O2", ("C6H6O2", 2, 2, "0.6994", 0)), ce()], "20", ph="0")
