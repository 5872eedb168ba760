"""Reference curves for the tests of package worked, from scratch.

    python3 internal/worked/reference/reference.py           writes systems/*.json
    python3 internal/worked/reference/reference.py --check   compares instead

Standard library only. Each family has its own formulation (redox.py,
acidbase.py, metal.py): one scalar equation for what is unknown, nested where
two things are. Before a point is written it is proved from the reactions
alone: every law of mass action and every balance holds, each balance is
conserved by each reaction, and there are as many of them as species.
"""
import json
import pathlib
import sys

sys.dont_write_bytecode = True

import acidbase  # noqa: E402
import metal  # noqa: E402
import redox  # noqa: E402
from exact import D, SLOPE, charge, davies, log, log_constant, parse, power, root  # noqa: E402

PROOF = D("1E-90")  # of each law (decades) and of each balance (of its terms)
HERE = pathlib.Path(__file__).parent / "systems"


def text(x, digits=30):
    return f"{D(x):.{digits - 1}E}" if x else "0"


def inert(s):
    known = {x for r, _, _ in s["chemistry"] for x in parse(r)[0]}
    return sorted({x for x in (*s["flask"], *s["burette"]) if x not in known})


def totals(s, v):
    """Total of each balance in the mixture, mol/L, v in mL."""
    v0, v = D(s["v0"]), D(v)
    def mixed(coefficients):
        return sum(n * (v0 * D(s["flask"].get(x, 0)) + v * D(s["burette"].get(x, 0)))
                   for x, n in coefficients.items()) / (v0 + v)
    out = {name: mixed(c) for name, c in s["balances"].items()}
    return out | {f"inert {x}": mixed({x: 1}) for x in inert(s)}


def held(s):
    return {x: power(-D(v)) if key == "pH" else D(v) for x, (key, v) in s["hold"].items()}


def solve(s, v):
    """Concentrations, potential (None for acid-base), ionic strength, pH."""
    t = totals(s, v)
    c, *rest = s["solve"](t)
    e = strength = ph = None
    if s["kind"] == "acid-base":
        strength, ph = rest
    else:
        e, strength = (rest + [None])[:2]
    c = c | held(s) | {x: t[f"inert {x}"] for x in inert(s)}
    if ph is None and "H^+" in c:
        ph = -log(c["H^+"])
    return c, e, strength, ph


def activity(s, c, strength):
    gamma = davies(D(s["davies"]), strength) if s.get("davies") else lambda z: D(1)
    return {x: D(1) if x.endswith("(s)") else y * gamma(charge(x)) for x, y in c.items()}


def prove(s, v, c, e, strength):
    a = activity(s, c, strength)
    for reaction, key, value in s["chemistry"]:
        law, n = parse(reaction)
        if any(c[x] == 0 and not x.endswith("(s)") for x in law):
            continue
        off = sum(m * log(a[x]) for x, m in law.items()) - log_constant(reaction, key, value)
        if n:
            off += n * e / SLOPE
        empty = any(x.endswith("(s)") and c[x] == 0 for x in law)
        if off > PROOF or (not empty and abs(off) > PROOF):
            raise ValueError(f"{s['id']} at {v} mL: {reaction} is off by {off:.3E}")
    for name, total in totals(s, v).items():
        if not name.startswith("inert "):
            terms = [m * c[x] for x, m in s["balances"][name].items()]
            if abs(sum(terms) - total) > PROOF * sum(map(abs, terms)):
                raise ValueError(f"{s['id']} at {v} mL: balance of {name}")
    if any(y < 0 for y in c.values()):
        raise ValueError(f"{s['id']} at {v} mL: a negative amount")


def prove_system(s):
    species = {x for r, _, _ in s["chemistry"] for x in parse(r)[0]}
    for reaction, _, _ in s["chemistry"]:
        law, n = parse(reaction)
        for name, coefficients in s["balances"].items():
            made = sum(m * coefficients.get(x, 0) for x, m in law.items())
            if made != (n if name == "e^-" else 0):
                raise ValueError(f"{s['id']}: {reaction} does not conserve {name}")
    # each redox reaction adds the potential as an unknown once
    unknowns = len(species) + (1 if "e^-" in s["balances"] else 0)
    if unknowns != len(s["chemistry"]) + len(s["balances"]) + len(s["hold"]):
        raise ValueError(f"{s['id']}: {unknowns} unknowns")


