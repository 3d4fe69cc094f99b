"""Of which ducts, volumes and links do a case's intake and its throttles consist?"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from enginesim.formulas.areas import circle
from enginesim.network.losses import (
    END_CORRECTION,
    ENTRY_LOSS,
    bend_loss,
    rated_area,
    ratio_from_loss,
)
from enginesim.network.pieces import Duct, End, Link, Plan, Section, Volume, pipe
from enginesim.ports.flow_bench import CAST_ROUGHNESS
from enginesim.ports.sheet import port_area

if TYPE_CHECKING:
    from enginesim.case.tree import Case

_FINE = 33  # points of a port's area law
OPEN_AIR = "air"  # name of what the engine draws from
_COOLING = 350.0  # kelvin per mass of fuel evaporated in a mass of air, gasoline; first guess only


@dataclass(frozen=True)
class Intake:
    """
    Where the intake lies in the plan.

    Attributes
    ----------
    ambient : int
        Reservoir that the air comes from.
    plenums : tuple of int
        Reservoirs of the plenums; empty without any.
    """

    ambient: int
    plenums: tuple[int, ...]


def throttle_area(case: Case) -> float | None:
    """
    Effective area of the throttles, of the engine or, if individual, of each cylinder.

    Parameters
    ----------
    case : Case
        A loaded case.

    Returns
    -------
    float or None
        Area at the stated opening [m2]; None without a throttle.
    """
    throttle = case.throttle
    if throttle.kind == "none":
        return None
    if throttle.flow is not None:
        wide_open = rated_area(throttle.flow, throttle.drop)
    else:
        bore = circle(throttle.diameter or 0.0)
        wide_open = throttle.count * throttle.discharge_coefficient * bore
    return wide_open * throttle.opening


def port_section(case: Case, side: str) -> Section:
    """
    The port of a head as a duct section, from the flange to the valve.

    Parameters
    ----------
    case : Case
        A loaded case.
    side : str
        "intake" or "exhaust".

    Returns
    -------
    Section
        The port; its roughness is that of the simulated flow bench.
    """
    port = case.head.intake if side == "intake" else case.head.exhaust
    area = np.array([port_area(port, i / (_FINE - 1)) for i in range(_FINE)])
    return Section(port.port_length, area, port.wall_temperature, CAST_ROUGHNESS)


def runner_section(case: Case, cylinder: int) -> tuple[Section, ...]:
    """
    The runner of a cylinder, from its open end to the head flange.

    Parameters
    ----------
    case : Case
        A loaded case.
    cylinder : int
        Index of the cylinder. [-]

    Returns
    -------
    tuple of Section
        The open end's added length, then the runner; only the former without a runner.
    """
    intake = case.intake
    stations = sorted(intake.runner_stations)
    places = [place for place, _ in stations]
    diameters = [diameter for _, diameter in stations]
    fine = np.interp(np.linspace(0.0, 1.0, _FINE), places, diameters)
    mouth = float(fine[0])
    added = END_CORRECTION[intake.entry] * 0.5 * mouth
    wall = intake.wall_temperature
    sections = [pipe(added, [mouth], wall, CAST_ROUGHNESS)]
    length = intake.runner_lengths[cylinder]
    if length > 0.0:
        mean = float(np.mean(fine))
        loss = sum(bend_loss(angle, radius, mean) for angle, radius in intake.bends)
        sections.append(Section(length, 0.25 * math.pi * fine**2, wall, CAST_ROUGHNESS, loss))
    return tuple(sections)


def add_intake(case: Case, plan: Plan, fuel_air: float) -> Intake:
    """
    Add the intake of a case to a plan.

    Parameters
    ----------
    case : Case
        A loaded case.
    plan : Plan
        Gets the pieces.
    fuel_air : float
        Mass of fuel per mass of air, for the state at the beginning. [-]

    Returns
    -------
    Intake
        Where its volumes lie.

    Notes
    -----
    Individual throttles stand at the mouths of their runners: at part throttle the wave turns
    back there rather than at the plate.
    """
    air = case.air
    ambient = plan.add_volume(Volume(OPEN_AIR, 0.0, air.pressure, air.temperature))
    area = throttle_area(case)
    evaporated = case.fuel.evaporated_fraction
    with_plenum = case.intake.layout in ("single plenum", "divided plenum") and area is not None
    carburettor = case.throttle.kind == "carburettor" and with_plenum
    vapour = evaporated * fuel_air if carburettor else 0.0
    cooled = air.temperature - vapour * _COOLING
    plenums = []
    groups = case.intake.plenum_groups if with_plenum else ()
    for k, _ in enumerate(groups):
        name = "plenum" if len(groups) == 1 else f"plenum {k + 1}"
        plenum = plan.add_volume(
            Volume(name, case.intake.plenum_volume, air.pressure, cooled, y_f=vapour)
        )
        share = (area or 0.0) / len(groups)
        plan.links.append(
            Link(
                f"throttle of {name}",
                ambient,
                plenum,
                share,
                share,
                fuel=evaporated if carburettor else 0.0,
            )
        )
        plenums.append(plenum)
    for cylinder in range(plan.n_cylinders):
        sections = (*runner_section(case, cylinder), port_section(case, "intake"))
        loss = ENTRY_LOSS[case.intake.entry]
        mouth = float(sections[0].area[0])
        if with_plenum:
            place = next(k for k, g in enumerate(groups) if cylinder + 1 in g)
            start = End("volume", plenums[place], ratio_in=ratio_from_loss(loss))
        else:
            throttled = 1.0 if area is None else min(area / mouth, 1.0)
            start = End(
                "ambient",
                ambient,
                ratio_out=throttled,
                ratio_in=ratio_from_loss(loss + throttled**-2.0 - 1.0),
            )
        injects = case.fuel.delivery != "direct" and not carburettor
        finish = End(
            "valve", cylinder, "intake", injects=injects, evaporated=evaporated if injects else 0.0
        )
        plan.ducts.append(
            Duct(
                f"intake runner {cylinder + 1}",
                sections,
                start,
                finish,
                case.numerics.cell_size,
                air.pressure,
                cooled + 5.0,
                y_f=vapour,
            )
        )
    return Intake(ambient, tuple(plenums))
