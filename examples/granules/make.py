"""Readings of the worked example, simulated: invented for the demonstration.

Shares nothing with the program: the electron balance of a one-electron couple
titrated with another is a quadratic, solved here directly.
"""
import math
import random

RTF = 1.380649e-23 * 298.15 / 1.602176634e-19  # V
E_FE, E_CE, REF, JUNCTION, SLOPE = 0.6815, 1.4370, 0.2070, 0.0021, 0.994
MASS, SHARE, M_FE = 5.2140, 0.11934, 55.845
N_FE = MASS * SHARE / M_FE * 50.00 / 250.0  # mol in the flask
C_CE = 0.10126  # mol/L, true; the label says 0.1013(1)


def potential(v_ml):
    n2 = C_CE * v_ml / 1000
    q = math.exp((E_FE - E_CE) / RTF)
    b = N_FE - n2
    disc = math.sqrt(b * b + 4 * N_FE * q * n2)
    r = 2 * n2 / (b + disc) if b > 0 else (disc - b) / (2 * N_FE * q)
    return E_FE + RTF * math.log(r)


def steps():
    v, out = 0.0, []
    for upto, step in ((18, 1.5), (20.5, 0.5), (21.4, 0.3), (22.8, 0.1), (24, 0.3), (28, 1.0), (46, 2.0)):
        while v + step <= upto + 1e-9:
            v += step
            out.append(round(v, 2))
    return out


random.seed(20261125)
print("# iron in moss-control granules, aliquot 50.00 mL of 250.0 mL")
print("# invented for the demonstration; see make.py")
print("volume (mL),potential (mV)")
for v in steps():
    true_v = v + random.gauss(0, 0.008)
    e = SLOPE * potential(true_v) - REF + JUNCTION + random.gauss(0, 0.0005)
    print(f"{v:.2f},{1000 * e:.1f}")
