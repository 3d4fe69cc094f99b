"""How much of the indicated work do the engine's own parts rub away?

Three published laws; which one is worth 3 to 10 % of torque. The component law is the default,
because it knows the engine's dimensions. None of them contains pumping, which the cycle computes.
Equations `crankshaft-friction` to `quadratic-friction` of docs/theory/results.md; sources stand
with each law.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from enginesim.performance.indicated import piston_speed
from enginesim.performance.rubbing import REVISED, auxiliaries, crankshaft, pistons, valvetrain

if TYPE_CHECKING:
    from enginesim.case import Case
    from enginesim.performance.rubbing import Edition

#: What a result says of the law behind it.
DESCRIPTIONS = {
    "component": "component friction (Patton, Nitschke, Heywood 1989, revised 2003)",
    "speed-pressure": "friction from piston speed and peak pressure (Chen, Flynn 1965)",
    "quadratic": "friction quadratic in speed (Barnes-Moss 1975)",
}


def friction_mep(
    case: Case, rpm: float, p_max: float, pressure_ratio: float, pumping: float
) -> float:
    """
    Friction mean effective pressure by the case's law, times its multiplier.

    Parameters
    ----------
    case : Case
        The engine.
    rpm : float
        Engine speed. [rpm]
    p_max : float
        Peak cylinder pressure, mean of the cylinders. [Pa]
    pressure_ratio : float
        Pressure in the intake over that of the open air. [-]
    pumping : float
        Pumping mean effective pressure of the same cycle, positive when it costs work. [Pa]

    Returns
    -------
    float
        Friction mean effective pressure, accessories included, pumping not. [Pa]

    Notes
    -----
    Source: those of the three laws.
    """
    speed = piston_speed(case.block.stroke, rpm)
    if case.friction.model == "component":
        law = float(sum(components(case, rpm, pressure_ratio).values()))
    elif case.friction.model == "speed-pressure":
        law = speed_pressure_mep(p_max, speed)
    else:
        law = total_mep(rpm) - max(pumping, 0.0)
    return float(law * case.friction.multiplier)


def components(
    case: Case, rpm: float, pressure_ratio: float, edition: Edition = REVISED
) -> dict[str, float]:
    """
    Friction mean effective pressure of each group of parts.

    Parameters
    ----------
    case : Case
        The engine.
    rpm : float
        Engine speed. [rpm]
    pressure_ratio : float
        Pressure in the intake over that of the open air. [-]
    edition : Edition
        Which printing of the coefficients.

    Returns
    -------
    dict of str to float
        Crankshaft, pistons, valvetrain, auxiliaries. [Pa]

    Notes
    -----
    Source: K. J. Patton, R. G. Nitschke, J. B. Heywood, SAE 890836, 1989, revised by D. Sandoval,
    J. B. Heywood, SAE 2003-01-0725, 2003 (all coefficients from memory).
    """
    block, head = case.block, case.head
    main = (block.main_bearing_diameter, block.main_bearing_length, block.n_main_bearings)
    rod = (block.rod_bearing_diameter, block.rod_bearing_length)
    return {
        "crankshaft": crankshaft(block.bore, block.stroke, block.n_cylinders, rpm, main),
        "pistons": pistons(
            block.bore,
            block.stroke,
            block.n_cylinders,
            rpm,
            rod,
            block.compression_ratio,
            pressure_ratio,
            edition,
        ),
        "valvetrain": valvetrain(
            block.bore,
            block.stroke,
            block.n_cylinders,
            rpm,
            head.valvetrain,
            head.follower,
            head.intake.n_valves + head.exhaust.n_valves,
            max(case.cam.intake.valve_lift, case.cam.exhaust.valve_lift),
            block.n_cam_bearings,
            edition,
        ),
        "auxiliaries": auxiliaries(rpm, edition),
    }


def speed_pressure_mep(p_max: float, speed: float) -> float:
    """
    Friction from peak pressure and mean piston speed.

    Parameters
    ----------
    p_max : float
        Peak cylinder pressure. [Pa]
    speed : float
        Mean piston speed. [m/s]

    Returns
    -------
    float
        Friction mean effective pressure. [Pa]

    Notes
    -----
    0.4 bar + 0.005 p_max + 0.09 bar (s/m) speed + 0.0009 bar (s/m)^2 speed^2.
    Source: form of S. K. Chen, P. F. Flynn, SAE 650733, 1965; the coefficients are those in
    common use for spark-ignition engines, from memory, not the paper's own.

    Examples
    --------
    >>> print(f"{speed_pressure_mep(60e5, 8.6) / 1e5:.3f} bar")
    1.541 bar
    """
    return 0.4e5 + 0.005 * p_max + 0.09e5 * speed + 0.0009e5 * speed**2


def total_mep(rpm: float) -> float:
    """
    Friction and pumping of motored wide-open four-cylinder engines of 0.85 to 2 L.

    Parameters
    ----------
    rpm : float
        Engine speed. [rpm]

    Returns
    -------
    float
        Mean effective pressure of friction, accessories and pumping together. [Pa]

    Notes
    -----
    0.97 + 0.15 n + 0.05 n^2 bar, n in thousands of rpm. The law has pumping inside;
    :func:`friction_mep` takes off what the cycle found, so that it is not counted twice. Where
    the cycle gains from pumping nothing is taken off.
    Source: H. W. Barnes-Moss, Inst. Mech. Eng. C343/73, 1975, as equation 13.6 in
    J. B. Heywood, *Internal Combustion Engine Fundamentals*, 1988 (from memory).

    Examples
    --------
    >>> print([f"{total_mep(1000.0 * n) / 1e5:.2f}" for n in range(1, 7)])
    ['1.17', '1.47', '1.87', '2.37', '2.97', '3.67']
    """
    n = rpm / 1000
    return (0.97 + 0.15 * n + 0.05 * n**2) * 1e5
