"""How does a study read as columns of figures, and as a file for other programs?"""

from __future__ import annotations

import csv
import io
import math
from collections import Counter
from typing import TYPE_CHECKING, Final

from enginesim.base.characters import cell
from enginesim.report.study_scales import label, scale_of
from enginesim.report.table import Table
from enginesim.study.plan import shown
from enginesim.study.ties import tied
from enginesim.study.values import number_text, with_at

if TYPE_CHECKING:
    from collections.abc import Sequence

    from enginesim.report.units import System
    from enginesim.study.effects import Effect
    from enginesim.study.limits import Aim
    from enginesim.study.trials import Outcome, Status, Trial


# Where fewer than two values of a variable have a result, it has no effect to be told.
_NOT_ESTIMATED: Final = "not estimated"


def best_table(
    outcome: Outcome,
    trials: Sequence[Trial],
    title: str,
    system: System,
    ranks: Sequence[int] = (),
) -> Table:
    """
    Some engines, a row each.

    Parameters
    ----------
    outcome : Outcome
        The study.
    trials : sequence of Trial
        Those to show, in this order.
    title : str
        What they are.
    system : {"us", "si"}
        Units.
    ranks : sequence of int
        Of each of them, from `enginesim.study.ties`; none where they have no order. [-]

    Returns
    -------
    Table
        Ranks if there are any, variables, then every measure.
    """
    study = outcome.study
    names = short_names([variable.name for variable in study.variables])
    wanted = {aim.measure for aim in study.aims}
    scales = [
        scale_of(m, system).finer(outcome.column(m, trials)) if m in wanted else scale_of(m, system)
        for m in study.measures
    ]
    heads = [label(measure) for measure in study.measures]
    rows = []
    for trial in trials:
        values = [number_text(float(x), "") if v.is_numeric else shown(v, x)
                  for v, x in zip(study.variables, trial.point, strict=True)]  # fmt: skip
        numbers = [
            s.text(x)
            for s, x in zip(scales, trial.numbers or [math.nan] * len(scales), strict=True)
        ]
        rows.append((*values, *numbers))
    units = (
        *(with_at(v.values.unit, v.values.at) for v in study.variables),
        *(s.symbol for s in scales),
    )
    columns = (*names, *heads)
    if ranks:
        rows = [(str(rank), *row) for rank, row in zip(ranks, rows, strict=True)]
        units, columns = ("", *units), ("rank", *columns)
    return Table(title, columns, units, tuple(rows))


def tie_text(outcome: Outcome, aim: Aim, error: float | None, system: System) -> tuple[str, ...]:
    """
    Which engines cannot be told from the best one.

    Parameters
    ----------
    outcome : Outcome
        The study.
    aim : Aim
        By which engines are ranked.
    error : float or None
        Of a difference, from `enginesim.study.ties`. [SI]
    system : {"us", "si"}
        Units.

    Returns
    -------
    tuple of str
        One sentence; none where no engine ties with the best.
    """
    n = 0 if error is None else tied(outcome, aim, error)
    if n < 2 or error is None:
        return ()
    scale = scale_of(aim.measure, system)
    within = scale.with_unit(error, max(1, scale.digits))
    less = f"differ by less than the numerical error, {within}," if error else "are equal"
    return (f"Tie: {n} engines {less} and cannot be told apart; all have rank 1",)


def short_names(paths: Sequence[str]) -> list[str]:
    """
    Names of fields for the heads of columns.

    Parameters
    ----------
    paths : sequence of str
        Dotted paths.

    Returns
    -------
    list of str
        Last word of each path, or the whole path where two would be the same.
    """
    last = [path.rpartition(".")[2].replace("_", " ") for path in paths]
    counted = Counter(last)
    return [
        name if counted[name] == 1 else path.replace(".", " ").replace("_", " ")
        for name, path in zip(last, paths, strict=True)
    ]


