"""
Is the carburettor or throttle body large enough, and what would another size cost?

Source: the trade's sizing rule; docs/sheets.md. The answer is the depression at full throttle.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from enginesim.base.errors import CaseError, Problem
from enginesim.base.units import from_si, to_si

if TYPE_CHECKING:
    from enginesim.case import Case
    from enginesim.performance import Curve

Floats = NDArray[np.float64]

#: Depression at the speed of most power that people look for (estimate).
CUSTOMARY_DEPRESSION: Final = (to_si(0.5, "inHg"), to_si(1.5, "inHg"))
#: Sizes tried beside the one that is fitted.
STEPS: Final = (0.8, 1.25)
#: Flows by which four-barrel carburettors are sold, at 1.5 inHg (common practice, no source). [cfm]
SOLD: Final = (390.0, 500.0, 600.0, 650.0, 750.0, 850.0, 950.0)
_SOLD_AT: Final = to_si(1.5, "inHg")


@dataclass(frozen=True, slots=True)
class SizeTried:
    """
    One size on the engine.

    Attributes
    ----------
    name : str
        Size as the trade says it.
    is_fitted : bool
        Whether it is the case's own.
    rpm, depression, power : ndarray, shape (n,)
        Engine speed [rpm], manifold depression [Pa] and brake power [W].
    lost : ndarray, shape (n,)
        Power that the largest size gives more. [W]
    """

    name: str
    is_fitted: bool
    rpm: Floats
    depression: Floats
    power: Floats
    lost: Floats


@dataclass(frozen=True, slots=True)
class ThrottleSheet:
    """
    Sizes beside each other, and the rule.

    Attributes
    ----------
    sizes : tuple of SizeTried
        From the smallest.
    rule_flow : tuple of float
        What the rule asks for at the speed of most power, with the volumetric efficiency that was
        simulated and with 85 %. [m3/s]
    power_rpm : float
        Speed of most power as fitted. [rpm]
    air_flow : float
        Air drawn there, at the density of the open air. [m3/s]
    halves : bool
        Whether each half of a divided plenum feeds half the engine.
    """

    sizes: tuple[SizeTried, ...]
    rule_flow: tuple[float, float]
    power_rpm: float
    air_flow: float
    halves: bool


def rule_flow(displacement: float, rpm: float, ve: float) -> float:
    """
    Air that a four-stroke engine draws: the rule by which carburettors are sold.

    Parameters
    ----------
    displacement : float
        Of the engine. [m3]
    rpm : float
        Engine speed. [rpm]
    ve : float
        Volumetric efficiency. [-]

    Returns
    -------
    float
        Volume flow. [m3/s]

    Notes
    -----
    In the trade's units: cubic inches x rpm x efficiency / 3456 = cubic feet a minute.

    Examples
    --------
    350 cubic inches at 6000 rpm, filled wholly:

    >>> from enginesim.base.units import from_si, to_si
    >>> print(f"{from_si(rule_flow(to_si(350, 'in3'), 6000, 1.0), 'cfm'):.1f} cfm")
    607.6 cfm
    """
    return displacement * ve * rpm / 120


def fitted_size(case: Case) -> tuple[str, float]:
    """
    Field that says the size of the throttle, and its value.

    Parameters
    ----------
    case : Case
        A loaded case.

    Returns
    -------
    tuple of str and float
        ``throttle.flow`` [m3/s] or ``throttle.diameter`` [m].

    Raises
    ------
    CaseError
        If there is no throttle.
    """
    throttle = case.throttle
    if throttle.kind != "none" and throttle.flow is not None:
        return "throttle.flow", throttle.flow
    if throttle.kind != "none" and throttle.diameter is not None:
        return "throttle.diameter", throttle.diameter
    problem = Problem(case.name, "throttle.kind", "no throttle", "carburettor or throttle body")
    raise CaseError([problem])


def size_text(path: str, size: float) -> str:
    """
    Size as the trade says it.

    Parameters
    ----------
    path : str
        From `fitted_size`. [-]
    size : float
        In SI. [SI]

    Returns
    -------
    str
        Such as ``600 cfm`` or ``52 mm``.
    """
    if path == "throttle.flow":
        return f"{from_si(size, 'cfm'):.0f} cfm"
    return f"{1e3 * size:.1f} mm"


def sizes_to_try(case: Case, asked: Sequence[float] = ()) -> tuple[float, ...]:
    """
    Sizes that are simulated.

    Parameters
    ----------
    case : Case
        A loaded case.
    asked : sequence of float
        Those that the user names, if any. [SI]

    Returns
    -------
    tuple of float
        Rising, with that of the case: by default one smaller and one larger, of those that are
        sold; a throttle body, or a carburettor far from them or rated at another depression, has
        round numbers. Where nothing smaller, or larger, is sold, that one is left out. [SI]

    Raises
    ------
    CaseError
        If there is no throttle.
    """
    path, fitted = fitted_size(case)
    if asked:
        return tuple(sorted({*asked, fitted}))
    step = to_si(10.0, "cfm") if path == "throttle.flow" else 0.5e-3
    area = 1.0 if path == "throttle.flow" else 0.5  # a diameter goes by the root of the area
    others = [fitted * factor**area for factor in STEPS]
    throttle = case.throttle
    is_sold = throttle.kind == "carburettor" and math.isclose(throttle.drop, _SOLD_AT, rel_tol=0.02)
    if path == "throttle.flow" and is_sold:
        others = [_as_sold(size) for size in others]
    # Half a step off is the same carburettor.
    kept = (size for size in (round(o / step) * step for o in others) if abs(size - fitted) > step)
    return tuple(sorted({*kept, fitted}))


def _as_sold(flow: float) -> float:
    """Nearest flow that is sold, unless even that is a whole step away. [m3/s]."""
    near = min((to_si(size, "cfm") for size in SOLD), key=lambda size: abs(size - flow))
    is_near = STEPS[0] < flow / near < STEPS[1] or math.isclose(flow / near, STEPS[0])
    return near if is_near or math.isclose(flow / near, STEPS[1]) else flow


def throttle_sheet(
    case: Case, sizes: Sequence[float], curves: Sequence[Curve], displacement: float
) -> ThrottleSheet:
    """
    Depression and power of several sizes.

    Parameters
    ----------
    case : Case
        The engine as it is.
    sizes : sequence of float
        As from `sizes_to_try`. [SI]
    curves : sequence of Curve
        Results of each size, at the same speeds.
    displacement : float
        Of the engine. [m3]

    Returns
    -------
    ThrottleSheet
        The smallest size first.

    Raises
    ------
    CaseError
        If there is no throttle.
    """
    path, fitted = fitted_size(case)
    most = curves[-1]
    tried = tuple(
        SizeTried(
            name=size_text(path, size),
            is_fitted=size == fitted,
            rpm=curve["rpm"],
            depression=curve["manifold_depression"],
            power=curve["power"],
            lost=np.interp(curve["rpm"], most["rpm"], most["power"]) - curve["power"],
        )
        for size, curve in zip(sizes, curves, strict=True)
    )
    own = curves[list(sizes).index(fitted)]
    power_rpm = own.peak("power")[0]
    ve = float(np.interp(power_rpm, own["rpm"], own["ve"]))
    return ThrottleSheet(
        sizes=tried,
        rule_flow=(
            rule_flow(displacement, power_rpm, ve),
            rule_flow(displacement, power_rpm, 0.85),
        ),
        power_rpm=power_rpm,
        air_flow=rule_flow(displacement, power_rpm, ve),
        halves=case.intake.layout == "divided plenum",
    )
