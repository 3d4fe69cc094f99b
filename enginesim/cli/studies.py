"""What `sweep` and `search` share: options, running with somebody waiting, showing, writing."""

from __future__ import annotations

import re
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from enginesim.cli.obtaining import store_options
from enginesim.cli.ranges import Real, Whole
from enginesim.cli.screen import screen_width

if TYPE_CHECKING:
    import threading

    from enginesim.case import Case
    from enginesim.report.plotter import Plotter
    from enginesim.report.units import System
    from enginesim.study.evaluation import Done, Evaluation
    from enginesim.study.jobs import Pool
    from enginesim.study.limits import Aim
    from enginesim.study.progress import Progress
    from enginesim.study.reading import Options, Plan
    from enginesim.study.store import Store
    from enginesim.study.trials import Trial

#: Charts that a study may have.
FIGURES: Final = (
    "map_figure",
    "effects_figure",
    "tornado_figure",
    "parallel_figure",
    "front_figure",
    "best_figure",
)
_TOLD = 5.0  # between two lines of progress where there is no terminal [s]


def study_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options that both commands have."""
    path = click.Path(path_type=Path)
    file = click.Path(dir_okay=False, path_type=Path)
    texts: dict[str, Any] = {"multiple": True}
    options = (
        click.argument("file", type=path),
        click.option(
            "--vary",
            **texts,
            metavar="FIELD=VALUES",
            help="What is varied: first:last:step or a list, with its unit; part files for a part.",
        ),
        click.option(
            "--link",
            **texts,
            metavar="FIELD=FORMULA",
            help="A field that follows: factor * variable + offset.",
        ),
        click.option(
            "--aim",
            **texts,
            metavar="MEASURE",
            help="What is wanted, such as 'average torque 2000-3500' or 'least average bsfc'.",
        ),
        click.option(
            "--limit", **texts, metavar="LIMIT", help="What must hold, such as 'overlap <= 40 deg'."
        ),
        click.option("--show", **texts, metavar="MEASURE", help="What is worked out besides."),
        click.option(
            "--rpm",
            default="",
            metavar="SPEC",
            help="Speeds of each engine, as in `run`.  [default: 2000:6000:500]",
        ),
        click.option(
            "--set",
            "overrides",
            **texts,
            metavar="PATH=VALUE",
            help="Override a field of all engines.",
        ),
        click.option(
            "--vehicle", default="", metavar="FILE", help="Vehicle for acceleration times."
        ),
        click.option(
            "--fidelity",
            type=click.Choice(["wave", "filling"]),
            help="With waves in the ducts, or without.  [default: as the case says]",
        ),
        click.option(
            "--seed",
            type=Whole(0, 2**32 - 1),
            help="Beginning of all random numbers.  [default: 1]",
        ),
        store_options,
        click.option(
            "--cluster",
            metavar="ADDRESS",
            help="Run on a Dask cluster: tcp://host:port, or local:N.",
        ),
        click.option(
            "--nice",
            type=Whole(0, 19),
            default=0,
            help="Leave the machine to others by so much.",
        ),
        click.option(
            "--time-limit",
            type=Real(min=0.1),
            metavar="SECONDS",
            help="Give up a speed after this time.",
        ),
        click.option("--log", type=file, help="Add a line for each run to this file."),
        click.option("--csv", "csv_file", type=file, help="Write every engine as CSV."),
        click.option(
            "--out",
            type=click.Path(file_okay=False, path_type=Path),
            metavar="DIR",
            help="Write charts, CSV and the study itself into a folder.",
        ),
        click.option(
            "--top",
            type=Whole(1, 100),
            default=5,
            show_default=True,
            help="Engines shown and drawn.",
        ),
        click.option("--units", type=click.Choice(["us", "si"]), default="us", show_default=True),
    )
    for option in reversed(options):
        command = option(command)
    return command


@dataclass(slots=True)
class Asked:
    """
    The common options, as click gives them.

    Attributes
    ----------
    file : Path
        Case or study.
    store_file : Path or None
        Where results are kept.
    """

    file: Path
    vary: tuple[str, ...]
    link: tuple[str, ...]
    aim: tuple[str, ...]
    limit: tuple[str, ...]
    show: tuple[str, ...]
    rpm: str
    overrides: tuple[str, ...]
    vehicle: str
    fidelity: str | None
    seed: int | None
    store_file: Path | None
    no_store: bool
    jobs: int | None
    cluster: str | None
    nice: int
    time_limit: float | None
    log: Path | None
    csv_file: Path | None
    out: Path | None
    top: int
    units: System
    numbers: dict[str, int | None] = field(default_factory=dict)

    def options(self) -> Options:
        """What of it belongs to the study."""
        from enginesim.study.reading import Options

        overrides = self.overrides
        if self.fidelity is not None:
            overrides = (*overrides, f"numerics.fidelity={self.fidelity}")
        return Options(
            vary=self.vary,
            link=self.link,
            limit=self.limit,
            aim=self.aim,
            show=self.show,
            overrides=overrides,
            rpm=self.rpm,
            vehicle=self.vehicle,
            seed=self.seed,
            **self.numbers,
        )

    def plan(self) -> Plan:
        """The study, after the places to write to were looked at."""
        from enginesim.cli.paths import require_apart, require_writable
        from enginesim.study.reading import load

        if self.store_file is not None and self.no_store:
            raise click.UsageError("--store and --no-store: one of the two")
        files = {"--csv": self.csv_file, "--log": self.log}
        for option, place in (*files.items(), ("--out", self.out)):
            require_writable(option, place)
        plan = load(self.file, self.options())
        names = ("engines.csv", "study.toml")
        require_apart(
            files, out=self.out, names=names, store=self.store_file, no_store=self.no_store
        )
        return plan


@contextmanager
def plotting(asked: Asked) -> Iterator[Plotter | None]:
    """
    A process that loads what it takes to draw, while this one reads and asks.

    Parameters
    ----------
    asked : Asked
        What was typed.

    Yields
    ------
    Plotter or None
        None where no charts are wanted.
    """
    if asked.out is None:
        yield None
        return
    from enginesim.report.plotter import Plotter

    with Plotter(FIGURES) as plotter:
        yield plotter


@contextmanager
def evaluating(asked: Asked, plan: Plan, aim: Aim) -> Iterator[tuple[Evaluation, Teller]]:
    """
    Store, processes and progress around the judging of engines.

    Parameters
    ----------
    asked : Asked
        What was typed.
    plan : Plan
        The study.
    aim : Aim
        Whose best is told meanwhile.

    Yields
    ------
    tuple of Evaluation and Teller
        To be used inside the block.
    """
    from enginesim.study.evaluation import Evaluation
    from enginesim.study.pool import stopping
    from enginesim.study.store import Store

    opened = nullcontext(None) if asked.no_store else Store.open(asked.store_file)
    with opened as store, stopping() as cancel:
        teller = Teller(plan, aim, asked.units)
        workers = _Workers(asked, store, cancel, teller)
        try:
            yield Evaluation(plan, store, workers.run), teller
        finally:
            workers.close()
            teller.close()


class _Workers:
    """Processes, started when the first run is needed and kept until the end."""

    def __init__(
        self, asked: Asked, store: Store | None, cancel: threading.Event, teller: Teller
    ) -> None:
        self.asked, self.store, self.cancel, self.teller = asked, store, cancel, teller
        self._opened: Any = None
        self._pool: Pool | None = None

    def run(self, points: Iterable[tuple[Case, float]], total: int, done: Done) -> None:
        from enginesim.study.pool import open_pool, run_points

        if self.cancel.is_set():
            return
        if self._pool is None:
            asked = self.asked
            self._opened = open_pool(asked.cluster, jobs=asked.jobs, nice=asked.nice)
            self._pool = self._opened.__enter__()
        run_points(
            points,
            store=self.store,
            pool=self._pool,
            time_limit=self.asked.time_limit,
            on_done=done,
            on_progress=self.teller.progress,
            cancel=self.cancel,
            log=self.asked.log,
            total=total,
        )

    def close(self) -> None:
        if self._opened is not None:
            self._opened.__exit__(None, None, None)


class Teller:
    """
    Says on the error stream how far it is and what the best engine is so far.

    Parameters
    ----------
    plan : Plan
        The study.
    aim : Aim
        What is wanted.
    units : {"us", "si"}
        Units.
    """

    def __init__(self, plan: Plan, aim: Aim, units: System) -> None:
        self._study, self._aim, self._units = plan.study, aim, units
        self._i = self._study.measures.index(aim.measure)
        self._best: Trial | None = None
        self._is_screen = sys.stderr.isatty()
        self._told = time.monotonic()
        self._is_open = False

    def trial(self, trial: Trial) -> None:
        """Note an engine that is judged."""
        if trial.status != "good":
            return
        cost = self._aim.cost
        if self._best is None or cost(trial.numbers[self._i]) < cost(self._best.numbers[self._i]):
            self._best = trial

    def progress(self, progress: Progress) -> None:
        """Say how far it is: on a terminal in place, elsewhere now and then."""
        now = time.monotonic()
        if self._is_screen:
            line = _fitting(f"{progress.line()}{self._leader()}", screen_width() - 1)
            click.echo(f"\r\x1b[2K{line}", nl=False, err=True)
            self._is_open = True
        elif now - self._told > _TOLD:
            self._told = now
            click.echo(f"{progress.line()}{self._leader()}", err=True)

    def _leader(self) -> str:
        if self._best is None:
            return ""
        from enginesim.report.study_scales import scale_of

        shown = scale_of(self._aim.measure, self._units)
        return f"; best so far {shown.with_unit(self._best.numbers[self._i])}"

    def close(self) -> None:
        """End the line of a terminal."""
        if self._is_open:
            click.echo("\r\x1b[2K", nl=False, err=True)


def _fitting(line: str, width: int) -> str:
    """Without the parts at its end that would go on below, where they could not be taken back."""
    parts = re.split(r"(?=[,;] )", line)
    while len(parts) > 1 and len("".join(parts)) > width:
        parts.pop()
    return "".join(parts)
