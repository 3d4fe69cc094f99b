"""
Which compression has the engine: by volumes, from the closing of the intake valve, on the gauge?

Source: geometry; the gauge's exponent from published workshop figures, see `CRANKING_EXPONENT`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from enginesim.case.derived import derive
from enginesim.formulas.areas import circle
from enginesim.formulas.crank import trapped_ratio
from enginesim.valvetrain.card import events

if TYPE_CHECKING:
    from collections.abc import Mapping

    from enginesim.case import Case

#: Exponent of compression on a cranking engine, heat lost and leaks included: it brings together
#: geometry and workshop gauge figures of one 1.8 L four-cylinder car with two compression ratios
#: (a published specification page: 155-160 psi at 8.8, 135-140 psi at 8.0; recomputed).
CRANKING_EXPONENT: Final = 1.23
CRANKING_BAND: Final = 0.02
#: What is customary on pump gasoline, as trapped ratio (bench talk, no limit).
CUSTOMARY_TRAPPED: Final = (7.5, 8.5)
#: Piston to head at the top that is wanted for a lively burn, steel rods (common practice).
CUSTOMARY_QUENCH: Final = (0.035 * 0.0254, 0.050 * 0.0254)


@dataclass(frozen=True, slots=True)
class Trapped:
    """
    Compression from one checking height of the cam.

    Attributes
    ----------
    height : float
        Checking height. [m]
    closes : float
        Intake closing after bottom dead centre. [rad]
    ratio : float
        Volume there over clearance volume. [-]
    """

    height: float
    closes: float
    ratio: float


@dataclass(frozen=True, slots=True)
class Compression:
    """
    Compression of one cylinder.

    Attributes
    ----------
    ratio : float
        Geometric ratio. [-]
    swept, clearance : float
        Volumes. [m3]
    pieces : mapping of str to float
        What the clearance is made of, where it was given. [m3]
    trapped : tuple of Trapped
        From the seat up; the first is what is called the dynamic ratio. Empty without durations.
    cranking : float
        Gauge pressure of a cranking engine. [Pa]
    cranking_band : float
        One standard deviation, of the exponent alone. [Pa]
    barometer : float
        Of the case. [Pa]
    quench : float or None
        Gasket and deck together. [m]
    changes : mapping of str to float
        Change of the ratio for a small change of each piece, named with its step. [-]
    """

    ratio: float
    swept: float
    clearance: float
    pieces: Mapping[str, float]
    trapped: tuple[Trapped, ...]
    cranking: float
    cranking_band: float
    barometer: float
    quench: float | None
    changes: Mapping[str, float]


def cranking_pressure(trapped: float, barometer: float, n: float = CRANKING_EXPONENT) -> float:
    """
    Pressure on a compression gauge.

    Parameters
    ----------
    trapped : float
        Compression ratio from intake closing at the seat. [-]
    barometer : float
        Air pressure. [Pa]
    n : float
        Exponent of the compression. [-]

    Returns
    -------
    float
        Gauge pressure, all plugs out and throttle open. [Pa]

    Examples
    --------
    A trapped ratio of 7.446 at 14.7 psi, of an engine whose workshop figure is 155-160 psi:

    >>> print(f"{cranking_pressure(7.446, 14.7):.0f} psi")
    159 psi
    """
    return float(barometer * (trapped**n - 1.0))


def compression(case: Case) -> Compression:
    """
    Compression sheet of a case.

    Parameters
    ----------
    case : Case
        A loaded case.

    Returns
    -------
    Compression
        Static, trapped and cranking.
    """
    block, derived = case.block, derive(case)
    trapped = tuple(_trapped(case))
    ratio = trapped[0].ratio if trapped else derived.trapped_ratio
    pressure = case.air.pressure
    gauge = cranking_pressure(ratio, pressure)
    band = cranking_pressure(ratio, pressure, CRANKING_EXPONENT + CRANKING_BAND) - gauge
    quench = None
    if block.gasket_thickness is not None and block.deck_clearance is not None:
        quench = block.gasket_thickness + block.deck_clearance
    return Compression(
        ratio=block.compression_ratio,
        swept=derived.swept_volume,
        clearance=derived.clearance_volume,
        pieces=derived.pieces,
        trapped=trapped,
        cranking=gauge,
        cranking_band=band,
        barometer=pressure,
        quench=quench,
        changes=_changes(case, derived.swept_volume, derived.clearance_volume),
    )


def _trapped(case: Case) -> list[Trapped]:
    cam, block = case.cam, case.block
    found = []
    for height, duration in cam.intake.durations:
        closes = events(duration, duration, cam.lobe_separation, cam.intake_centreline).ic
        ratio = trapped_ratio(
            block.compression_ratio, closes, block.stroke, block.rod_length, block.pin_offset
        )
        found.append(Trapped(height, closes, ratio))
    return found


def _changes(case: Case, swept: float, clearance: float) -> dict[str, float]:
    """Change of the ratio for steps that a builder can make."""
    area = circle(case.block.bore)
    gasket = circle(case.block.gasket_bore or case.block.bore)
    thousandth = 0.0254e-3
    steps = {
        "chamber or dish 1 cc smaller": -1e-6,
        "gasket 0.010 in thinner": -10 * thousandth * gasket,
        "head or deck milled by 0.010 in": -10 * thousandth * area,
    }
    ratio = 1.0 + swept / clearance
    return {name: 1.0 + swept / (clearance + step) - ratio for name, step in steps.items()}
