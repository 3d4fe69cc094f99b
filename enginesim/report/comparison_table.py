"""How does a comparison read as columns of figures?"""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING, Final

from enginesim.report.cause_names import SHOWN, share
from enginesim.report.comparison_text import amount
from enginesim.report.table import Table
from enginesim.report.units import scale

if TYPE_CHECKING:
    from collections.abc import Sequence

    from enginesim.performance.attribution import Attribution
    from enginesim.report.units import System
    from enginesim.study.comparison import Comparison

# Names of causes that are a column only where there is a share.
_RARE = ("size and air", "not split")


def by_speed(comparison: Comparison, system: System) -> tuple[Table, Table]:
    """
    Torque and power of all sides at each speed, and the differences from the first.

    Parameters
    ----------
    comparison : Comparison
        Engines side by side.
    system : {"us", "si"}
        Units.

    Returns
    -------
    tuple of Table
        Torque with the error of each difference and, where bands are known, the chance that the
        other gives more; power.
    """
    return _by_speed(comparison, "torque", system), _by_speed(comparison, "power", system)


def _by_speed(comparison: Comparison, name: str, system: System) -> Table:
    letters = [side.letter for side in comparison.sides]
    values = comparison.torque if name == "torque" else comparison.power
    shown = scale(name, system).finer(values)
    others, has_band = range(1, len(letters)), comparison.band is not None
    heads = ["speed", *letters]
    units = ["rpm", *([shown.symbol] * len(letters))]
    for i in others:
        heads.append(f"{letters[i]} - {letters[0]}")
        units.append(shown.symbol)
        if name == "torque":
            heads += ["+-", f"{letters[i]} more"] if has_band else ["+-"]
            units += [shown.symbol, "%"] if has_band else [shown.symbol]
    rows = []
    for k, rpm in enumerate(comparison.rpm):
        row = [f"{rpm:.0f}", *(shown.text(float(side[k])) for side in values)]
        for i in others:
            row.append(signed(float(comparison.difference(i, name)[k]), name, system))
            if name == "torque":
                row.append(shown.text(float(comparison.sigma(i)[k]), 1))
            if name == "torque" and has_band:
                row.append(chance_text(float(comparison.chance(i)[k])))
        rows.append(tuple(row))
    return Table(name.capitalize(), tuple(heads), tuple(units), tuple(rows))


#: No chance is said to be larger than this: bands are estimates, and the model has its own errors.
SUREST: Final = 0.99


def chance_text(chance: float) -> str:
    """
    A chance in per cent, never certain: bands are estimates, and the model has errors of its own.

    Parameters
    ----------
    chance : float
        Between 0 and 1. [-]

    Returns
    -------
    str
        Such as ``84``; ``>99`` and ``<1`` at the ends.

    Examples
    --------
    >>> [chance_text(x) for x in (0.0, 0.0051, 0.5, 0.99, 0.9901, 1.0)]
    ['<1', '<1', '50', '99', '>99', '>99']
    """
    if chance > SUREST:
        return f">{100 * SUREST:.0f}"
    return f"<{100 * (1 - SUREST):.0f}" if chance < 1.0 - SUREST else f"{100 * chance:.0f}"


def signed(value: float, name: str, system: System, digits: int = 1) -> str:
    """
    A difference with its sign.

    Parameters
    ----------
    value : float
        In SI. [-]
    name : str
        Field of the performance.
    system : {"us", "si"}
        Units.
    digits : int
        Decimals. [-]

    Returns
    -------
    str
        Such as ``+4.1``; ``0.0`` has no sign, what is no number is a dash.
    """
    if not isfinite(value):
        return "-"
    text = amount(value, system, name, digits=digits)
    return text if float(text) == 0.0 else f"{'+' if value > 0 else '-'}{text}"


def summary(comparison: Comparison, system: System) -> Table:
    """
    Peaks, averages, and largest gain and loss of every side.

    Parameters
    ----------
    comparison : Comparison
        Engines side by side.
    system : {"us", "si"}
        Units.

    Returns
    -------
    Table
        A line for each figure, a column for each side.
    """
    low, high = comparison.window.low, comparison.window.high
    sides = range(len(comparison.sides))
    rows: list[tuple[str, ...]] = []
    for name in ("torque", "power"):
        peaks = [comparison.peak(i, name) for i in sides]
        shown = scale(name, system).finer([v for _, v in peaks])
        texts = [f"{shown.text(v)} @ {rpm:.0f}" for rpm, v in peaks]
        rows.append((f"peak {name}", *texts))
    for name in ("torque", "power"):
        shown = scale(name, system)
        means = [comparison.average(i, name) for i in sides]
        rows.append((f"average {name} {low:.0f}-{high:.0f} rpm", *_and_gain(means, name, system)))
    if comparison.weights is not None:
        for name in ("torque", "power"):
            means = [comparison.weighted(i, name) for i in sides]
            rows.append((f"{name} weighted with time", *_and_gain(means, name, system)))
    for name in ("torque", "power"):
        for word, sign in (("gain", 1.0), ("loss", -1.0)):
            texts = ["-"]
            for i in sides[1:]:
                most = comparison.largest(i, name, sign)
                texts.append(f"{signed(most[1], name, system)} @ {most[0]:.0f}" if most else "none")
            rows.append((f"largest {word} of {name}", *texts))
    heads = ("", *(f"{side.letter}: {side.label}" for side in comparison.sides))
    symbols = " and ".join(scale(name, system).symbol for name in ("torque", "power"))
    title = f"In short ({symbols}, @ rpm)"
    return Table(title, heads, ("",) * len(heads), tuple(rows), is_numeric=False)


def _and_gain(means: Sequence[float], name: str, system: System) -> list[str]:
    shown = scale(name, system)
    first = shown.text(means[0], 1)
    return [
        first,
        *(f"{shown.text(m, 1)} ({signed(m - means[0], name, system)})" for m in means[1:]),
    ]


def causes(found: Sequence[Attribution], letters: tuple[str, str], system: System) -> Table:
    """
    Share of each cause in the difference, speed by speed.

    Parameters
    ----------
    found : sequence of Attribution
        One for each speed.
    letters : tuple of str
        The first side's and the other's.
    system : {"us", "si"}
        Units.

    Returns
    -------
    Table
        Shares that add up to the difference.
    """
    shown = scale("torque", system)
    names = [
        name
        for name in SHOWN
        if name not in _RARE or any(share(one.parts, name) != 0.0 for one in found)
    ]
    rows = []
    for one in found:
        shares = [signed(share(one.parts, name), "torque", system) for name in names]
        rows.append((f"{one.rpm:.0f}", signed(one.total, "torque", system), *shares))
    broken = [name.partition(" ") for name in names]
    heads = ("speed", f"{letters[1]} - {letters[0]}", *(head for head, _, _ in broken))
    units = ("rpm", shown.symbol, *(rest for _, _, rest in broken))
    title = (
        f"Why {letters[1]} and {letters[0]} differ ({shown.symbol} of torque; what comes before"
        " burning is the filling)"
    )
    return Table(title, heads, units, tuple(rows))


def changes(rows: Sequence[tuple[str, str, str]], letters: tuple[str, str]) -> Table:
    """
    Fields of the case in which two sides differ.

    Parameters
    ----------
    rows : sequence of (str, str, str)
        From :func:`enginesim.study.swap.changes`.
    letters : tuple of str
        The first side's and the other's.

    Returns
    -------
    Table
        A line for each field.
    """
    heads = ("field", *letters)
    title = f"What is different in {letters[1]}"
    return Table(title, heads, ("", "", ""), tuple(rows), is_numeric=False)
