"""How is one cycle run at one speed, and the spark set for the next?"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

import numpy as np

from enginesim.base.errors import CycleError
from enginesim.cycle.inventory import Balance, Stock, balance, reset_sums, stock
from enginesim.cycle.marching import march_to
from enginesim.cycle.probes import places, port_cells
from enginesim.formulas.crank import swept_volume
from enginesim.kernels import cylinder_layout as cl
from enginesim.kernels import layout as at
from enginesim.kernels import status as word
from enginesim.network.engine import Engine, build

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from enginesim.case.tree import Case
    from enginesim.gas.tables import GasTables
    from enginesim.network.engine import Prepared

CYCLE = 4.0 * math.pi
N_SAMPLE = 721  # one a degree, both ends of the cycle included
CHUNK = math.radians(90.0)  # marched at one call: between calls a run can be cancelled
#: Steps of an engine without ducts over the case's: their error in filling stays below 0.05 % [-].
WITHOUT_WAVES = 2.5

_TROUBLES = {
    word.BAD_DUCT: "no valid gas state",
    word.BAD_VOLUME: "a volume ran empty or out of its temperature range",
    word.NEGATIVE_MASS: "lost more gas than it had",
    word.NEGATIVE_ENERGY: "energy that belongs to no temperature",
    word.NO_CONVERGENCE: "its gas state was not found",
}


class Cancel(Protocol):
    """Tells a run to stop: an event of :mod:`threading` does."""

    def is_set(self) -> bool:
        """Whether to stop."""


class CancelledError(CycleError):
    """The run was told to stop."""


@dataclass
class Run:
    """
    A simulation under way at one speed.

    Attributes
    ----------
    case : Case
        What runs.
    engine : Engine
        Its arrays.
    tables : GasTables
        Its gas.
    rpm : float
        Engine speed. [rpm]
    par : ndarray, shape (n_cylinder, N_PARAMETER)
        Parameters of the cylinders, with the present spark.
    tape : ndarray, shape (N_SAMPLE, n_channel)
        Samples of the last cycle.
    places : ndarray, shape (n,)
        Duct cells that go on the tape.
    settings : ndarray, shape (N_SETTING,)
        What the march wants to know.
    history : list of (float, float)
        Mean effective pressure [Pa] and imbalance of each cycle.
    n_rough : int
        How many of them were on the rough mesh.
    books : Balance
        Of the last cycle.
    is_spark_near : bool
        Whether the last search moved the spark little.
    has_settled : bool
        Whether the spark has come to rest.
    watched : set of int
        Cylinders that decide the spark.
    stocks : list of Stock
        At the ends of the last two cycles and at their beginning.
    works : list of ndarray, shape (n_cylinder,)
        Of each cycle. [J]
    spark_move : float
        What the last search would have moved the spark by. [rad]
    spark_share : float
        Part of it that the spark was moved by: halved with every change of its mind. [-]
    """

    case: Case
    engine: Engine
    tables: GasTables
    rpm: float
    par: NDArray[np.float64]
    tape: NDArray[np.float64]
    places: NDArray[np.int64]
    settings: NDArray[np.float64]
    history: list[tuple[float, float]] = field(default_factory=list)
    n_rough: int = 0
    books: Balance | None = None
    is_spark_near: bool = False
    has_settled: bool = False
    watched: set[int] = field(default_factory=set)
    stocks: list[Stock] = field(default_factory=list)
    works: list[NDArray[np.float64]] = field(default_factory=list)
    spark_move: float = 0.0
    spark_share: float = 1.0

    def gain(self, length: int) -> float:
        """
        Largest gain of mass of any volume, any cylinder or all ducts over the last cycles.

        Parameters
        ----------
        length : int
            Over how many: 1 or 2. [-]

        Returns
        -------
        float
            Gain for each of them, over the air; infinite if there were fewer. [-]
        """
        if self.books is None or len(self.stocks) <= length:
            return math.inf
        gain = self.stocks[-1].gain(self.stocks[-1 - length])
        return gain / max(abs(self.books.air), 1e-12) / length

    @property
    def omega(self) -> float:
        """Crank speed. [rad/s]."""
        return self.rpm * math.pi / 30.0

    @property
    def spark(self) -> float:
        """Spark before top dead centre. [rad]."""
        return float(-self.par[0, cl.P_SPARK])

    @property
    def displacement(self) -> float:
        """Of all cylinders. [m3]."""
        block = self.case.block
        return swept_volume(block.bore, block.stroke, block.n_cylinders)


def begin(
    case: Case,
    tables: GasTables,
    rpm: float,
    prepared: Prepared | None = None,
    *,
    traces: bool = False,
) -> Run:
    """
    Set up a simulation at one speed.

    Parameters
    ----------
    case : Case
        A loaded case.
    tables : GasTables
        Gas at this speed's mixture.
    rpm : float
        Engine speed. [rpm]
    prepared : Prepared, optional
        What does not depend on the speed, if at hand.
    traces : bool
        Write down every duct cell; only those at the intake valves else.

    Returns
    -------
    Run
        Before its first cycle.
    """
    engine = build(case, tables, rpm, prepared)
    numerics = case.numerics
    settings = np.zeros(at.N_SETTING)
    settings[at.S_OMEGA] = rpm * math.pi / 30.0
    settings[at.S_CFL] = numerics.cfl
    settings[at.S_MAX_STEP] = numerics.crank_step
    if engine.network.coupling is not None:
        settings[at.S_MAX_STEP] *= WITHOUT_WAVES
    settings[at.S_SAMPLE] = CYCLE / (N_SAMPLE - 1)
    cells = places(engine.network)
    if not traces:
        cells = cells[port_cells(engine.network)[0]]
    return Run(
        case=case,
        engine=engine,
        tables=tables,
        rpm=rpm,
        par=engine.network.par.copy(),
        tape=blank_tape(engine, len(cells)),
        places=cells,
        settings=settings,
    )


def blank_tape(engine: Engine, n_cells: int) -> NDArray[np.float64]:
    """
    Room for the samples of one cycle.

    Parameters
    ----------
    engine : Engine
        Its arrays.
    n_cells : int
        Duct cells that go on it. [-]

    Returns
    -------
    ndarray, shape (N_SAMPLE, n_channel)
        Zeros. [-]
    """
    return np.zeros((N_SAMPLE, engine.state.lines.shape[1] + 3 * n_cells))


def run_cycle(run: Run, cancel: Cancel | None = None) -> None:
    """
    March one whole cycle and close its books.

    Parameters
    ----------
    run : Run
        The simulation, one cycle older afterwards.
    cancel : Cancel, optional
        Asked between chunks.

    Raises
    ------
    CycleError
        If a step fails however small; the message names the place.
    CancelledError
        If the run was told to stop.
    """
    network, state = run.engine.network, run.engine.state
    reset_sums(network, state)
    before = stock(network, state)
    state.clock[at.T_THETA] = 0.0
    for stop in np.arange(1, round(CYCLE / CHUNK) + 1) * CHUNK:
        if cancel is not None and cancel.is_set():
            msg = f"{run.rpm:.0f} rpm: stopped in cycle {len(run.history) + 1}"
            raise CancelledError(msg)
        result = march_to(run, float(min(stop, CYCLE)))
        if result[0] != word.OK:
            raise CycleError(_trouble(run, *result))
    after = stock(network, state)
    run.stocks = [*run.stocks[-2:], after] if run.stocks else [before, after]
    run.books = balance(network, state, before, after, run.tables.lower_heating_value)
    run.works.append(state.cyl[:, cl.C_WORK].copy())
    work = float(run.works[-1].sum())
    run.history.append((work / run.displacement, run.books.imbalance))


def kept(run: Run) -> Callable[[], None]:
    """
    Keep all that a cycle changes of a run.

    Parameters
    ----------
    run : Run
        Between two cycles.

    Returns
    -------
    callable
        Puts the run back to where it was.
    """
    state = run.engine.state
    arrays = (state.x, state.tables, state.clock, run.tape, run.settings)
    copies = [array.copy() for array in arrays]
    history, stocks = list(run.history), list(run.stocks)
    works, books = list(run.works), run.books

    def put_back() -> None:
        for array, copy in zip(arrays, copies, strict=True):
            array[:] = copy
        run.history, run.stocks, run.works, run.books = history, stocks, works, books

    return put_back


def _trouble(run: Run, status: int, element: int, cell: int) -> str:
    network, state = run.engine.network, run.engine.state
    when = (
        f"at {math.degrees(state.clock[at.T_THETA]):.1f} deg of cycle {len(run.history) + 1}, "
        f"{run.rpm:.0f} rpm"
    )
    if status == word.BAD_DUCT and element >= 0:
        duct = network.plan.ducts[element]
        place = 1e3 * (cell + 0.5) * network.meshes[element].dx
        where = f"{duct.name}, {place:.0f} mm from its start"
    elif status == word.BAD_VOLUME:
        t = state.res[:, at.V_T]
        worst = int(np.argmax(np.where(np.isfinite(t), np.abs(t - 800.0), np.inf)))
        where = network.plan.volumes[worst].name
    elif element >= 0:
        where = f"cylinder {element + 1}"
    else:
        where = "engine"
    return f"{where}: {_TROUBLES.get(status, 'failed')} {when}"
