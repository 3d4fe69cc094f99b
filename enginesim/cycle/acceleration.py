"""Where does the next cycle begin, so that cycles become periodic in fewer of them?"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from enginesim.cycle.mixing import Mixing
from enginesim.kernels import layout as at
from enginesim.network.lumps import Lumps
from enginesim.network.rough import refined
from enginesim.network.snapshot import Snapshot, mixed, put, taken
from enginesim.network.streams import Streams

if TYPE_CHECKING:
    from enginesim.cycle.simulation import Run

Array = NDArray[np.float64]

_UNSETTLED = 1  # cycles from a first state that say nothing of the later ones
_TRANSIENT = 4  # periods after these whose steps lie too far from the later ones to be mixed
_REST = 1  # plain cycles after a start that was left again
_MOST_FAILURES = 2  # starts from which a cycle broke down before no more are tried
_LIMIT = 0.25  # a start further from the plain one than this is cut, relative [-]


class Acceleration:
    """
    Chooses where each cycle begins, from what the last ones did.

    Cycles themselves stay as they are, and only they can be periodic: a start that does not bring
    the engine nearer to rest is left again for where the plain cycles stood.

    Parameters
    ----------
    run : Run
        What is to be brought to rest.
    length : int
        Cycles after which the engine is to return to the same state: 2 where they alternate. [-]
    mixing : Mixing, optional
        What is known of the engine's steps from another mesh.

    Attributes
    ----------
    ahead : float
        How far the mean effective pressure of the last cycle is from its end; not a number while
        nothing can be told. [Pa]

    Notes
    -----
    The residual is what :meth:`enginesim.network.streams.Streams.foreseen` expects a state to
    change by in the end, so that the slow transport of gas is all but solved; what that misses is
    left to :class:`enginesim.cycle.mixing.Mixing` on the state of every duct, volume and cylinder.
    """

    def __init__(self, run: Run, length: int = 1, mixing: Mixing[Snapshot] | None = None) -> None:
        self.length = length
        self.ahead = math.nan
        self._streams, self._lumps = Streams(run.engine.network), Lumps(run.engine.network)
        self._mixing: Mixing[Snapshot] = Mixing() if mixing is None else mixing
        self._start: Snapshot | None = None
        self._plain: Snapshot | None = None
        self._image: Snapshot | None = None
        self._factors = self._change = np.zeros(0)
        self._waiting = 0 if run.history else _UNSETTLED
        self._passed = 0
        self._known = _TRANSIENT if run.history else 0
        self._flows = np.zeros((2, len(run.par)))
        self._is_moved = self._is_left = False
        self._failures = 0

    @property
    def known(self) -> Mixing[Snapshot]:
        """What has been learned of the engine's steps."""
        return self._mixing

    @property
    def is_whole(self) -> bool:
        """Whether the last cycle ended a period."""
        return self._passed == 0

    def begin(self, run: Run) -> None:
        """
        Take note of where a cycle begins.

        Parameters
        ----------
        run : Run
            Between two cycles.
        """
        if self._passed == 0:
            self._start = taken(run.engine.network, run.engine.state)
            self._flows[:] = 0.0

    def note(self, run: Run) -> None:
        """
        Take note of a cycle that has been run.

        Parameters
        ----------
        run : Run
            After the cycle; nothing of it is changed.
        """
        self._flows += _forward_flows(run)
        self._passed = (self._passed + 1) % self.length
        if self._passed or self._start is None or run.books is None:
            return
        state = run.engine.state
        self._plain = taken(run.engine.network, state)
        image = self._streams.foreseen(state, self._start, self._plain, self._flows)
        share = max(abs(run.books.air), 1e-12) / len(run.par)
        then, now, ahead = (
            self._lumps.values(each, share) for each in (self._start, self._plain, image)
        )
        self._change = now - then
        self.ahead = math.nan
        self._is_left = self._is_moved and self._mixing.is_worse(ahead - then)
        if self._waiting > 0 or self._is_left:
            return
        mep = float(np.mean([mep for mep, _ in run.history[-self.length :]]))
        self._image = image
        self._known += 1
        if self._known <= _TRANSIENT:
            self._mixing = Mixing()
        self._mixing.add(ahead - then, image, mep)
        self._factors = self._mixing.factors()
        self.ahead = self._mixing.output_ahead(self._factors)

    def move(self, run: Run) -> None:
        """
        Put the engine where the next cycle is to begin.

        Parameters
        ----------
        run : Run
            After :meth:`note`.
        """
        if self._passed or self._plain is None:
            return
        network, state = run.engine.network, run.engine.state
        if self._is_left:
            self._leave(run, _REST)
            return
        self._is_moved = False
        if self._waiting > 0:
            self._waiting -= 1
            return
        if self._failures >= _MOST_FAILURES or self._image is None:
            return
        steps = [
            (float(factor), step.first, step.second)
            for factor, step in zip(
                self._factors,
                self._mixing.steps[len(self._mixing.steps) - len(self._factors) :],
                strict=True,
            )
        ]
        put(network, state, mixed(self._image, steps, _LIMIT))
        self._is_moved = True

    def recover(self, run: Run) -> bool:
        """
        Go back to where the plain cycles stood after a cycle that broke down.

        Parameters
        ----------
        run : Run
            In the middle of a cycle.

        Returns
        -------
        bool
            False if there is nothing to go back to, or going back was of no use.
        """
        if self._plain is None or self._failures > _MOST_FAILURES:
            return False
        self._failures += 1
        run.engine.state.clock[at.T_THETA] = 0.0
        self._leave(run, _REST)
        return True

    def _leave(self, run: Run, rest: int) -> None:
        if self._plain is not None:
            put(run.engine.network, run.engine.state, self._plain)
        self._mixing.forget()
        self._is_moved, self._waiting, self._passed = False, rest, 0

    @property
    def restless(self) -> str:
        """What moved most in the last period, in words."""
        return self._lumps.largest(self._change) if len(self._change) else "everything"


def _forward_flows(run: Run) -> Array:
    """Masses that went forward through intake and exhaust valves in the last cycle [kg]."""
    n = len(run.par)
    tape = run.tape[:-1, : n * at.K_PER_CYLINDER].reshape(-1, n, at.K_PER_CYLINDER)
    step = 4.0 * math.pi / run.omega / len(tape)
    forward = np.maximum(tape[:, :, [at.K_INTAKE, at.K_EXHAUST]], 0.0).sum(axis=0)
    return np.asarray(step * forward.T, dtype=np.float64)


def carried(acceleration: Acceleration, rough: Run, run: Run) -> Acceleration:
    """
    Go on with what was learned on a rough mesh.

    Parameters
    ----------
    acceleration : Acceleration
        Of the rough run.
    rough, run : Run
        The same engine on its two meshes.

    Returns
    -------
    Acceleration
        For the proper mesh: how an engine answers hardly depends on the mesh.
    """
    meshes = (rough.engine.network, run.engine.network)
    known = acceleration.known.carried(lambda image: refined(meshes[0], image, meshes[1]))
    return Acceleration(run, acceleration.length, known)
