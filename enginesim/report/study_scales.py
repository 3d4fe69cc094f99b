"""How is a measure of a study shown: its name in words, its unit, its digits?"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from enginesim.report.units import KINDS, SCALES, Scale
from enginesim.study.trials import AS_GOOD

if TYPE_CHECKING:
    from collections.abc import Iterable

    from enginesim.report.units import System
    from enginesim.study.measures import Measure

# Kind of a number that is no field of the performance, by its SI unit.
_BY_UNIT: Final = {
    "m": "length",
    "m2": "number",
    "m3": "volume",
    "rad": "angle",
    "K": "temperature",
    "Pa": "mean pressure",
    "m3/s": "air flow",
    "kg/s": "flow",
    "kg": "mass",
    "m/s": "road speed",
    "rpm": "speed",
}
_TIME: Final = Scale("s", "s", 2)
_MORE: Final = 2  # digits that may be added for small engines


def scale_of(measure: Measure, system: System) -> Scale:
    """
    How a measure is shown.

    Parameters
    ----------
    measure : Measure
        Of a study.
    system : {"us", "si"}
        Units.

    Returns
    -------
    Scale
        Unit, symbol and digits; an average of whole numbers gets one digit more.
    """
    meaning = measure.meaning
    if meaning.unit == "s":
        return _TIME
    kind = KINDS.get(measure.number) or _BY_UNIT.get(meaning.unit, "number")
    found = SCALES[system][kind]
    if measure.word == "average" and found.digits == 0:
        return Scale(found.name, found.symbol, 1)
    return found


def fine(scale: Scale, values: Iterable[float]) -> Scale:
    """
    Scale that tells engines of a study apart: its last digit is less than 1 % of what is shown.

    Parameters
    ----------
    scale : Scale
        How the measure is shown usually.
    values : iterable of float
        What is shown. [SI]

    Returns
    -------
    Scale
        The same, or one with a digit or two more for small engines.
    """
    largest = max((abs(float(scale.of(x))) for x in values if math.isfinite(x)), default=0.0)
    digits = scale.digits
    while digits < scale.digits + _MORE and 10.0**-digits > AS_GOOD * largest > 0.0:
        digits += 1
    return Scale(scale.name, scale.symbol, digits)


def label(measure: Measure) -> str:
    """
    Name of a measure in words.

    Parameters
    ----------
    measure : Measure
        Of a study.

    Returns
    -------
    str
        Such as ``average torque 2000-3500 rpm``.
    """
    text = f"{measure.word} {measure.meaning.label}" if measure.word != "at" else ""
    if measure.word == "at":
        place = measure.condition or f"{measure.speed:g} rpm"
        return f"{measure.meaning.label} at {place}"
    if measure.shares:
        return f"{text.strip()} by time at speed"
    if measure.low is not None:
        text += f" {measure.low:g}-{measure.high:g} rpm"
    return text.strip()


def headed(measure: Measure, system: System) -> str:
    """
    Name of a measure with its unit, for an axis.

    Parameters
    ----------
    measure : Measure
        Of a study.
    system : {"us", "si"}
        Units.

    Returns
    -------
    str
        Such as ``average torque 2000-3500 rpm, lb-ft``.
    """
    symbol = scale_of(measure, system).symbol
    return f"{label(measure)}, {symbol}" if symbol else label(measure)
