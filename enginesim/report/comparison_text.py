"""How is a comparison said in plain sentences?"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Final

from enginesim.performance.attribution import CAUSES, GROUPS
from enginesim.report.units import scale

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from enginesim.report.units import System
    from enginesim.study.comparison import Comparison
    from enginesim.study.reasons import Region
    from enginesim.study.straight_lines import Crossover

# A share less than this part of the largest one is not worth a word.
_WORTH: Final = 0.12
_WORTH_WITHIN: Final = 0.3  # the same for the causes within filling
_MOST_WITHIN: Final = 2  # causes named within a group, and one against it
_SHARP: Final = 50.0  # width of a crossover that needs no word [rpm]
_GROUP_NAMES: Final = {
    "filling": "filling",
    "burning": "burning",
    "wall heat": "wall heat",
    "pumping": "pumping",
    "friction": "friction",
    "unsplit": "gross work, not split",
}
#: What no error of a comparison contains; said with every one of them.
LEFT_OUT: Final = (
    "The error is numerical: convergence and mesh. Not in it: what the model leaves out, and values"
    " that nobody measured; most of both is the same in all engines and cancels in the difference,"
    " not all of it."
)
#: The same where bands of the assumed values are in.
LEFT_OUT_OF_BANDS: Final = (
    "Not in it: what the model leaves out, values that were given without a band, and bands of the"
    " assumed values that are wrong themselves; many are estimates."
)


def speed(rpm: float) -> str:
    """
    Engine speed as it is said: to 10 rpm.

    Parameters
    ----------
    rpm : float
        Engine speed. [rpm]

    Returns
    -------
    str
        Such as ``5,100``.
    """
    return f"{round(rpm / 10) * 10:,.0f}"


def amount(value: float, system: System, name: str = "torque", *, digits: int | None = None) -> str:
    """
    Size of a difference in words, without its sign.

    Parameters
    ----------
    value : float
        In SI. [-]
    system : {"us", "si"}
        Units.
    name : str
        Field of the performance.
    digits : int, optional
        Decimals; none from ten upwards if left out. [-]

    Returns
    -------
    str
        Such as ``11`` or ``2.4``.
    """
    size = abs(float(scale(name, system).of(value)))
    return f"{size:.{(0 if size >= 9.95 else 1) if digits is None else digits}f}"


def decimals(comparison: Comparison, name: str, system: System) -> int | None:
    """
    Decimals of what the engines give: one for small engines.

    Parameters
    ----------
    comparison : Comparison
        Engines side by side.
    name : str
        ``torque`` or ``power``.
    system : {"us", "si"}
        Units.

    Returns
    -------
    int or None
        One where all numbers are below a hundred; None for what is customary. [-]
    """
    values = comparison.torque if name == "torque" else comparison.power
    return 1 if float(scale(name, system).of(abs(values)).max()) < 100.0 else None


def verdicts(comparison: Comparison, i: int, system: System) -> tuple[str, ...]:
    """
    Where one side is better than the first, and by how much on average.

    Parameters
    ----------
    comparison : Comparison
        Engines side by side.
    i : int
        Index of the side. [-]
    system : {"us", "si"}
        Units.

    Returns
    -------
    tuple of str
        Sentences.
    """
    a, b = comparison.sides[0].letter, comparison.sides[i].letter
    crossings = comparison.crossovers(i)
    difference, error = comparison.difference(i), comparison.error[i]
    sure = abs(difference) > error
    if not sure.any():
        return (f"{b} and {a} do not differ by more than the numerical error at any speed.",)
    if not crossings:
        better = difference[sure].mean() > 0
        part = "all" if sure.all() else f"{sure.sum()} of {len(sure)}"
        first = f"{b} gives {'more' if better else 'less'} torque than {a} at {part} speeds."
    else:
        widths = [
            f"{speed(c.rpm)} rpm ({speed(c.low)} to {speed(c.high)} within the error)"
            if c.high - c.low > _SHARP
            else f"{speed(c.rpm)} rpm"
            for c in crossings
        ]
        first = f"{b} gives more torque than {a} {_joined(_better(crossings))} rpm,"
        first += f" less elsewhere; the curves cross at {_joined(widths)}."
    window = comparison.window
    means = []
    for name in ("torque", "power"):
        gain = comparison.average(i, name) - comparison.average(0, name)
        symbol = scale(name, system).symbol
        sign = "+" if gain >= 0 else "-"
        means.append(f"{name} {sign}{amount(gain, system, name, digits=1)} {symbol}")
    second = (
        f"On average from {speed(window.low)} to {speed(window.high)} rpm, {b} against {a}:"
        f" {_joined(means)}."
    )
    if comparison.weights is None:
        return first, second
    weighted = []
    for name in ("torque", "power"):
        gain = comparison.weighted(i, name) - comparison.weighted(0, name)
        sign = "+" if gain >= 0 else "-"
        symbol = scale(name, system).symbol
        weighted.append(f"{name} {sign}{amount(gain, system, name, digits=1)} {symbol}")
    return first, second, f"Weighted with the time at each speed: {_joined(weighted)}."


def _better(crossings: Sequence[Crossover]) -> list[str]:
    """Stretches of speed in which the difference is positive, in words without the unit."""
    found = [] if crossings[0].is_rising else [f"below {speed(crossings[0].rpm)}"]
    for low, high in pairwise(crossings):
        if low.is_rising:
            found.append(f"from {speed(low.rpm)} to {speed(high.rpm)}")
    if crossings[-1].is_rising:
        found.append(f"above {speed(crossings[-1].rpm)}")
    return found


def reasons(
    comparison: Comparison, i: int, found: Sequence[Region], system: System
) -> tuple[str, ...]:
    """
    One sentence for each region: how much, and from what.

    Parameters
    ----------
    comparison : Comparison
        Engines side by side.
    i : int
        Index of the side. [-]
    found : sequence of Region
        From :func:`enginesim.study.reasons.regions`.
    system : {"us", "si"}
        Units.

    Returns
    -------
    tuple of str
        Sentences.
    """
    letters = comparison.sides[0].letter, comparison.sides[i].letter
    return tuple(_region(region, letters, system) for region in found)


def _region(region: Region, letters: tuple[str, str], system: System) -> str:
    first, letter = letters
    unit = scale("torque", system).symbol
    if region.is_first and region.is_last:
        where = f"From {speed(region.low)} to {speed(region.high)} rpm"
    elif region.is_first:
        where = f"Below {speed(region.high)} rpm"
    elif region.is_last:
        where = f"Above {speed(region.low)} rpm"
    else:
        where = f"From {speed(region.low)} to {speed(region.high)} rpm"
    does = "gains" if region.total > 0 else "loses"
    rpm, most = region.largest
    if _is_nothing(most, system):
        return f"{where} {letter} gives what {first} gives, within 0.1 {unit}."
    head = f"{where} {letter} {does} {amount(region.total, system)} {unit} on average"
    head += f" (at most {amount(most, system)} at {speed(rpm)} rpm)"
    if abs(region.total) <= region.error:
        return f"{head}, which is within the numerical error."
    sign = 1.0 if region.total > 0 else -1.0
    groups = {name: region.group(name) for name in GROUPS}
    worth = _WORTH * max(abs(share) for share in groups.values())
    groups = {name: share for name, share in groups.items() if not _is_nothing(share, system)}
    with_it = [name for name, share in groups.items() if sign * share >= worth]
    against = [name for name, share in groups.items() if sign * share <= -worth]
    parts = []
    for name in sorted(with_it, key=lambda name: -abs(groups[name])):
        text = f"{amount(groups[name], system)} from {_GROUP_NAMES[name]}"
        if name == "filling":
            text += _within(region.parts, GROUPS[name], groups[name], system)
        parts.append(text)
    less = [
        f"{amount(groups[name], system)} from {_GROUP_NAMES[name]}"
        + (_within(region.parts, GROUPS[name], groups[name], system) if name == "filling" else "")
        for name in sorted(against, key=lambda name: -abs(groups[name]))
    ]
    if not parts:
        return f"{head}."
    tail = _joined(parts) + (f", less {_joined(less)}" if less else "")
    return f"{head}: {tail}."


def _is_nothing(value: float, system: System) -> bool:
    """Whether a torque would be said to be zero."""
    return float(amount(value, system)) == 0.0


def _within(parts: Mapping[str, float], causes: Sequence[str], total: float, system: System) -> str:
    """The causes behind a group's share: the largest with it, then those against it."""
    sign = 1.0 if total > 0 else -1.0
    worth = _WORTH_WITHIN * max(abs(parts[cause]) for cause in causes)
    shown = {
        cause: parts[cause]
        for cause in causes
        if abs(parts[cause]) >= worth and not _is_nothing(parts[cause], system)
    }
    with_it = sorted((c for c, v in shown.items() if sign * v > 0), key=lambda c: -abs(shown[c]))
    against = sorted((c for c, v in shown.items() if sign * v < 0), key=lambda c: -abs(shown[c]))
    if not with_it:
        return ""
    texts = [f"{amount(shown[c], system)} from the {CAUSES[c][0]}" for c in with_it[:_MOST_WITHIN]]
    text = f" (of which {_joined(texts)}"
    if against:
        most = against[: _MOST_WITHIN - 1]
        texts = [f"{amount(shown[c], system)} from the {CAUSES[c][0]}" for c in most]
        text += f", less {_joined(texts)}"
    return text + ")"


