"""How is a comparison said in plain sentences?"""

from __future__ import annotations

from itertools import pairwise
from math import floor
from typing import TYPE_CHECKING, Final

from enginesim.report.cause_names import FILLING, SHOWN, share
from enginesim.report.units import scale

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Mapping, Sequence

    from enginesim.report.units import System
    from enginesim.study.comparison import Comparison
    from enginesim.study.reasons import Region
    from enginesim.study.straight_lines import Crossover

# A share less than this part of the largest one, and of the total, is said with the rest.
_WORTH: Final = 0.12
_WORTH_WITHIN: Final = 0.25  # the same for the causes within filling
_MOST_WITHIN: Final = 4  # causes named within filling, or more until the rest is less than each
_REST: Final = "the rest"
_CANCELS: Final = 0.5  # filling that is less than this part of its largest cause
_SHARP: Final = 50.0  # width of a crossover that needs no word [rpm]
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


def amount(value: float, system: System, name: str = "torque", *, digits: int = 1) -> str:
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
    digits : int
        Decimals; one as in the tables if left out. [-]

    Returns
    -------
    str
        Such as ``11.0`` or ``2.4``.
    """
    size = abs(float(scale(name, system).of(value)))
    return f"{size:.{digits}f}"


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
    means = _gains(i, comparison.average, system)
    second = (
        f"On average from {speed(window.low)} to {speed(window.high)} rpm, {b} against {a}:"
        f" {means}."
    )
    if comparison.weights is None:
        return first, second
    weighted = _gains(i, comparison.weighted, system)
    return first, second, f"Weighted with the time at each speed: {weighted}."


def _gains(i: int, mean: Callable[[int, str], float], system: System) -> str:
    """Torque and power of one side against the first."""
    texts = []
    for name in ("torque", "power"):
        gain = mean(i, name) - mean(0, name)
        text = amount(gain, system, name)
        if float(text) == 0.0:
            texts.append(f"no difference in {name}")
        else:
            sign = "+" if gain > 0 else "-"
            texts.append(f"{name} {sign}{text} {scale(name, system).symbol}")
    return ", ".join(texts)


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


def main_reason(
    comparison: Comparison, i: int, found: Sequence[Region], system: System
) -> tuple[str, ...]:
    """
    The sentence of the region that matters most: mean difference times width.

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
        One sentence; none where there is no region.
    """
    ranked = sorted(found, key=lambda region: -abs(region.total) * (region.high - region.low))
    return reasons(comparison, i, ranked[:1], system)


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
    if _tenths(most, system) == 0:
        return f"{where} {letter} gives what {first} gives, within 0.1 {unit}."
    head = f"{where} {letter} {does} {amount(region.total, system)} {unit} on average"
    head += f" (at most {amount(most, system)} at {speed(rpm)} rpm)"
    if abs(region.total) <= region.error:
        return f"{head}, which is within the numerical error."
    return f"{head}: {_causes(region, system)}."


def _tenths(value: float, system: System) -> int:
    """A torque as it is said, in tenths of its unit."""
    size = round(10 * float(amount(value, system)))
    return size if value > 0 else -size


def _causes(region: Region, system: System) -> str:
    """Shares with their signs, the largest first; what is said adds up to the total."""
    shares = {name: share(region.parts, name) for name in SHOWN if name not in FILLING}
    within = {name: share(region.parts, name) for name in FILLING}
    shares["filling"] = sum(within.values())
    largest = max(abs(value) for value in shares.values())
    most_within = max(abs(value) for value in within.values())
    is_cancelled = most_within > max(
        abs(shares["filling"]) / _CANCELS, region.error, _WORTH * largest
    )
    named = {
        name: value
        for name, value in shares.items()
        if abs(value) >= _WORTH * min(largest, abs(region.total))
        or (name == "filling" and is_cancelled)
    }
    texts = []
    for name, size in _said(shares, named, _tenths(region.total, system), system):
        text = f"{name} {_with_sign(size)}"
        if name == "filling":
            inner = _within(within, size, system)
            text += f" ({'large causes cancel: ' if is_cancelled else ''}{inner})"
        texts.append(text)
    return ", ".join(texts)


def _within(shares: Mapping[str, float], total: int, system: System) -> str:
    """The causes behind the filling, which is given in tenths of the unit."""
    ranked = sorted(shares, key=lambda name: -abs(shares[name]))
    worth = _WORTH_WITHIN * abs(shares[ranked[0]])
    named = [name for name in ranked[:_MOST_WITHIN] if abs(shares[name]) >= worth]
    while abs(sum(shares[name] for name in ranked[len(named) :])) > abs(shares[named[-1]]):
        named.append(ranked[len(named)])
    said = _said(shares, named, total, system)
    return ", ".join(f"{name} {_with_sign(size)}" for name, size in said)


def _said(
    shares: Mapping[str, float], named: Collection[str], total: int, system: System
) -> list[tuple[str, int]]:
    """
    Named shares and the rest in tenths of the unit, rounded so that they add up to the total.

    Each is rounded down, and the tenths that are then missing go to those that lost most.
    """
    others = [name for name in shares if name not in named]
    if sum(_tenths(shares[name], system) != 0 for name in others) == 1:
        named, others = shares.keys(), []
    ranked = sorted(named, key=lambda name: -abs(shares[name]))
    values = [(name, shares[name]) for name in ranked]
    values.append((_REST, sum(shares[name] for name in others)))
    tenths = [10.0 * float(scale("torque", system).of(value)) for _, value in values]
    sizes = [floor(tenth) for tenth in tenths]
    missing = total - sum(sizes)
    for k in sorted(range(len(sizes)), key=lambda k: sizes[k] - tenths[k])[: max(missing, 0)]:
        sizes[k] += 1
    return [(name, size) for (name, _), size in zip(values, sizes, strict=True) if size]


def _with_sign(tenths: int) -> str:
    return f"{tenths / 10:+.1f}"


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
        return (
            "Within the numerical error the parts do not act on each other: together they give the"
            " sum of each alone."
        )
    low = min(values, key=lambda row: row[1])
    high = max(values, key=lambda row: row[1])
    texts = [
        f"{amount(value, system)} {unit} {'more' if value > 0 else 'less'} than the sum of each"
        f" alone at {speed(rpm)} rpm"
        for rpm, value, limit in (high, low)
        if abs(value) > limit and value == (high if value > 0 else low)[1]
    ]
    return f"The parts act on each other: together they give {_joined(texts)}."