def slopes(s, v, middle):
    """First and second derivative with respect to the volume, per mL."""
    pick = (lambda r: r[3]) if s["kind"] == "acid-base" else (lambda r: r[1])
    unit = D(1) if s["kind"] == "acid-base" else SLOPE
    middle, v = pick(middle), D(v)
    def around(h):
        return pick(solve(s, v - h)), pick(solve(s, v + h))
    h = D("1E-70") if v > D("1E-5") else v * D("1E-60")
    a, b = around(h)
    first = (b - a) / (2 * h)
    h = min(D("1E-24"), unit / abs(first) * D("1E-24"), v * D("1E-24"))
    a, b = around(h)
    return first, (a - 2 * middle + b) / (h * h)


def point(s, v):
    solved = solve(s, v)
    c, e, strength, ph = solved
    prove(s, v, c, e, strength)
    out = {"volume_mL": v}
    if e is not None:
        out["E_SHE_V"] = text(e)
    if ph is not None:
        out["pH"] = text(ph)
    a = activity(s, c, strength)
    if "p" in s:
        out["p"] = {x: text(-log(a[x])) for x in s["p"]}
    if strength is not None:
        out["ionic_strength"] = text(strength)
    if D(v):
        first, second = slopes(s, v, solved)
        out["first_derivative_per_mL"] = text(first, 25)
        out["second_derivative_per_mL2"] = text(second, 20)
    out["concentrations"] = {x: text(y, 40) for x, y in sorted(c.items())}
    return out


def onsets(s):
    """Volumes at which a solid first appears: its product reaches Ksp while it
    is still kept out."""
    out = {}
    for name, reaction, pksp, anion, n in s.get("solids", ()):
        def over(x):  # x: log10 of the volume in mL
            t = totals(s, power(x))
            c, _, *strength = s["solve"](t, (name,))
            a = activity(s, c, strength[0] if strength else None)
            return n * log(a["Ag^+"]) + log(a[anion]) + D(pksp)
        out[name] = text(power(root(over, -30, log(D(s["equivalence"][-1])))), 25)
    return out


def setup(s):
    find = s["find"] if isinstance(s["find"], str) else "[" + ", ".join(s["find"]) + "]"
    rows = [f"title: {s['title']}", "temperature: 25 °C", f"find: {find}", "flask:",
            f"  volume: {s['v0']} mL", "  contains:"]
    rows += [f"    {x}: {y} mol/L" for x, y in s["flask"].items()]
    rows += ["burette:", "  contains:"] + [f"    {x}: {y} mol/L" for x, y in s["burette"].items()]
    rows += ["electrode:", f"  indicator: {s['electrode']['indicator']}", "  reference: SHE"]
    if "standard potential" in s["electrode"]:
        rows.append(f"  standard potential: {s['electrode']['standard potential']} V")
    rows.append(f"activity: {{model: davies, A: {s['davies']}}}" if s.get("davies") else "activity: ideal")
    if s["hold"]:
        holds = [f"pH: {v}" if key == "pH" else f"{key}: {v} mol/L" for key, v in s["hold"].values()]
        rows.append("hold: {" + ", ".join(holds) + "}")
    rows.append("chemistry:")
    for reaction, key, value in s["chemistry"]:
        rows += [f"  - reaction: {reaction}", f"    {key}: {value}" + (" V" if "potential" in key else "")]
    rows += ["library: off", f"volumes: {', '.join(s['volumes'])} mL"]
    return "\n".join(rows) + "\n"


def law(reaction, key, value):
    species, electrons = parse(reaction)
    return {"reaction": reaction, "constant": key, "value": value, "species": species, "electrons": electrons}


def document(s):
    prove_system(s)
    out = {"id": s["id"], "kind": s["kind"], "title": s["title"], "note": s["note"], "setup": setup(s),
           "flask_volume_mL": s["v0"], "flask": s["flask"], "burette": s["burette"],
           "held": {x: text(y, 40) for x, y in held(s).items()}, "davies_A": s.get("davies") or "",
           "equivalence_mL": s["equivalence"], "undefined_at_mL": s["undefined"], "onsets_mL": onsets(s),
           "inert": inert(s),
           "balances": [{"name": name, "species": {x: float(n) if n % 1 else int(n) for x, n in c.items()}}
                        for name, c in s["balances"].items()],
           "laws": [law(*c) for c in s["chemistry"]],
           "points": [point(s, v) for v in s["volumes"]]}
    return json.dumps(out, indent=1, ensure_ascii=False) + "\n"


def main(arguments):
    check = "--check" in arguments
    only = [a for a in arguments if not a.startswith("-")]
    stale = []
    for s in (*redox.systems(), *acidbase.systems(), *metal.systems()):
        if only and s["id"] not in only:
            continue
        path, made = HERE / f"{s['id']}.json", document(s)
        if not check:
            path.write_text(made, encoding="utf-8")
        elif not path.exists() or path.read_text(encoding="utf-8") != made:
            stale.append(s["id"])
        print(s["id"], "differs" if s["id"] in stale else "ok", flush=True)
    return 1 if stale else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
