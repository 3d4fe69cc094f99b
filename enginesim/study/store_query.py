"""What do many stored results say, as arrays?"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import nan
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from enginesim.base.provenance import PHYSICS_VERSION
from enginesim.base.quantity import quantities, unknown
from enginesim.study.store_rows import HEADLINES

if TYPE_CHECKING:
    from enginesim.case import Case
    from enginesim.study.store import Store

Floats: TypeAlias = NDArray[np.float64]

_FEW = 500  # cases that are asked for by number, rather than picked out of all


def columns(
    store: Store, names: Iterable[str], *, cases: Sequence[Case] | None = None
) -> dict[str, NDArray[Any]]:
    """
    Fields of many stored results, an array each; failures are left out.

    Parameters
    ----------
    store : Store
        Where they are.
    names : iterable of str
        Fields of :class:`~enginesim.performance.Performance` that are numbers. Those with a column
        of their own (:data:`~enginesim.study.store_rows.HEADLINES`) come faster than the others.
    cases : sequence of Case, optional
        Engines that are wanted; all of the store if left out.

    Returns
    -------
    dict of str to ndarray, shape (n,)
        One row for each result, ordered by case and speed: ``case`` (index into `cases`, or into
        the cases of the store as they came in), ``rpm`` [rpm], ``converged``, and each of `names`
        in the SI unit of its field.

    Raises
    ------
    ResultError
        If results have no such field.
    StoreError
        If the store cannot be read.
    """
    from enginesim.performance import Performance

    names = tuple(names)
    known = quantities(Performance)
    for name in names:
        if name not in known:
            raise unknown(Performance, name)
    wanted = [name for name in names if name not in ("rpm", "converged")]
    is_slow = [name not in HEADLINES for name in wanted]
    picked = [
        f"json_extract(d.fields, '$.{name}')" if slow else f"p.{name}"
        for name, slow in zip(wanted, is_slow, strict=True)
    ]
    query = f"SELECT {', '.join(['p.case_id', 'p.rpm', 'p.converged', *picked])} FROM points p"
    if any(is_slow):
        query += " JOIN details d ON d.point_id = p.id"
    query += " WHERE p.is_done AND p.physics = ?"
    values: list[Any] = [PHYSICS_VERSION]
    with store.reading() as connection:
        numbers = dict(connection.execute("SELECT digest, id FROM cases ORDER BY id"))
        if cases is None:
            index = {number: i for i, number in enumerate(numbers.values())}
        else:
            index = {numbers[c.digest]: i for i, c in enumerate(cases) if c.digest in numbers}
            if len(index) <= _FEW:
                query += f" AND p.case_id IN ({', '.join('?' * len(index))})"
                values += index
        rows = connection.execute(query, values).fetchall()
    if cases is not None:
        rows = [row for row in rows if row[0] in index]
    found: dict[str, NDArray[Any]] = {
        "case": np.array([index[row[0]] for row in rows], dtype=np.int64)
    }
    # None becomes what is not a number, and "inf" infinity.
    table = np.array(rows, dtype=np.float64).reshape(len(rows), 3 + len(wanted))
    found["rpm"], found["converged"] = table[:, 1], table[:, 2] == 1.0
    for i, name in enumerate(wanted):
        found[name] = table[:, 3 + i]
    order = np.lexsort((found["rpm"], found["case"]))
    return {name: column[order] for name, column in found.items()}


@dataclass(frozen=True, slots=True)
class StoredCase:
    """
    A case of which there are results.

    Attributes
    ----------
    digest : str
        Of the canonical case.
    name : str
        Of the engine.
    fidelity : str
        ``wave`` or ``filling``.
    physics : int
        `PHYSICS_VERSION` of the results.
    n_done, n_failed : int
        Speeds with a result, and without.
    low, high : float
        Lowest and highest speed. [rpm]
    torque : float
        Highest torque; not a number where there is none. [N m]
    power : float
        Highest power. [W]
    date : str
        Of the latest result.
    given : dict
        What the case was made of: path, text or number.
    """

    digest: str
    name: str
    fidelity: str
    physics: int
    n_done: int
    n_failed: int
    low: float
    high: float
    torque: float
    power: float
    date: str
    given: dict[str, Any]


def stored_cases(store: Store) -> list[StoredCase]:
    """
    All cases of which there are results or failures.

    Parameters
    ----------
    store : Store
        Where they are.

    Returns
    -------
    list of StoredCase
        In the order in which they were first stored; those of another physics too.

    Raises
    ------
    StoreError
        If the store cannot be read.
    """
    with store.reading() as connection:
        rows = connection.execute(
            "SELECT c.digest, c.name, p.fidelity, p.physics, sum(p.is_done), sum(NOT p.is_done), "
            "min(p.rpm), max(p.rpm), max(p.torque), max(p.power), max(p.date), c.given FROM cases "
            "c JOIN points p ON p.case_id = c.id GROUP BY c.id, p.fidelity, p.physics ORDER BY c.id"
        ).fetchall()
    found = []
    for (
        digest,
        name,
        fidelity,
        physics,
        done,
        failed,
        low,
        high,
        torque,
        power,
        date,
        given,
    ) in rows:
        best = nan if torque is None else torque, nan if power is None else power
        place = (digest, name, fidelity, physics)
        found.append(StoredCase(*place, done, failed, low, high, *best, date, json.loads(given)))
    return found


def stored_failures(store: Store) -> list[tuple[str, str, float, str, str]]:
    """
    All points that gave no result.

    Parameters
    ----------
    store : Store
        Where they are.

    Returns
    -------
    list of tuple
        Digest and name of the case, speed [rpm], kind and reason.

    Raises
    ------
    StoreError
        If the store cannot be read.
    """
    with store.reading() as connection:
        return connection.execute(
            "SELECT c.digest, c.name, p.rpm, p.kind, p.reason FROM points p JOIN cases c ON c.id = "
            "p.case_id WHERE NOT p.is_done ORDER BY c.id, p.rpm"
        ).fetchall()


def origins(store: Store, case: Case, rpms: Iterable[float]) -> list[tuple[float, str, str]]:
    """
    When, and by which version of the program, stored results of a case were worked out.

    Parameters
    ----------
    store : Store
        Where they are.
    case : Case
        The engine.
    rpms : iterable of float
        Speeds that are meant. [rpm]

    Returns
    -------
    list of (float, str, str)
        Speed [rpm], date and time, version; rising in speed.

    Raises
    ------
    StoreError
        If the store cannot be read.
    """
    wanted = set(rpms)
    query = (
        "SELECT p.rpm, p.date, s.version FROM points p JOIN cases c ON c.id = p.case_id "
        "JOIN stamps s ON s.id = p.stamp_id WHERE c.digest = ? AND p.fidelity = ? "
        "AND p.physics = ? ORDER BY p.rpm"
    )
    with store.reading() as connection:
        rows = connection.execute(
            query, (case.digest, case.numerics.fidelity, PHYSICS_VERSION)
        ).fetchall()
    return [(rpm, date, version) for rpm, date, version in rows if rpm in wanted]
