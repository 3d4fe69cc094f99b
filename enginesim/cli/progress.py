"""How does somebody who waits see how far a curve is?"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, Final

import click

Expect = Callable[[int], None]
Tell = Callable[[str], None]

COMPILING: Final = "compiling, once on this machine: up to a minute ..."
_STARTING: Final = "starting ..."
_BAR: Final = 16  # length of the bar [-]


@contextmanager
def progress() -> Iterator[tuple[Expect, Tell]]:
    """
    Show a bar on a terminal, a line for each speed anywhere else; on the error stream.

    Until the first speed is done there is no telling how long the rest takes: the bar has no
    length and no count, and says what is being waited for.

    Yields
    ------
    tuple of callable
        One to tell how many more are expected, one to tell that one is done.
    """
    if not sys.stderr.isatty():
        yield _announce, (lambda line: click.echo(line, err=True))
        return
    bar = _Bar()
    try:
        yield bar.expect, bar.tell
    finally:
        bar.close()


def _announce(_: int) -> None:
    if _is_to_compile():
        click.echo(COMPILING, err=True)
        _compile_ahead()


def _is_to_compile() -> bool:
    # Whoever expects a run has loaded the kernels, or is about to.
    from enginesim.base.jit import is_cached

    return not is_cached()


def _compile_ahead() -> None:
    from enginesim.cycle.compiling import compile_beside

    compile_beside()


class _Bar:
    """A bar that begins with the first that is expected, and has a length with the first done."""

    def __init__(self) -> None:
        self._expected = self._done = 0
        self._shown: Any = None
        self._task: Any = None

    def expect(self, n: int) -> None:
        self._expected += n
        if self._shown is None:
            self._begin()
        self._update()

    def tell(self, line: str) -> None:
        self._done += 1
        self._update(line)

    def close(self) -> None:
        if self._shown is not None:
            self._shown.stop()

    def _begin(self) -> None:
        from rich.console import Console
        from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

        self._shown = Progress(
            TextColumn("{task.description}"),
            BarColumn(_BAR),
            TextColumn("{task.fields[count]}"),
            TimeElapsedColumn(),
            console=Console(stderr=True),
            transient=True,
        )
        is_to_compile = _is_to_compile()
        words = COMPILING if is_to_compile else _STARTING
        self._task = self._shown.add_task(words, total=None, count="")
        self._shown.start()
        if is_to_compile:
            _compile_ahead()

    def _update(self, line: str | None = None) -> None:
        if self._shown is None or not self._done:
            return
        self._shown.update(
            self._task,
            total=self._expected,
            completed=self._done,
            count=f"{self._done}/{self._expected}",
            description=line,
        )
