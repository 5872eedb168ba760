"""Acid-base systems: the proton balance is one equation in pH."""
from exact import D, davies, charge, fixed_point, grid, power, root, spread

WATER = "14"
IDEAL = "Ideal: pH = -log [H+]. Water activity 1."


def acid(name, *forms):
    """A polyprotic acid. forms: the last form first, then (species, pKa) of
    each form with one proton more."""
    last, rest = forms[0], forms[1:]
    table, chemistry, k, below = {last: (0, 0, D(0))}, [], D(0), last
    for m, (species, pka, *left) in enumerate(rest, 1):
        k += D(pka)
        table[species] = (0, m, k)
        water = " + H2O" if left else ""
        chemistry.append((f"{species}{water} = {below} + H^+", "pKa", pka))
        below = species
    return {"name": name, "forms": table, "chemistry": chemistry}


def acetic():
    return acid("acetate", "CH3COO^-", ("CH3COOH", "4.757"))


def carbonic():
    return acid("carbonate", "CO3^2-", ("HCO3^-", "10.329"), ("CO2(aq)", "6.352", "hydrated"))


def phosphoric():
    return acid("phosphate", "PO4^3-", ("HPO4^2-", "12.35"), ("H2PO4^-", "7.198"), ("H3PO4", "2.148"))


def citric():
    return acid("citrate", "C6H5O7^3-", ("C6H6O7^2-", "6.396"), ("C6H7O7^-", "4.761"), ("C6H8O7", "3.128"))


def ammonia():
    return acid("ammonia", "NH3", ("NH4^+", "9.246"))


def glycine():
    return acid("glycine", "C2H4NO2^-", ("C2H5NO2", "9.778"), ("C2H6NO2^+", "2.350"))


def at_strength(totals, acids, gamma, pkw):
    """The proton balance at given activity coefficients."""
    def forms(ph):
        out = {"H^+": power(-ph) / gamma(1), "OH^-": power(ph - D(pkw)) / gamma(-1)}
        for a in acids:
            # counted from the activity of the last form
            out.update(spread(totals[a["name"]], a["forms"], D(0), ph, gamma))
        return out

    def protons(ph):
        c = forms(ph)
        bound = sum(m * c[s] for a in acids for s, (_, m, _) in a["forms"].items())
        return c["H^+"] - c["OH^-"] + bound - totals["H^+"]
    ph = root(protons, -3, 18)
    return forms(ph), ph


def solver(acids, pkw, a):
    def ideal(totals):
        c, ph = at_strength(totals, acids, lambda z: D(1), pkw)
        return c, None, ph

    def model(totals):
        inert = [(s, t) for s, t in totals.items() if s.startswith("inert ")]

        def strength(i, result=None):
            c, ph = at_strength(totals, acids, davies(D(a), i), pkw)
            if result is not None:
                result.append((c, i, ph))
            ions = list(c.items()) + [(s[6:], t) for s, t in inert]
            return sum(x * charge(s) ** 2 for s, x in ions) / 2
        result = []
        strength(fixed_point(strength, D("0.05")), result)
        return result[0]
    return model if a else ideal


def one(id, title, note, find, v0, flask, burette, acids, eq, pkw=WATER, a=None):
    balances = {x["name"]: {s: 1 for s in x["forms"]} for x in acids}
    balances["H^+"] = {s: m for x in acids for s, (_, m, _) in x["forms"].items() if m}
    balances["H^+"].update({"H^+": 1, "OH^-": -1})
    chemistry = [c for x in acids for c in x["chemistry"]] + [("H2O = H^+ + OH^-", "log K", "-" + pkw)]
    model = (f"Davies, A = {a}, coefficient 0.3, neutral species 1; ionic strength from every ion listed, "
             "inert ones too; pH = -log a(H+); constants are those at zero ionic strength. Water activity 1."
             if a else IDEAL)
    return {"id": id, "kind": "acid-base", "title": title, "note": (note + " " + model).strip(), "find": find,
            "v0": v0, "flask": flask, "burette": burette, "chemistry": chemistry, "balances": balances,
            "hold": {}, "electrode": {"indicator": "glass"}, "davies": a,
            "volumes": ["0"] + grid(*eq), "solve": solver(acids, pkw, a), "equivalence": list(eq),
            "undefined": []}


