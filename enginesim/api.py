"""The public functions that join several rooms: a case, a speed, and what comes of them."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable
from typing import TYPE_CHECKING, Any

from enginesim import cycle, performance
from enginesim.base.errors import ResultError
from enginesim.cycle.curves import tables_of

if TYPE_CHECKING:
    import threading

    from enginesim.case import Case
    from enginesim.cycle import CycleRecord
    from enginesim.gas import GasTables
    from enginesim.performance import Curve, Performance


def gas_tables(case: Case, rpm: float) -> GasTables:
    """
    Gas of a case at the mixture of one speed.

    Parameters
    ----------
    case : Case
        A loaded case.
    rpm : float
        Engine speed. [rpm]

    Returns
    -------
    GasTables
        Air, fuel vapour and burned gas.

    Raises
    ------
    GasError
        If there is no such gas, such as for a mixture that does not burn.

    Examples
    --------
    >>> import enginesim
    >>> case = enginesim.load("cases/teaching-single.toml")
    >>> print(f"{enginesim.gas_tables(case, 3000.0).r_gas[0]:.1f} J/(kg K)")
    287.0 J/(kg K)
    """
    return tables_of(case, rpm)


def summarise(record: CycleRecord) -> Performance:
    """
    Torque, power, breathing, fuel and heat of a simulated cycle.

    Parameters
    ----------
    record : CycleRecord
        What :func:`enginesim.simulate` gave back; it knows its case.

    Returns
    -------
    Performance
        All results at this speed, in SI.

    Raises
    ------
    ResultError
        If the record was made without a case.
    """
    case = record.case
    if case is None:
        raise ResultError(f"record at {record.rpm:g} rpm: it has no case (was it simulated?)")
    return performance.summarise(case, tables_of(case, record.rpm), record)


def curve(
    case: Case,
    rpms: Iterable[float] | float,
    *,
    jobs: int | None = None,
    on_done: Callable[[CycleRecord], None] | None = None,
    cancel: threading.Event | None = None,
    traces: Collection[float] = (),
) -> Curve:
    """
    Simulate a case at many speeds, several at a time.

    Parameters
    ----------
    case : Case
        A loaded case.
    rpms : float or iterable of float
        Engine speeds, or a single one. [rpm]
    jobs : int, optional
        Speeds under way at a time; as many as there are processors if left out. [-]
    on_done : callable, optional
        Gets each record as it is finished.
    cancel : threading.Event, optional
        Set it to stop.
    traces : collection of float
        Speeds whose duct cells are kept in their records. [rpm]

    Returns
    -------
    Curve
        Every result as an array over speed.

    Raises
    ------
    CycleError
        If a speed fails.
    ResultError
        If a speed is not a positive number, or none was finished.

    Examples
    --------
    >>> import enginesim
    >>> case = enginesim.load("cases/teaching-single.toml")
    >>> result = enginesim.curve(case, [2000.0, 3000.0])
    >>> result["torque"].shape
    (2,)
    """
    speeds: list[Any] = list(rpms) if isinstance(rpms, Iterable) else [rpms]
    wrong = [repr(rpm) for rpm in speeds if isinstance(rpm, str) or not 0.0 < rpm < math.inf]
    if wrong or not speeds:
        got = ", ".join(wrong) or "none"
        raise ResultError(f"engine speeds: got {got}; expected positive numbers in rpm")
    records = cycle.curve(case, speeds, jobs=jobs, on_done=on_done, cancel=cancel, traces=traces)
    return performance.Curve(summarise(record) for record in records)