def effects_table(found: Sequence[Effect], aim: Aim, system: System) -> Table:
    """
    What each variable does to the aim.

    Parameters
    ----------
    found : sequence of Effect
        From `enginesim.study.effects`.
    aim : Aim
        What they act on.
    system : {"us", "si"}
        Units.

    Returns
    -------
    Table
        A row for each variable, the strongest first.
    """
    values = [x for effect in found for x in effect.about_best]
    scale = scale_of(aim.measure, system).finer(values)

    def of(value: float) -> str:
        # A difference: no offset of a temperature scale.
        return _NOT_ESTIMATED if math.isnan(value) else scale.text(
            value + scale_zero(scale.name), scale.digits
        )  # fmt: skip

    rows = []
    for effect in sorted(found, key=lambda e: -_or_zero(e.span_about_best)):
        best = _extreme(effect, aim)
        rows.append((effect.variable.name, of(effect.span), of(effect.span_about_best), best))
    heads = ("variable", "on the whole", "about the best", "best at")
    title = f"Effect on {label(aim.measure)}, largest less smallest"
    return Table(title, heads, ("", scale.symbol, scale.symbol, ""), tuple(rows))


def scale_zero(unit_name: str) -> float:
    """
    SI value of the zero of a unit.

    Parameters
    ----------
    unit_name : str
        Unit of a scale.

    Returns
    -------
    float
        Not zero for a temperature scale. [SI]
    """
    from enginesim.base.units import unit

    return unit(unit_name).offset


def _or_zero(value: float) -> float:
    return 0.0 if math.isnan(value) else value


def _extreme(effect: Effect, aim: Aim) -> str:
    if not effect.is_known:
        return "-"
    known = [i for i, value in enumerate(effect.about_best) if not math.isnan(value)]
    return effect.texts()[min(known, key=lambda i: aim.cost(effect.about_best[i]))]


def counts(outcome: Outcome) -> tuple[str, ...]:
    """
    How many engines ended in which way, and why those that ended badly did.

    Parameters
    ----------
    outcome : Outcome
        The study.

    Returns
    -------
    tuple of str
        Sentences.
    """
    trials = outcome.trials
    ways = Counter(trial.status for trial in trials)
    words: dict[Status, str] = {
        "good": "good",
        "beyond limits": "beyond a limit",
        "ruled out": "ruled out before any run",
        "failed": "without a result",
        "unfinished": "not reached",
    }
    parts = [f"{ways[status]} {text}" for status, text in words.items() if ways[status]]
    lines = [f"{len(trials)} engine{'s' if len(trials) != 1 else ''}: {', '.join(parts)}"]
    dropped = sum(trial.dropped for trial in trials if trial.status in ("good", "beyond limits"))
    if dropped:
        many = "speeds of these engines" if dropped > 1 else "speed of these engines"
        left = "are" if dropped > 1 else "is"
        lines.append(f"{dropped} {many} did not converge and {left} left out")
    reasons = Counter(
        _kind_of(trial.reason)
        for trial in trials
        if trial.status in ("beyond limits", "ruled out", "failed")
    )
    lines += [f"{n} x {reason}" for reason, n in reasons.most_common(5)]
    return tuple(lines)


def _kind_of(reason: str) -> str:
    """Reason without the figure of the one engine."""
    head, mark, _ = reason.partition(": it is ")
    return head if mark else reason


def csv_text(outcome: Outcome) -> str:
    """
    Every engine as comma-separated values.

    Parameters
    ----------
    outcome : Outcome
        The study.

    Returns
    -------
    str
        Variables in their units, status, every measure in SI (angles in degrees), the reason, the
        digest of the case, and torque [N m] at each speed that is no measure already; empty where
        there is no number.
    """
    study = outcome.study
    heads = [
        f"{v.name} [{with_at(v.values.unit, v.values.at)}]" if v.values.unit else v.name
        for v in study.variables
    ]
    scales = [scale_of(measure, "si") for measure in study.measures]
    for measure, scale in zip(study.measures, scales, strict=True):
        heads.append(f"{measure.text} [{scale.name}]" if scale.name else measure.text)
    curve = {f"torque at {rpm:g} [N*m]": rpm for rpm in study.every_speed}
    curve = {head: rpm for head, rpm in curve.items() if head not in heads}
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["status", *heads, "reason", "case", *curve])
    columns = [
        scale.of(outcome.column(measure, outcome.trials)).tolist()
        for measure, scale in zip(study.measures, scales, strict=True)
    ]
    for i, trial in enumerate(outcome.trials):
        torque = {rpm: value for rpm, value, _ in trial.curve}
        writer.writerow(
            [
                trial.status,
                *map(cell, trial.point),
                *(_cell(column[i]) for column in columns),
                cell(trial.reason),
                trial.digest[:12],
                *(_cell(torque.get(rpm, math.nan)) for rpm in curve.values()),
            ]
        )
    return out.getvalue()


def _cell(value: float) -> str:
    return f"{value:.6g}" if math.isfinite(value) else ""
