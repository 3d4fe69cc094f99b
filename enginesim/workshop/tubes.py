"""
What do the trade's rules for headers and runners say about this engine, beside the simulation?

Source: each rule names its own; docs/sheets.md. Constants that hide inches and minutes are
written in SI here, with the trade's form beside them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from enginesim.case.derived import derive
from enginesim.formulas.areas import circle
from enginesim.valvetrain.card import events

if TYPE_CHECKING:
    from enginesim.case import Case
    from enginesim.performance import Curve

_INCH: Final = 0.0254
_FOOT: Final = 0.3048

#: Mean speed of the gas in a primary at the torque peak. The rule rpm = 88,200 x in2 / in3 of one
#: cylinder is 245 ft/s; its author gives 240 to 260.
PRIMARY_SPEED: Final = 88_200 * 2 / 60 * _INCH
PRIMARY_SPEEDS: Final = (240 * _FOOT, 260 * _FOOT)
#: Rule of the ram manifolds: length in inches x rpm = 84,000 (from memory, no source text).
RAM: Final = 84_000 * _INCH
#: Divisor of Engelman's rule (2.0 to 2.5, usually 2.1; from memory).
ENGELMAN: Final = 2.1
_PRIMARY_LENGTH: Final = (28 * _INCH, 42 * _INCH)


@dataclass(frozen=True, slots=True)
class Rule:
    """
    One rule applied to the parts as they are.

    Attributes
    ----------
    name : str
        What it is called in the trade.
    rpm : float
        Speed for which the parts are right by that rule. [rpm]
    of : str
        What that speed is compared with: ``torque`` or ``power``.
    wanted : float
        What the rule would ask for at the simulated speed: a diameter or a length. [m]
    given : float
        What is fitted. [m]
    part : str
        Which part that is.
    source : str
        Where the rule is from, and how sure.
    """

    name: str
    rpm: float
    of: str
    wanted: float
    given: float
    part: str
    source: str


@dataclass(frozen=True, slots=True)
class TubeSheet:
    """
    Rules beside the simulation.

    Attributes
    ----------
    torque_rpm, power_rpm, ve_rpm : float
        Speeds of most torque, power and filling, as simulated. [rpm]
    rules : tuple of Rule
        Headers first.
    runner_length, runner_diameter : float
        From the plenum to the valve, and of the mean section. [m]
    gas_speed : tuple of float
        Mean speed of the gas in a primary at most torque and most power: the trade's figure,
        which takes a cylinder's volume in half a turn. [m/s]
    """

    torque_rpm: float
    power_rpm: float
    ve_rpm: float
    rules: tuple[Rule, ...]
    runner_length: float
    runner_diameter: float
    gas_speed: tuple[float, float]


def primary_rpm(area: float, swept: float, speed: float = PRIMARY_SPEED) -> float:
    """
    Speed of most torque for which a primary has the right area.

    Parameters
    ----------
    area : float
        Inside of the tube. [m2]
    swept : float
        Of one cylinder. [m3]
    speed : float
        Mean speed of the gas. [m/s]

    Returns
    -------
    float
        Engine speed. [rpm]

    Examples
    --------
    1 5/8 in tube with a wall of 0.065 in, 43.75 cubic inches:

    >>> area = 0.25 * math.pi * (1.495 * 0.0254) ** 2
    >>> print(f"{primary_rpm(area, 43.75 * 0.0254**3):.0f} rpm")
    3539 rpm
    """
    return 30.0 * speed * area / swept


def primary_length(exhaust_opens: float, rpm: float) -> float:
    """
    Length of a primary from the valve, by A. G. Bell's rule.

    Parameters
    ----------
    exhaust_opens : float
        At the seat, before bottom dead centre. [rad]
    rpm : float
        Speed that it is for. [rpm]

    Returns
    -------
    float
        Length. [m]

    Notes
    -----
    850 (180 + EO) / rpm - 3 in inches (from memory).

    Examples
    --------
    >>> print(f"{primary_length(math.radians(70), 5000.0) / 0.0254:.1f} in")
    39.5 in
    """
    return (850 * (180 + math.degrees(exhaust_opens)) / rpm - 3) * _INCH


def primary_length_rpm(exhaust_opens: float, length: float) -> float:
    """
    Speed for which a primary has the length of A. G. Bell's rule.

    Parameters
    ----------
    exhaust_opens : float
        At the seat, before bottom dead centre. [rad]
    length : float
        Length. [m]

    Returns
    -------
    float
        Engine speed. [rpm]
    """
    return 850 * (180 + math.degrees(exhaust_opens)) / (length / _INCH + 3)


def engelman_rpm(
    area: float,
    length: float,
    swept: float,
    ratio: float,
    sound_speed: float,
    divisor: float = ENGELMAN,
) -> float:
    """
    Speed to which runner and cylinder are tuned as a resonator.

    Parameters
    ----------
    area, length : float
        Of the runner with its port. [m2], [m]
    swept : float
        Of one cylinder. [m3]
    ratio : float
        Compression ratio. [-]
    sound_speed : float
        In the runner. [m/s]
    divisor : float
        Frequency of the resonator over that of the crank. [-]

    Returns
    -------
    float
        Engine speed. [rpm]

    Notes
    -----
    The resonator's volume is that of the cylinder at half stroke. H. W. Engelman, ASME paper
    73-WA/DGP-2, 1973 (from memory; recomputed). In inches and feet a second its factor is printed
    as 162, rounded from 161.9.

    Examples
    --------
    Bore and stroke 86 mm, ratio 10, a runner of 40 mm and 350 mm at 346 m/s:

    >>> area, swept = 0.25 * math.pi * 0.040**2, 0.25 * math.pi * 0.086**3
    >>> print(f"{engelman_rpm(area, 0.350, swept, 10.0, 346.0):.0f} rpm")
    5396 rpm
    """
    volume = 0.5 * swept * (ratio + 1) / (ratio - 1)
    return 60 / (2 * math.pi) / divisor * sound_speed * math.sqrt(area / (length * volume))


def tubes(case: Case, curve: Curve) -> TubeSheet:
    """
    Header and runner rules for a case beside its curve.

    Parameters
    ----------
    case : Case
        A loaded case.
    curve : Curve
        Its results.

    Returns
    -------
    TubeSheet
        What the rules say, and what the simulation says.
    """
    torque_rpm, power_rpm = curve.peak("torque")[0], curve.peak("power")[0]
    length, diameter = _runner(case)
    swept = derive(case).swept_volume
    area = circle(case.exhaust.primary_diameter)
    rules = [*_header_rules(case, swept, torque_rpm, power_rpm)]
    rules += _runner_rules(case, swept, length, diameter, torque_rpm)
    return TubeSheet(
        torque_rpm=torque_rpm,
        power_rpm=power_rpm,
        ve_rpm=curve.peak("ve")[0],
        rules=tuple(rules),
        runner_length=length,
        runner_diameter=diameter,
        gas_speed=(swept * torque_rpm / 30 / area, swept * power_rpm / 30 / area),
    )


def _header_rules(case: Case, swept: float, torque_rpm: float, power_rpm: float) -> list[Rule]:
    pipe = case.exhaust
    length = sum(pipe.primary_lengths) / len(pipe.primary_lengths) + case.head.exhaust.port_length
    rules = [
        Rule(
            name="primary area, 88,200 rule",
            rpm=primary_rpm(circle(pipe.primary_diameter), swept),
            of="torque",
            wanted=math.sqrt(4 / math.pi * swept * torque_rpm / (30 * PRIMARY_SPEED)),
            given=pipe.primary_diameter,
            part="primary inside diameter",
            source="header makers' rule of the trade press, 240-260 ft/s",
        )
    ]
    lobe = case.cam.exhaust.durations
    if lobe:
        cam = case.cam
        opens = events(lobe[0][1], lobe[0][1], cam.lobe_separation, cam.intake_centreline).eo
        rules.append(
            Rule(
                name="primary length, Bell's rule",
                rpm=primary_length_rpm(opens, length),
                of="power",
                wanted=primary_length(opens, power_rpm),
                given=length,
                part="primary length from the valve",
                source="A. G. Bell, from memory; +-20 %",
            )
        )
    return rules


def _runner_rules(
    case: Case, swept: float, length: float, diameter: float, torque_rpm: float
) -> list[Rule]:
    # Air as warm as the open air: the rules are not finer than that.
    sound_speed = math.sqrt(1.4 * 287.05 * case.air.temperature)
    tuned = engelman_rpm(circle(diameter), length, swept, case.block.compression_ratio, sound_speed)
    return [
        Rule(
            name="runner length, 84,000 rule",
            rpm=RAM / length,
            of="torque",
            wanted=RAM / torque_rpm,
            given=length,
            part="runner and port, plenum to valve",
            source="old ram-manifold rule, from memory, no source text",
        ),
        Rule(
            name="runner and cylinder as resonator",
            rpm=tuned,
            of="torque",
            wanted=length * (tuned / torque_rpm) ** 2,
            given=length,
            part="runner and port, plenum to valve",
            source="H. W. Engelman 1973, from memory; +-12 % for an open pipe",
        ),
    ]


def _runner(case: Case) -> tuple[float, float]:
    """Length from plenum to valve, and diameter of its mean section."""
    intake, port = case.intake, case.head.intake
    beyond = sum(intake.runner_lengths) / len(intake.runner_lengths)
    volume = port.port_volume
    for (start, first), (end, second) in pairwise(intake.runner_stations):
        # A cone between stations.
        mean = (first * first + first * second + second * second) / 3
        volume += 0.25 * math.pi * mean * (end - start) * beyond
    length = beyond + port.port_length
    return length, math.sqrt(4 / math.pi * volume / length)
