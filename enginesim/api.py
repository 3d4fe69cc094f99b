"""The public functions that join several rooms: a case, a speed, and what comes of them."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from typing import TYPE_CHECKING

from enginesim import cycle, performance
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


def summarise(case: Case, record: CycleRecord) -> Performance:
    """
    Torque, power, breathing, fuel and heat of a simulated cycle.

    Parameters
    ----------
    case : Case
        The case that was simulated.
    record : CycleRecord
        What :func:`enginesim.simulate` gave back.

    Returns
    -------
    Performance
        All results at this speed, in SI.
    """
    return performance.summarise(case, tables_of(case, record.rpm), record)


def curve(
    case: Case,
    rpms: Sequence[float],
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
    rpms : sequence of float
        Engine speeds. [rpm]
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
        If no speed was finished.

    Examples
    --------
    >>> import enginesim
    >>> case = enginesim.load("cases/teaching-single.toml")
    >>> result = enginesim.curve(case, [2000.0, 3000.0])
    >>> result["torque"].shape
    (2,)
    """
    records = cycle.curve(case, rpms, jobs=jobs, on_done=on_done, cancel=cancel, traces=traces)
    return performance.Curve(summarise(case, record) for record in records)