def _joined(words: Sequence[str]) -> str:
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def interplay(comparison: Comparison, surplus: Sequence[float], error: Sequence[float],
              system: System) -> str:  # fmt: skip
    """
    How far all swaps together differ from the sum of each alone.

    Parameters
    ----------
    comparison : Comparison
        Base, each swap alone, and all together as the last.
    surplus : sequence of float
        From :func:`enginesim.study.comparison.interaction`. [N m]
    error : sequence of float
        Its numerical error. [N m]
    system : {"us", "si"}
        Units.

    Returns
    -------
    str
        One sentence.
    """
    unit = scale("torque", system).symbol
    values = list(zip(comparison.rpm.tolist(), surplus, error, strict=True))
    if all(abs(value) <= limit for _, value, limit in values):
        return "The parts do not act on each other: together they give the sum of each alone."
    low = min(values, key=lambda row: row[1])
    high = max(values, key=lambda row: row[1])
    texts = [
        f"{amount(value, system)} {unit} {'more' if value > 0 else 'less'} than the sum of each"
        f" alone at {speed(rpm)} rpm"
        for rpm, value, limit in (high, low)
        if abs(value) > limit and value == (high if value > 0 else low)[1]
    ]
    return f"The parts act on each other: together they give {_joined(texts)}."
