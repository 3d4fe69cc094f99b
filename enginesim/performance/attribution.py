"""Why does engine B give another torque than engine A at the same speed?

Source: logarithmic mean decomposition, B. W. Ang, "The LMDI approach to decomposition analysis: a
practical guide", Energy Policy 33, 2005 (from memory); the chain of factors is our own. Derived in
docs/theory/attribution.md.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import expm1, isfinite, log, nan, pi
from typing import TYPE_CHECKING, Final

from enginesim.performance.filling import KAPPA

if TYPE_CHECKING:
    from collections.abc import Mapping

    from enginesim.performance.results import Performance

#: Causes by group, in the order in which the charge meets them.
GROUPS: Final[dict[str, tuple[str, ...]]] = {
    "filling": (
        "size",
        "open_air",
        "throttle",
        "entry",
        "way_heat",
        "wave",
        "valve",
        "cylinder_heat",
        "residual",
        "backflow",
    ),
    "burning": ("mixture", "burn"),
    "wall heat": ("walls",),
    "pumping": ("pumping",),
    "friction": ("friction",),
    "unsplit": ("unsplit",),
}

#: What each cause is called, and what belongs to it.
CAUSES: Final[dict[str, tuple[str, str]]] = {
    "size": ("cylinder volume", "greatest volume of all cylinders"),
    "open_air": ("open air", "density of the open air, with what a correction makes of it"),
    "throttle": ("throttle", "pressure lost between the open air and the plenum"),
    "entry": ("entry and runner", "total pressure lost, or won, from plenum to intake valve"),
    "way_heat": (
        "heating on the way",
        "runner and port walls, evaporating fuel, gas blown back into the port",
    ),
    "wave": (
        "pressure wave at intake closing",
        "total pressure at the valve for the last of the inflow over its mean",
    ),
    "valve": (
        "intake valve",
        "what the valve loses, or the piston's rise wins, between port and cylinder",
    ),
    "cylinder_heat": ("heating in the cylinder", "walls, and fuel that evaporates inside"),
    "residual": ("residual gas", "room and heat of the gas left from the cycle before"),
    "backflow": ("backflow", "charge pushed back before the intake valve closes"),
    "mixture": ("mixture", "heat released for each mass of fresh charge"),
    "burn": (
        "burn phasing and efficiency",
        "work of compression and expansion from the heat that the walls leave",
    ),
    "walls": ("wall heat", "heat lost to the walls during compression and expansion"),
    "pumping": ("pumping", "work of the gas exchange strokes"),
    "friction": ("friction", "rubbing and accessories"),
    "unsplit": ("gross work, not split", "an engine that does not fire has no such chain"),
}


@dataclass(frozen=True, slots=True)
class Attribution:
    """
    Torque of B less that of A, by cause.

    Attributes
    ----------
    rpm : float
        Engine speed of A. [rpm]
    total : float
        Difference of brake torque. [N m]
    parts : mapping of str to float
        Share of each cause of `CAUSES`; they add up to the total. [N m]
    """

    rpm: float
    total: float
    parts: Mapping[str, float]

    def group(self, name: str) -> float:
        """
        Sum of a group's causes.

        Parameters
        ----------
        name : str
            Key of `GROUPS`.

        Returns
        -------
        float
            Share of the group. [N m]

        Notes
        -----
        Source: definition.
        """
        return sum(self.parts[cause] for cause in GROUPS[name])


def attribution(
    a: Performance, b: Performance, corrections: tuple[float, float] = (1.0, 1.0)
) -> Attribution:
    """
    Causes of the difference in brake torque between two engines at one speed.

    Parameters
    ----------
    a : Performance
        The engine that is compared with.
    b : Performance
        The other engine.
    corrections : tuple of float
        Factors on the torque of `a` and of `b`, to a standard's air. [-]

    Returns
    -------
    Attribution
        Shares that add up to the difference, and change sign when `a` and `b` are exchanged.

    Notes
    -----
    Brake torque is gross torque less pumping less friction; the last two are differences. Gross
    torque is a product of positive factors f, and a factor's share is L ln(f_b / f_a) with the
    logarithmic mean L = (G_b - G_a) / ln(G_b / G_a) of the two gross torques. Source: module.
    """
    parts = dict.fromkeys(CAUSES, 0.0)
    by_a, by_b = corrections
    parts["pumping"] = by_a * _torque(a.pmep, a) - by_b * _torque(b.pmep, b)
    parts["friction"] = by_a * _torque(a.fmep, a) - by_b * _torque(b.fmep, b)
    gross_a, gross_b = by_a * _torque(a.imep_gross, a), by_b * _torque(b.imep_gross, b)
    has_ducts = isfinite(a.t_warmed) and isfinite(b.t_warmed)
    factors_a, factors_b = _factors(a, has_ducts, by_a), _factors(b, has_ducts, by_b)
    if _is_positive(factors_a) and _is_positive(factors_b):
        mean = logarithmic_mean(gross_a, gross_b)
        for cause, factor in factors_a.items():
            parts[cause] = mean * log(factors_b[cause] / factor)
    else:
        parts["unsplit"] = gross_b - gross_a
    return Attribution(a.rpm, by_b * b.torque - by_a * a.torque, parts)


def logarithmic_mean(x: float, y: float) -> float:
    """
    Logarithmic mean of two positive numbers: between the geometric and the arithmetic one.

    Parameters
    ----------
    x : float
        First. [-]
    y : float
        Second, in the same unit. [-]

    Returns
    -------
    float
        (y - x) / ln(y / x), or x where they are equal. [-]

    Notes
    -----
    Source: definition.

    Examples
    --------
    >>> print(f"{logarithmic_mean(1.0, 2.718281828459045):.6f}")
    1.718282
    """
    ratio = log(y / x)
    return x if ratio == 0.0 else x * expm1(ratio) / ratio


def _torque(mean_pressure: float, point: Performance) -> float:
    return mean_pressure * point.displacement / (4.0 * pi)


def _is_positive(factors: Mapping[str, float]) -> bool:
    return all(isfinite(factor) and factor > 0.0 for factor in factors.values())


def _ratio(above: float, below: float) -> float:
    return above / below if below != 0.0 else nan


def _power(base: float, exponent: float) -> float:
    return float(base**exponent) if base > 0.0 else nan


def _factors(p: Performance, has_ducts: bool, correction: float) -> dict[str, float]:
    """
    Factors whose product is the corrected work of compression and expansion, all cylinders [J].

    The first ten and the mixture's gas constant make the mass that is in the cylinders, the
    mixture its heat, the walls what is left of it, the burn the work.
    """
    supply = p.manifold_pressure if isfinite(p.manifold_pressure) else p.air_pressure
    port, closing = (p.p_port, p.p_port_closing) if has_ducts else (supply, supply)
    t_port, t_mixed, t_warmed = (
        (p.t_port, p.t_mixed, p.t_warmed) if has_ducts else (p.air_temperature,) * 3
    )
    r_air = _ratio(p.air_pressure, p.air_density * p.air_temperature)
    kept = (1.0 - p.backflow) * (1.0 - p.residual)
    reversible = _power(closing / supply, 1.0 / KAPPA)
    expected = _ratio(p.volume_full * supply * reversible, p.r_filled * t_warmed)
    work = p.imep_gross * p.displacement
    return {
        "size": p.n_cylinders * p.volume_full,
        "open_air": correction * p.air_density,
        "throttle": _ratio(supply, p.air_pressure),
        "entry": _power(_ratio(port, supply), 1.0 / KAPPA),
        "way_heat": _ratio(p.air_temperature, t_port),
        "wave": _power(_ratio(closing, port), 1.0 / KAPPA),
        "valve": _ratio(p.mass_filled, expected),
        "cylinder_heat": _ratio(t_mixed, t_warmed),
        "residual": (1.0 - p.residual) * _ratio(t_port, t_mixed),
        "backflow": 1.0 - p.backflow,
        "mixture": _ratio(r_air, p.r_filled)
        * _ratio(p.released_heat, p.n_cylinders * p.mass_filled * kept),
        "walls": 1.0 - _ratio(p.wall_heat, p.released_heat),
        "burn": _ratio(work, p.released_heat - p.wall_heat),
    }
