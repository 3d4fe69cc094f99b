"""`enginesim new`: from about twelve numbers to a commented case file."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from enginesim.case.facts import Field

# Option: the field that it gives, and what a person is asked.
QUESTIONS: Final = {
    "bore": ("block.bore", "Bore, with its unit"),
    "stroke": ("block.stroke", "Stroke, with its unit"),
    "compression_ratio": ("block.compression_ratio", "Compression ratio"),
    "intake_flow": ("head.intake.peak_flow", "Best intake flow, such as 210 cfm @ 28 inH2O"),
    "lobe_separation": ("cam.lobe_separation", "Lobe separation, cam degrees"),
    "intake_duration": ("cam.intake.durations", "Intake duration, such as 214 @ 0.050 in"),
    "exhaust_duration": ("cam.exhaust.durations", "Exhaust duration"),
    "intake_lift": ("cam.intake.valve_lift", "Intake valve lift"),
    "exhaust_lift": ("cam.exhaust.valve_lift", "Exhaust valve lift"),
    "manifold": ("intake.layout", "Intake manifold (a dual plane is a divided plenum)"),
    "throttle": ("throttle.kind", "Throttle"),
    "throttle_flow": ("throttle.flow", "Its rated flow, such as 600 cfm @ 1.5 inHg"),
    "exhaust": ("exhaust.layout", "Exhaust"),
    "primary_diameter": (
        "exhaust.primary_diameter",
        "Inside diameter of a primary, such as 1.5 in",
    ),
}
#: What a field of words may be, for `--help`, which does not wait for the case to be loaded.
CHOICES: Final = {
    "manifold": ("single plenum", "divided plenum", "individual throttles", "open stacks"),
    "throttle": ("carburettor", "throttle body", "none"),
    "exhaust": ("4-into-1", "4-into-2-into-1", "3-into-1", "2-into-1", "log", "single"),
}
_REFUSED: Final = 2


def _with_questions(function: Callable[..., int]) -> Callable[..., int]:
    for name, (path, question) in reversed(QUESTIONS.items()):
        option = "--" + name.replace("_", "-")
        words = f": {', '.join(CHOICES[name])}" if name in CHOICES else ""
        text = f"{question}{words}. [{path}]"
        function = click.option(option, name, metavar="TEXT", help=text)(function)
    return function


@click.command(name="new")
@click.argument("file", type=click.Path(path_type=Path))
@_with_questions
@click.option("--name", default="", help="Name of the engine.")
@click.option("--cylinders", type=int, help="Number of cylinders. [8]")
@click.option("--set", "others", multiple=True, metavar="PATH=VALUE", help="Give any other field.")
@click.option("--force", is_flag=True, help="Replace a file that is there already.")
def command(
    file: Path,
    name: str,
    cylinders: int | None,
    others: tuple[str, ...],
    force: bool,
    **answers: str | None,
) -> int:
    """
    Write a commented case file from about twelve numbers.

    What is not given by option is asked for, if there is a terminal to ask on.
    """
    from enginesim.base.errors import CaseError
    from enginesim.base.replacement import replacing
    from enginesim.case import assemble, write

    if file.is_dir():
        return _refuse(f"{file} is a folder")
    if file.exists() and not force:
        return _refuse(f"{file} is there already; --force replaces it")
    if not file.parent.is_dir():
        return _refuse(f"there is no folder {file.parent}")
    entries: dict[str, Any] = {"name": name} if name else {}
    if cylinders is not None:
        entries["block.n_cylinders"] = cylinders
    entries |= _answered(answers)
    for text in others:
        path, _, value = text.partition("=")
        entries[path.strip()] = value.strip()
    try:
        case = assemble(entries, "new")
    except CaseError:
        if not sys.stdin.isatty():
            click.echo(
                "no terminal to ask on: give what is missing by option (enginesim new --help)",
                err=True,
            )
        raise
    try:
        with replacing(file) as aside:
            aside.write_text(write(case), encoding="utf-8")
    except OSError as error:
        return _refuse(f"{file} cannot be written: {error.strerror}")
    click.echo(f"{file}: written, {len(case.assumed)} values assumed and listed in it")
    for warning in case.warnings:
        click.echo(f"  warning: {warning}")
    return 0


def _answered(answers: Mapping[str, str | None]) -> dict[str, str]:
    """Fields from the options, and from questions where an option is missing."""
    from enginesim.case.facts import walk
    from enginesim.case.tree import Case

    fields = dict(walk(Case))
    entries: dict[str, str] = {}
    for name, (path, question) in QUESTIONS.items():
        answer = answers.get(name)
        if answer is None and sys.stdin.isatty() and _is_needed(path, entries):
            answer = _asked(question, fields[path])
        if answer is not None:
            entries[path] = answer
    return entries


def _is_needed(path: str, entries: Mapping[str, str]) -> bool:
    """Whether a question makes sense after those before it."""
    if path == "throttle.kind":
        return entries.get("intake.layout") in ("single plenum", "divided plenum")
    if path == "throttle.flow":
        bare = entries.get("intake.layout") == "open stacks"
        return not bare and entries.get("throttle.kind") != "none"
    return path != "exhaust.primary_diameter" or entries.get("exhaust.layout") != "log"


def _asked(question: str, field: Field) -> str:
    """Answer that the field can take; asked again until it is."""
    from enginesim.case.quantities import Unfit
    from enginesim.case.values import convert

    if field.choices:
        return str(click.prompt(question, type=click.Choice(field.choices, case_sensitive=False)))
    while True:
        answer = str(click.prompt(question))
        try:
            convert(field, answer)
        except Unfit as error:
            hint = f" ({error.hint})" if error.hint else ""
            click.echo(f"  {error.found}: allowed is {error.allowed}{hint}", err=True)
        else:
            return answer


def _refuse(reason: str) -> int:
    click.echo(f"error: {reason}", err=True)
    return _REFUSED
