"""`enginesim new`: from about twelve numbers to a commented case file."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from enginesim.base.readings import unquoted
from enginesim.cli.questions import CHOICES, QUESTIONS, interview, settled

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from enginesim.case import Case

_REFUSED: Final = 2
_COUNTS: Final = {
    2: "two", 3: "three", 4: "four", 5: "five", 6: "six", 8: "eight", 10: "ten", 12: "twelve",
}  # fmt: skip


def _with_questions(function: Callable[..., int]) -> Callable[..., int]:
    for name, (path, question) in reversed(QUESTIONS.items()):
        option = "--" + name.replace("_", "-")
        words = f": {', '.join(CHOICES[name])}" if name in CHOICES else ""
        text = f"{question}{words}. [{path}]"
        function = click.option(option, name, metavar="TEXT", help=text)(function)
    return function


@click.command(name="new")
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--example",
    metavar="NAME",
    help="Copy an engine, study or vehicle that comes with the program, and its parts, into the"
    " folder FILE.",
)
@_with_questions
@click.option("--set", "others", multiple=True, metavar="PATH=VALUE", help="Give any other field.")
@click.option("--force", is_flag=True, help="Replace a file that is there already.")
def command(
    file: Path, example: str | None, others: tuple[str, ...], force: bool, **answers: str | None
) -> int:
    """
    Write a commented case file from about twelve numbers.

    What is not given by option is asked for, if there is a terminal to ask on; without one, an
    engine has eight cylinders unless something else is said.
    """
    from enginesim.base.replacement import replacing
    from enginesim.case import write
    from enginesim.cli.paths import require_apart, require_name

    require_name("FILE", file)

    if example is not None:
        if others or any(answer is not None for answer in answers.values()):
            raise click.UsageError("--example copies a file as it is: no other field can be set")
        return _copied(example, file, is_forced=force)
    if file.is_dir():
        return _refuse(f"{file} is a folder")
    if file.exists() and not force:
        return _refuse(f"{file} is there already; --force replaces it")
    if not file.parent.is_dir():
        return _refuse(f"there is no folder {file.parent}")
    given = {
        path: unquoted(answer)
        for name, (path, _) in QUESTIONS.items()
        if (answer := answers[name]) is not None
    }
    parted = (text.partition("=") for text in others)
    besides = {path.strip(): unquoted(value) for path, _, value in parted}
    if sys.stdin.isatty():
        case = interview(given, besides, file.stem)
    else:
        case = _assembled(settled(given) | besides)
    require_apart({"FILE": file}, no_store=True)
    try:
        with replacing(file) as aside:
            aside.write_text(write(case), encoding="utf-8")
    except OSError as error:
        return _refuse(f"{file} cannot be written: {error.strerror}")
    for warning in case.warnings:
        click.echo(f"  warning: {warning}")
    click.echo(f"{len(case.assumed)} values assumed and listed in the file")
    click.echo(f"written: {file}: {_engine(case)}")
    return 0


def _copied(name: str, folder: Path, *, is_forced: bool) -> int:
    """Example with the files that it names, in a folder."""
    from enginesim.case.examples import copy

    if folder.exists() and not folder.is_dir():
        return _refuse(f"{folder} is a file; an example is copied into a folder")
    if not folder.absolute().parent.is_dir():
        return _refuse(f"there is no folder {folder.absolute().parent}")
    try:
        copies = copy(name, folder, "--example", is_forced=is_forced)
    except OSError as error:
        return _refuse(f"{error.filename or folder} cannot be written: {error.strerror}")
    click.echo("written: " + ", ".join(map(str, copies)))
    return 0


def _assembled(entries: Mapping[str, Any]) -> Case:
    """Case of what was given by option alone."""
    from enginesim.base.errors import CaseError
    from enginesim.case import assemble

    try:
        return assemble(entries, "new")
    except CaseError:
        click.echo(
            "no terminal to ask on: give what is missing by option (enginesim new --help)",
            err=True,
        )
        raise


def _engine(case: Case) -> str:
    """An engine in a few words: ``in-line four, 130 cu in (2.13 L), 10.0:1``."""
    from enginesim.base.units import from_si
    from enginesim.case.derived import derive

    block, displacement = case.block, derive(case).displacement
    n = block.n_cylinders
    if n == 1:
        kind = "single cylinder"
    elif block.arrangement == "vee":
        kind = f"V{n}"
    else:
        kind = f"{block.arrangement} {_COUNTS.get(n, n)}"
    size = f"{from_si(displacement, 'in3'):.0f} cu in ({from_si(displacement, 'L'):.2f} L)"
    return f"{kind}, {size}, {block.compression_ratio:.1f}:1"


def _refuse(reason: str) -> int:
    click.echo(f"error: {reason}", err=True)
    return _REFUSED
