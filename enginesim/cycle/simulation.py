"""How is one cycle run at one speed, and the spark set for the next?"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

import numpy as np

from enginesim.base.errors import CycleError
from enginesim.cycle.inventory import Balance, balance, reset_sums, stock
from enginesim.cycle.marching import march_to
from enginesim.cycle.probes import places, port_cells
from enginesim.cycle.spark import ClosedParts, best_spark, knock_limited_spark
from enginesim.formulas.crank import swept_volume
from enginesim.kernels import cylinder_layout as cl
from enginesim.kernels import layout as at
from enginesim.kernels import status as word
from enginesim.kernels.sampling import cylinder_volumes
from enginesim.network.engine import Engine, build

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from enginesim.case.tree import Case
    from enginesim.gas.tables import GasTables
    from enginesim.network.engine import Prepared

CYCLE = 4.0 * math.pi
N_SAMPLE = 721  # one a degree, both ends of the cycle included
CHUNK = math.radians(90.0)  # marched at one call: between calls a run can be cancelled
SPARK_TOLERANCE = math.radians(0.1)
NEAR = math.radians(2.0)  # a search that moved the spark less begins the next one at close hand
BOLD_CYCLES = 4  # from then on the spark goes half the way: whole steps can keep cycles alternating
#: Steps of an engine without ducts over the case's: their error in filling stays below 0.05 % [-].
WITHOUT_WAVES = 2.5
NEARLY_PERIODIC = 1e-3  # imbalance below which the charge hardly changes: the spark may rest

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
    run.books = balance(network, state, before, after, run.tables.lower_heating_value)
    work = float(state.cyl[:, cl.C_WORK].sum())
    run.history.append((work / run.displacement, run.books.imbalance))


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


def typical_parts(run: Run) -> ClosedParts:
    """
    Closed parts of the cylinders that decide the spark.

    Parameters
    ----------
    run : Run
        A run with at least one cycle.

    Returns
    -------
    ClosedParts
        The cylinder nearest to knock and the one that trapped least: the best spark of all lies
        between theirs, and in a V8 the search costs a quarter of one over all cylinders. Those of
        earlier cycles stay, or the spark could swing between two that knock in turn.
    """
    cyl = run.engine.state.cyl
    if len(run.history) == 1:
        # Most cylinders were still filled by the first state: take the last one to close.
        closing = np.mod(run.engine.network.phase + cyl[:, cl.C_IVC_ANGLE], CYCLE)
        rows = [int(np.argmax(closing))]
    else:
        worst = int(np.argmax(cyl[:, cl.C_LAST_KNOCK]))
        least = int(np.argmin(cyl[:, cl.C_IVC_AIR]))
        run.watched.update((worst, least))
        rows = sorted(run.watched)
    return ClosedParts(
        np.ascontiguousarray(cyl[rows]),
        np.ascontiguousarray(run.par[rows]),
        run.engine.network.gas,
        run.omega,
        np.array([_work_after_opening(run, c) for c in rows]),
    )


def _work_after_opening(run: Run, c: int) -> float:
    """
    Work from exhaust opening to bottom dead centre per pressure at the opening. [m3].

    Of the last cycle: the pressure then falls much the same way whatever it began from, so that
    another spark's share follows from its pressure at the opening.
    """
    network = run.engine.network
    opening = run.engine.state.cyl[c, cl.C_EVO_P]
    own = np.radians(np.arange(math.ceil(math.degrees(run.par[c, cl.P_EVO])), 181.0))
    if opening <= 0.0 or len(own) < 2:
        return 0.0
    samples = np.rint((network.phase[c] + own) / CYCLE * (N_SAMPLE - 1)).astype(int)
    p = run.tape[samples % (N_SAMPLE - 1), c * at.K_PER_CYLINDER + at.K_P]
    volume = np.empty((1, len(own)))
    cylinder_volumes(volume, run.par[c : c + 1], np.zeros(1), own)
    return float(np.sum(0.5 * (p[1:] + p[:-1]) * np.diff(volume[0])) / opening)


def adjust_spark(run: Run) -> bool:
    """
    Move the spark to where the case wants it, from what the cylinders trapped last.

    Parameters
    ----------
    run : Run
        The simulation.

    Returns
    -------
    bool
        Whether the spark has come to rest.

    Raises
    ------
    CycleError
        If the closed part breaks down.
    """
    mode = run.case.spark.mode
    if mode == "schedule" or run.has_settled:
        return True
    parts = typical_parts(run)
    old = float(run.par[0, cl.P_SPARK])
    new = best_spark(parts, old, is_near=run.is_spark_near)
    if mode == "knock limited":
        new = knock_limited_spark(parts, new)
    move = new - old
    run.has_settled = abs(move) < SPARK_TOLERANCE and run.history[-1][1] < NEARLY_PERIODIC
    run.is_spark_near = abs(move) < NEAR
    run.par[:, cl.P_SPARK] = old + (move if len(run.history) <= BOLD_CYCLES else 0.5 * move)
    return run.has_settled
