"""
Which spark and which mixture does the engine want, and how far is it from knocking?

Source: the simulation; the customary figures beside it are named in docs/sheets.md.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Mapping

    from enginesim.performance import Curve

Floats = NDArray[np.float64]

#: Change of lambda that is tried to either side.
LAMBDA_STEP: Final = 0.05
#: Customary totals at full load, and the most (workshop usage). [rad]
CUSTOMARY_SPARK: Final = (math.radians(30), math.radians(36))
MOST_SPARK: Final = math.radians(40)
#: Aims at full throttle of one maker of control units, air to gasoline by mass.
CUSTOMARY_AIMS: Final = {
    "stock, 87 octane": 12.5,
    "street and strip, premium": 12.8,
    "race": 13.0,
}


@dataclass(frozen=True, slots=True)
class IgnitionSheet:
    """
    Spark and mixture against speed, and what others would cost.

    Attributes
    ----------
    rpm, spark, best : ndarray, shape (n,)
        Engine speed [rpm], spark used and spark of most torque, before top dead centre [rad].
    lost : ndarray, shape (n,)
        Torque that the spark used gives away. [N m]
    ca50, theta_p_max : ndarray, shape (n,)
        Half burned and peak pressure, after top dead centre. [rad]
    lambda_, afr : ndarray, shape (n,)
        Mixture. [-]
    torque : ndarray, shape (n,)
        As it is. [N m]
    other_mixtures : mapping of float to ndarray
        Change of lambda [-] to change of torque [N m].
    mode : str
        How the case's spark is set.
    """

    rpm: Floats
    spark: Floats
    best: Floats
    lost: Floats
    ca50: Floats
    theta_p_max: Floats
    lambda_: Floats
    afr: Floats
    torque: Floats
    other_mixtures: Mapping[float, Floats]
    mode: str


def ignition(
    own: Curve, best: Curve, mixtures: Mapping[float, Curve], *, afr_stoich: float, mode: str
) -> IgnitionSheet:
    """
    Spark and mixture of a case beside others.

    Parameters
    ----------
    own : Curve
        The case as it is.
    best : Curve
        The same with the spark of most torque, knock or not, at the same speeds.
    mixtures : mapping of float to Curve
        Change of lambda [-] to results at the same speeds.
    afr_stoich : float
        Air to fuel by mass at lambda 1. [-]
    mode : str
        How the case's spark is set. [-]

    Returns
    -------
    IgnitionSheet
        A column for each.
    """
    return IgnitionSheet(
        rpm=own["rpm"],
        spark=own["spark"],
        best=best["spark"],
        lost=best["torque"] - own["torque"],
        ca50=own["ca50"],
        theta_p_max=own["theta_p_max"],
        lambda_=own["lambda_overall"],
        afr=own["lambda_overall"] * afr_stoich,
        torque=own["torque"],
        other_mixtures={
            change: curve["torque"] - own["torque"] for change, curve in mixtures.items()
        },
        mode=mode,
    )


@dataclass(frozen=True, slots=True)
class KnockSheet:
    """
    How far from knocking.

    Attributes
    ----------
    rpm, spark, margin : ndarray, shape (n,)
        Engine speed [rpm], spark and what could be added to it before it knocks [rad].
    octane_margin, octane_needed : ndarray, shape (n,)
        Octane, (R+M)/2, to spare, and what the engine needs with the spark used. [-]
    octane_best : ndarray, shape (n,)
        What it needs with the spark of most torque. [-]
    p_max : ndarray, shape (n,)
        Peak pressure. [Pa]
    octane : float
        Of the fuel, (R+M)/2. [-]
    trapped_ratio : float
        Compression from intake closing. [-]
    """

    rpm: Floats
    spark: Floats
    margin: Floats
    octane_margin: Floats
    octane_needed: Floats
    octane_best: Floats
    p_max: Floats
    octane: float
    trapped_ratio: float


def knock(curve: Curve, best: Curve, octane: float, trapped_ratio: float) -> KnockSheet:
    """
    Knock margin of a curve.

    Parameters
    ----------
    curve : Curve
        Results.
    best : Curve
        The same with the spark of most torque, knock or not, at the same speeds.
    octane : float
        Of the fuel, (R+M)/2. [-]
    trapped_ratio : float
        Compression from intake closing. [-]

    Returns
    -------
    KnockSheet
        Margin in spark and in octane.
    """
    return KnockSheet(
        rpm=curve["rpm"],
        spark=curve["spark"],
        margin=curve["knock_margin"],
        octane_margin=curve["octane_margin"],
        octane_needed=octane - curve["octane_margin"],
        octane_best=octane - best["octane_margin"],
        p_max=curve["p_max"],
        octane=octane,
        trapped_ratio=trapped_ratio,
    )
