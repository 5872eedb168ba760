"""Molar masses of the reagents of ../reagents.txt, from their formulas alone.

A calculation of its own: it shares nothing with the program but the formulas.
Atomic weights are the abridged values of Prohaska et al., Pure Appl. Chem. 94
(2022) 573 (CIAAW 2021). Run it in this folder after a change of the table:

    python3 reagent_masses.py > reagent_masses.txt
"""

import re
from fractions import Fraction

WEIGHTS = {
    "H": 1.008, "B": 10.81, "C": 12.011, "N": 14.007, "O": 15.999, "Na": 22.98976928, "Mg": 24.305, "Al": 26.9815384,
    "P": 30.973761998, "S": 32.06, "Cl": 35.45, "K": 39.0983, "Ca": 40.078, "Ti": 47.867, "V": 50.9415, "Cr": 51.9961,
    "Mn": 54.938043, "Fe": 55.845, "Ni": 58.6934, "Cu": 63.546, "Zn": 65.38, "As": 74.921595, "Br": 79.904, "Ag": 107.8682,
    "Sn": 118.71, "I": 126.90447, "Ce": 140.116, "Hg": 200.592, "Os": 190.23, "Pb": 207.2, "U": 238.02891,
}
EDTA = "C10H12N2O8"  # Y of Na2H2Y, without its four acid protons


def count(formula):
    """Atoms of a formula with parentheses."""
    stack = [{}]
    last = None
    for token in re.findall(r"[A-Z][a-z]?|\(|\)|[0-9]+", formula):
        if token == "(":
            stack.append({})
        elif token == ")":
            last = stack.pop()
            for k, n in last.items():
                stack[-1][k] = stack[-1].get(k, 0) + n
        elif token.isdigit():
            for k, n in last.items():
                stack[-1][k] += n * (int(token) - 1)
        else:
            last = {token: 1}
            stack[-1][token] = stack[-1].get(token, 0) + 1
    return stack[0]


def mass(formula):
    total = 0
    for part in formula.split("·"):
        times, rest = re.match(r"([0-9]*)(.*)", part).groups()
        atoms = count(rest.replace("Y", "(" + EDTA + ")"))
        total += int(times or 1) * sum(Fraction(str(WEIGHTS[k])) * n for k, n in atoms.items())
    return float(total)


print("# Written by reagent_masses.py.")
print("formula | molar mass (g/mol)")
for line in open("../reagents.txt", encoding="utf-8"):
    cells = [c.strip() for c in line.split("|")]
    if line.startswith("#") or len(cells) < 4 or cells[3] not in ("solid", "liquid"):
        continue
    print(f"{cells[0]} | {mass(cells[0]):.4f}")
