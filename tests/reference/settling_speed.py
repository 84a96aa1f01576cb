"""Writes settling-speed.csv: speed at which water droplets settle in air of 20 °C.

Density 1000 kg/m³ in air of 1.205 kg/m³ and 1.81e-5 Pa s, by three drag laws of the fluids library: Stokes alone, which
holds for the smallest only; Clift, Grace and Weber's standard curve in ten pieces (1978); Haider and Levenspiel's fit
(1989). fluids knows no slip (16 % at 1 µm, 2.9 times at 0.1 µm) and takes off the buoyancy of the displaced air (0.12 %).

A fourth column is Schiller and Naumann's law with Cunningham's slip after Davies and without buoyancy, solved by SciPy.
"""

from math import exp

from fluids.drag import v_terminal
from scipy.optimize import brentq

import table

DROPLET, AIR, VISCOSITY = 1000, 1.205, 1.81e-5
FREE_FALL, FREE_PATH = 9.80665, 0.066e-6
DIAMETERS = [0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 30, 50, 80, 100, 150, 200, 300, 500, 700, 1000]


def schiller_naumann(d):
    """Speed in m/s at which drag 24/Re (1 + 0.15 Re^0.687), less slip, carries a droplet of d metres."""

    def excess(v):
        re = AIR * v * d / VISCOSITY
        knudsen = 2 * FREE_PATH / d
        slip = 1 + knudsen * (1.257 + 0.4 * exp(-1.1 / knudsen))
        drag = 24 / re * (1 + 0.15 * re**0.687) / slip
        return drag * AIR * v * v / 2 / (DROPLET * FREE_FALL * d * 2 / 3) - 1

    return brentq(excess, 1e-9, 100, xtol=1e-15, rtol=1e-13)


def row(micrometres):
    """Diameter in µm, then m/s by each law."""
    speeds = [
        v_terminal(D=micrometres * 1e-6, rhop=DROPLET, rho=AIR, mu=VISCOSITY, Method=law)
        for law in ("Stokes", "Clift", "Haider_Levenspiel")
    ]
    speeds.append(schiller_naumann(micrometres * 1e-6))
    return [str(micrometres), *(f"{speed:.5e}" for speed in speeds)]


table.write(
    "settling-speed.csv",
    [
        "Settling speed of water droplets (1000 kg/m³) in air (1.205 kg/m³, 1.81e-5 Pa s), m/s; all but the last without",
        "slip. Made by settling_speed.py.",
    ],
    ["fluids", "scipy"],
    ["micrometres", "stokes", "clift", "haider_levenspiel", "schiller_naumann_slip"],
    [row(micrometres) for micrometres in DIAMETERS],
)
