"""What other fuels and direct injection bring over port-injected gasoline, at the same mixture."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from validation.drawing import COLOURS, MARKS, label, legend, panels
from validation.engines import Samples, curve, engine
from validation.folder import Folder, Found
from validation.judgement import Row

SPEEDS = {
    "delivery-six": (2000.0, 3000.0, 4000.0),
    "coupe-v6": (2500.0, 4000.0, 5500.0),
    "hill-climb-four": (4000.0, 5500.0, 7000.0),
}
#: Best spark, so that octane numbers play no part.
SAME = ("mixture.lambda=0.9", "spark.mode=best")
FUELS = {
    "gasoline": ("fuel.name=gasoline 91",),
    "e85": ("fuel.name=e85",),
    "ethanol": ("fuel.name=ethanol",),
    "methanol": ("fuel.name=methanol",),
    "direct": ("fuel.name=gasoline 91", "fuel.delivery=direct"),
}
#: Fluid of the reference library, and mass of stoichiometric air and of a mole [kg].
ALCOHOLS = {"ethanol": ("Ethanol", 9.00, 46.07e-3), "methanol": ("Methanol", 6.47, 32.04e-3)}
MOLE_OF_AIR = 28.96e-3


def tasks(fast: bool) -> list[tuple[str, str]]:
    """Engine and fuel."""
    if fast:
        return [("coupe-v6", "gasoline"), ("coupe-v6", "methanol")]
    return [(name, fuel) for name in SPEEDS for fuel in FUELS]


def work(task: tuple[str, str]) -> dict[str, Samples]:
    """Torque [N m], filling [-], and the trapped charge's temperature [K] and pressure [Pa]."""
    name, fuel = task
    found = curve(engine(name, (*SAME, *FUELS[fuel])), SPEEDS[name])
    return {key: found[key] for key in ("rpm", "torque", "ve", "t_warmed", "p_port_closing")}


def crowding(found: dict[str, Samples], fuel: str) -> Samples:
    """Pressure of the fuel's vapour in the trapped charge over that of saturation. [-]."""
    from CoolProp.CoolProp import PropsSI

    fluid, air, mole = ALCOHOLS[fuel]
    fuel_moles, air_moles = 1.0 / mole, 0.9 * air / MOLE_OF_AIR
    vapour = found["p_port_closing"] * fuel_moles / (fuel_moles + air_moles)
    full: Samples = np.array(
        [PropsSI("P", "T", float(t), "Q", 1, fluid) for t in found["t_warmed"]]
    )
    return vapour / full


def rows(folder: Folder, found: Found) -> list[Row]:
    """Gains over gasoline through the port, and whether the vapour can exist."""
    made = []
    for fuel, what in (*((fuel, "torque") for fuel in FUELS), ("direct", "ve")):
        names = [name for name in SPEEDS if (name, fuel) in found and (name, "gasoline") in found]
        if fuel == "gasoline" or not names:
            continue
        places = [f"{name} {rpm:.0f} rpm" for name in names for rpm in SPEEDS[name]]
        gains = [
            100.0 * (found[name, fuel][what] / found[name, "gasoline"][what] - 1.0)
            for name in names
        ]
        made.append(folder.points(f"{fuel}_{what}", places, np.concatenate(gains)))
        if fuel in ALCOHOLS and what == "torque":
            full = [crowding(found[name, fuel], fuel) for name in names]
            made.append(folder.points(f"{fuel}_vapour", places, np.concatenate(full)))
    return made


def figure(folder: Folder, found: Found) -> Figure:
    """Gain of torque over speed, an engine a panel."""
    drawn, axes = panels(1, len(SPEEDS), title=folder.title, height=3.1)
    for panel, name in zip(axes, SPEEDS, strict=True):
        base = found[name, "gasoline"]["torque"]
        for k, fuel in enumerate(fuel for fuel in FUELS if fuel != "gasoline"):
            gain = 100.0 * (found[name, fuel]["torque"] / base - 1.0)
            text = "gasoline, direct" if fuel == "direct" else fuel
            panel.plot(
                SPEEDS[name], gain, f"{MARKS[k]}-", color=COLOURS[k], ms=4, lw=1.2, label=text
            )
        panel.set_ylim(0.0, 24.0)  # room for the names
        label(panel, "engine speed [rpm]", "torque over gasoline [%]", name)
    legend(axes[0])
    return drawn
