"""Writes settling-speed.csv: speed at which water droplets settle in air of 20 °C, by drag laws of the fluids library.

Density 1000 kg/m³ in air of 1.205 kg/m³ and 1.81e-5 Pa s. Three things differ from Schiller and Naumann's law with
Cunningham's slip: fluids knows no slip (16 % at 1 µm, 0.2 % at 100 µm), it takes off the buoyancy of the displaced air
(0.12 %), and its drag laws are others: Clift, Grace and Weber's standard curve in ten pieces (1978), Haider and Levenspiel's
fit (1989), and Stokes alone, which holds for the smallest only.
"""

from fluids.drag import v_terminal

import table

DIAMETERS = [1, 2, 5, 10, 20, 30, 50, 80, 100, 150, 200, 300, 500, 700, 1000]


def row(micrometres):
    """Diameter in µm, then m/s by each law."""
    speeds = [
        v_terminal(D=micrometres * 1e-6, rhop=1000, rho=1.205, mu=1.81e-5, Method=law)
        for law in ("Stokes", "Clift", "Haider_Levenspiel")
    ]
    return [str(micrometres), *(f"{speed:.5e}" for speed in speeds)]


table.write(
    "settling-speed.csv",
    [
        "Settling speed of water droplets (1000 kg/m³) in air (1.205 kg/m³, 1.81e-5 Pa s), m/s, without slip.",
        "Made by settling_speed.py.",
    ],
    ["fluids"],
    ["micrometres", "stokes", "clift", "haider_levenspiel"],
    [row(micrometres) for micrometres in DIAMETERS],
)