def soda(c):
    return {"OH^-": c, "Na^+": c}


def hydrochloric(c):
    return {"H^+": c, "Cl^-": c}


def systems():
    yield one("hcl-naoh", "Hydrochloric acid with sodium hydroxide", "At V_eq exactly pKw/2.", "H^+", "50",
              hydrochloric("0.1"), soda("0.1"), [], ("50",))
    yield one("hcl-naoh-dilute", "Dilute hydrochloric acid with sodium hydroxide", "", "H^+", "50",
              hydrochloric("0.0005"), soda("0.001"), [], ("25",), pkw="13.995")
    yield one("acetic-naoh", "Acetic acid with sodium hydroxide", "", "CH3COOH", "50",
              {"CH3COOH": "0.1"}, soda("0.1"), [acetic()], ("50",))
    yield one("ammonia-hcl", "Ammonia with hydrochloric acid", "", "NH3", "50",
              {"NH3": "0.05"}, hydrochloric("0.1"), [ammonia()], ("25",))
    yield one("carbonate-hcl", "Sodium carbonate with hydrochloric acid",
              "All carbon dioxide stays dissolved; CO2(aq) stands for CO2 and H2CO3 together.", "CO3^2-", "25",
              {"CO3^2-": "0.05", "Na^+": "0.1"}, hydrochloric("0.1"), [carbonic()], ("12.5", "25"))
    yield one("alkali-carbonate-hcl", "Carbonated sodium hydroxide with hydrochloric acid",
              "All carbon dioxide stays dissolved; V_eq of hydroxide alone, to hydrogencarbonate, to the end.",
              ["OH^-", "CO3^2-"], "25", {"OH^-": "0.08", "CO3^2-": "0.01", "Na^+": "0.1"},
              hydrochloric("0.1"), [carbonic()], ("20", "22.5", "25"))
    yield one("phosphoric-naoh", "Phosphoric acid with sodium hydroxide", "", "H3PO4", "25",
              {"H3PO4": "0.05"}, soda("0.1"), [phosphoric()], ("12.5", "25", "37.5"))
    yield one("citric-naoh", "Citric acid with sodium hydroxide", "Steps overlap: one jump.", "C6H8O7", "50",
              {"C6H8O7": "0.02"}, soda("0.1"), [citric()], ("10", "20", "30"))
    yield one("hcl-acetic-naoh", "Hydrochloric and acetic acid with sodium hydroxide", "",
              ["H^+", "CH3COOH"], "50", {"H^+": "0.03", "Cl^-": "0.03", "CH3COOH": "0.05"},
              soda("0.1"), [acetic()], ("15", "40"))
    yield one("glycine-naoh", "Glycinium chloride with sodium hydroxide", "", "C2H6NO2^+", "50",
              {"C2H6NO2^+": "0.05", "Cl^-": "0.05"}, soda("0.1"), [glycine()], ("25", "50"))
    yield one("acetic-naoh-davies", "Acetic acid in potassium chloride with sodium hydroxide, Davies", "",
              "CH3COOH", "50", {"CH3COOH": "0.1", "K^+": "0.05", "Cl^-": "0.05"}, soda("0.1"),
              [acetic()], ("50",), a="0.509")
    yield one("citric-naoh-davies", "Citric acid with sodium hydroxide, Davies", "", "C6H8O7", "50",
              {"C6H8O7": "0.02"}, soda("0.1"), [citric()], ("10", "20", "30"), a="0.509")
    yield one("phosphoric-naoh-davies", "Phosphoric acid with sodium hydroxide, Davies", "", "H3PO4", "25",
              {"H3PO4": "0.05"}, soda("0.1"), [phosphoric()], ("12.5", "25", "37.5"), a="0.509")
