"""How are charts drawn beside the work that leads to them, and by more than one processor?

Loading the plotting library takes as long as drawing two charts. A process of its own does it while
this one reads cases and results, and is handed what is to be drawn when that is known.
"""

from __future__ import annotations

import gc
import multiprocessing as mp
import os
import pickle
import signal
import sys
from contextlib import suppress
from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING, Any, Final, Self, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from multiprocessing.connection import Connection
    from pathlib import Path
    from types import TracebackType

    from matplotlib.figure import Figure

    from enginesim.report.typesetting import PrintedPage

CHART: Final = ("png", "svg")
PAGE: Final = ("pdf", "png")
_ROOM: Final = "enginesim.report"


def _has_copies() -> bool:
    """
    Whether copies of this process are to be had without starting anew.

    The typesetter works with threads, which a copy does not have: it would wait for them for ever.
    """
    return sys.platform == "linux" and "typst" not in sys.modules


@dataclass(frozen=True, slots=True)
class _Order:
    """A figure or a page that is wanted, and the files it is kept in."""

    name: str
    arguments: tuple[Any, ...]
    stem: Path
    kinds: tuple[str, ...]

    def made(self) -> Figure | PrintedPage:
        made: Figure | PrintedPage = getattr(import_module(f"{_ROOM}.{self.name}"), self.name)(
            *self.arguments
        )
        return made

    def paths(self) -> tuple[Path, ...]:
        return tuple(self.stem.with_name(f"{self.stem.name}.{kind}") for kind in self.kinds)


_File: TypeAlias = tuple[_Order, "Path"]


class Plotter:
    """
    A process that draws; it ends with the block.

    Parameters
    ----------
    figures : sequence of str
        Modules of this room that may have to draw, loaded in that process from now on. Each has a
        function of the same name, which gives a figure or a page.
    """

    def __init__(self, figures: Sequence[str]) -> None:
        # Two calls, not one with either word: a type checker sees what each gives.
        context = mp.get_context("fork") if _has_copies() else mp.get_context("spawn")
        self._orders: list[_Order] = []
        self._begun: list[list[_Order]] = []
        self._pipe, theirs = context.Pipe()
        self._process = context.Process(
            target=_serve, args=(theirs, self._pipe, tuple(figures)), daemon=True
        )
        self._process.start()
        theirs.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._pipe.close()
        self._process.kill()
        self._process.join()

    def draw(self, stem: Path, kinds: tuple[str, ...], name: str, *arguments: Any) -> None:
        """
        Have a figure drawn and kept, at the next :meth:`begin` or :meth:`finish`.

        Parameters
        ----------
        stem : Path
            Where to, without the ending.
        kinds : tuple of str
            Endings of the files: CHART or PAGE.
        name : str
            Which figure: module and function of this room.
        *arguments
            What it is called with.
        """
        self._orders.append(_Order(name, arguments, stem, kinds))

    def begin(self) -> None:
        """Begin to draw what was asked for, while this process does something else."""
        if not self._orders:
            return
        orders, self._orders = self._orders, []
        self._begun.append(orders)
        with suppress(ConnectionError):  # the process was lost: found out at the end
            self._pipe.send(orders)

    def finish(self) -> tuple[Path, ...]:
        """
        Draw and keep all that was asked for.

        Returns
        -------
        tuple of Path
            The files, each written whole or not at all.

        Raises
        ------
        OSError
            If a place cannot be written.
        """
        self.begin()
        begun, self._begun = self._begun, []
        errors = [self._ended(orders) for orders in begun]
        for error in errors:
            if error is not None:
                raise error
        return tuple(path for orders in begun for order in orders for path in order.paths())

    def _ended(self, orders: Sequence[_Order]) -> OSError | None:
        try:
            error: OSError | None = self._pipe.recv()
        except (EOFError, ConnectionError):
            # The process was lost, or what it drew has a fault that is better seen from here.
            error = _drawn(orders, is_shared=False)
        return error


def _serve(pipe: Connection, other_end: Connection, figures: tuple[str, ...]) -> None:
    """Draw what comes through the pipe until its other end is closed."""
    other_end.close()
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the one who waits for the charts decides
    gc.disable()  # what is loaded stays, and this process is short: a sixth of the loading
    for name in figures:
        import_module(f"{_ROOM}.{name}")
    with suppress(EOFError):
        while True:
            orders = pipe.recv()
            pipe.send(_drawn(orders, is_shared=_has_copies() and (os.cpu_count() or 1) > 1))


def _drawn(orders: Sequence[_Order], *, is_shared: bool) -> OSError | None:
    """Draw and keep; what hindered it."""
    files = [(order, path) for order in orders for path in order.paths()]
    return _kept_by_two(files) if is_shared and len(files) > 1 else _kept(files)


def _kept_by_two(files: Sequence[_File]) -> OSError | None:
    """
    Draw and keep files here from the first on, and in a copy of this process from the last on.

    They meet somewhere: of all figures one at most is made by both.
    """
    leave, giving = os.pipe()  # a byte for each file: whoever takes one may draw one more
    os.write(giving, bytes(len(files)))
    os.close(giving)
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        code = 1
        try:
            with os.fdopen(writing, "wb") as answer:
                pickle.dump(_kept(_allowed(reversed(files), leave)), answer)
            code = 0
        finally:
            os._exit(code)
    os.close(writing)
    error = _kept(_allowed(files, leave))
    os.close(leave)
    with os.fdopen(reading, "rb") as answer:
        other: OSError | None = pickle.load(answer)
    os.waitpid(child, 0)
    return error or other


def _allowed(files: Iterable[_File], leave: int) -> Iterator[_File]:
    """Files for as long as there is leave to take one more."""
    for file in files:
        if not os.read(leave, 1):
            return
        yield file


def _kept(files: Iterable[_File]) -> OSError | None:
    from enginesim.report.drawing import keep
    from enginesim.report.typesetting import PrintedPage

    order, made = None, None
    try:
        for wanted, path in files:
            if made is None or wanted is not order:
                order, made = wanted, wanted.made()
            if isinstance(made, PrintedPage):
                made.keep(path)
            else:
                keep(made, path)
    except OSError as error:
        return error
    return None
