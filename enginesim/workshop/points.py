"""Which simulations does a sheet rest on?"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from enginesim.case import amend
from enginesim.performance import Curve
from enginesim.performance.quoting import is_quotable
from enginesim.workshop.carburettor import fitted_size, sizes_to_try
from enginesim.workshop.ignition import LAMBDA_STEP

if TYPE_CHECKING:
    from enginesim.case import Case
    from enginesim.performance import Performance


def with_sizes(case: Case, asked: Sequence[float]) -> tuple[tuple[float, ...], list[Case]]:
    """
    The engine with each size of its throttle.

    Parameters
    ----------
    case : Case
        A loaded case.
    asked : sequence of float
        Sizes that the user names, if any. [SI]

    Returns
    -------
    sizes : tuple of float
        Rising, the fitted one among them. [SI]
    cases : list of Case
        One for each.

    Raises
    ------
    CaseError
        If there is no throttle, or a size is out of range.
    """
    path, fitted = fitted_size(case)
    sizes = sizes_to_try(case, asked)
    return sizes, [case if size == fitted else amend(case, {path: size}) for size in sizes]


def with_best_spark(case: Case) -> Case:
    """
    The engine with the spark of most torque, knock or not.

    Parameters
    ----------
    case : Case
        A loaded case.

    Returns
    -------
    Case
        The case itself if its spark is that already.
    """
    return case if case.spark.mode == "best" else amend(case, {"spark.mode": "best"})


def with_mixtures(case: Case) -> dict[float, Case]:
    """
    The engine with a richer and a leaner mixture.

    Parameters
    ----------
    case : Case
        A loaded case.

    Returns
    -------
    dict of float to Case
        By change of lambda. [-]

    Raises
    ------
    CaseError
        If a mixture would be out of range.
    """
    path, given = "mixture.lambda", case.mixture.lambda_
    scale = 1.0
    if case.mixture.afr is not None:
        path, scale = "mixture.afr", case.mixture.afr[0] / given[0]
    cases = {}
    for change in (-LAMBDA_STEP, LAMBDA_STEP):
        text = " ".join(f"{scale * (value + change):.6g}" for value in given)
        cases[change] = amend(case, {path: text})
    return cases


def common_speeds(points: Sequence[dict[float, Performance]]) -> list[Curve]:
    """
    Curves over the speeds at which every case converged.

    Parameters
    ----------
    points : sequence of dict
        Results of each case by speed. [rpm]

    Returns
    -------
    list of Curve
        One for each case; empty if there is no such speed.
    """
    shared = set.intersection(
        *({rpm for rpm, point in part.items() if is_quotable(point)} for part in points)
    )
    if not shared:
        return []
    return [Curve(part[rpm] for rpm in sorted(shared)) for part in points]
