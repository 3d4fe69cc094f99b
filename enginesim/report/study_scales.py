"""How is a measure of a study shown: its name in words, its unit, its digits?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from enginesim.report.units import SCALES, Scale

if TYPE_CHECKING:
    from enginesim.report.units import System
    from enginesim.study.limits import Aim
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
# Where "the highest" of engines is meant, the largest of one engine's curve needs another word.
_OF_A_CURVE: Final = {"highest": "peak", "lowest": "minimum"}
_TIME: Final = Scale("s", "s", 2)


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
    kind = meaning.kind or _BY_UNIT.get(meaning.unit, "number")
    found = SCALES[system][kind]
    if measure.word == "average" and found.digits == 0:
        return Scale(found.name, found.symbol, 1)
    return found


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


def best_title(aim: Aim, n: int) -> str:
    """
    Head of a list of the best engines.

    Parameters
    ----------
    aim : Aim
        By which they are the best.
    n : int
        How many there are. [-]

    Returns
    -------
    str
        Such as ``The 5 engines with the highest peak power``.
    """
    word, _, rest = label(aim.measure).partition(" ")
    noun = f"{_OF_A_CURVE.get(word, word)} {rest}".rstrip()
    return f"The {engines(n)} with the {'highest' if aim.is_most else 'lowest'} {noun}"


def front_title(n: int) -> str:
    """
    Head of the front of two aims.

    Parameters
    ----------
    n : int
        Engines on it. [-]

    Returns
    -------
    str
        Such as ``3 engines that no other beats in both aims``.
    """
    return f"{n} engine{'s' if n != 1 else ''} that no other beats in both aims"


def engines(n: int) -> str:
    """
    A number of engines; of one, the word alone.

    Parameters
    ----------
    n : int
        How many. [-]

    Returns
    -------
    str
        Such as ``3 engines``.
    """
    return "engine" if n == 1 else f"{n} engines"


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
