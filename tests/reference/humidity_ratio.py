"""Writes humidity-ratio.csv: humidity ratio and wet-bulb temperature of moist air at 101.325 kPa by two libraries.

PsychroLib takes air and vapour for ideal gases; its wet bulb is found by halving to 0.001 K. CoolProp (HAPropsSI) is a
real-gas model (ASHRAE research project 1485), so it holds a little more vapour.
"""

import psychrolib
from CoolProp.CoolProp import HAPropsSI

import table

PRESSURE = 101325

psychrolib.SetUnitSystem(psychrolib.SI)


def row(celsius, per_cent):
    """Temperature in °C, relative humidity in %, then kg/kg and °C by each library."""
    state = ("T", celsius + 273.15, "R", per_cent / 100, "P", PRESSURE)
    return [
        str(celsius),
        str(per_cent),
        f"{psychrolib.GetHumRatioFromRelHum(celsius, per_cent / 100, PRESSURE):.10f}",
        f"{HAPropsSI('W', *state):.7f}",
        f"{psychrolib.GetTWetBulbFromRelHum(celsius, per_cent / 100, PRESSURE):.3f}",
        f"{HAPropsSI('B', *state) - 273.15:.3f}",
    ]


table.write(
    "humidity-ratio.csv",
    [
        "Moist air at 101.325 kPa: humidity ratio, kg/kg, and wet-bulb temperature, °C. Made by humidity_ratio.py.",
    ],
    ["PsychroLib", "CoolProp"],
    ["celsius", "per_cent", "psychrolib_ratio", "coolprop_ratio", "psychrolib_wet_bulb", "coolprop_wet_bulb"],
    [row(celsius, per_cent) for celsius in range(5, 61, 5) for per_cent in range(10, 101, 10)],
)
