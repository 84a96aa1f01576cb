"""Writes saturation-pressure.csv: saturation pressure of water vapour over liquid water by two libraries.

PsychroLib holds Hyland and Wexler's equation as the ASHRAE Handbook of Fundamentals prints it. CoolProp holds the
equation of state IAPWS-95, whose liquid it continues to 0 °C, 0.01 K below the triple point.

At 0 °C PsychroLib takes the equation for ice, so that row has no figure of its own.
"""

import psychrolib
from CoolProp.CoolProp import PropsSI

import table

psychrolib.SetUnitSystem(psychrolib.SI)


def row(celsius):
    """Temperature in °C, then kPa by each library."""
    hyland_wexler = f"{psychrolib.GetSatVapPres(celsius) / 1000:.8f}" if celsius > 0 else ""
    iapws = PropsSI("P", "T", celsius + 273.15, "Q", 0, "Water") / 1000
    return [str(celsius), hyland_wexler, f"{iapws:.8f}"]


table.write(
    "saturation-pressure.csv",
    ["Saturation pressure of water vapour over liquid water, kPa. Made by saturation_pressure.py."],
    ["PsychroLib", "CoolProp"],
    ["celsius", "psychrolib_kpa", "coolprop_iapws95_kpa"],
    [row(celsius) for celsius in range(61)],
)
