"""What is asked of someone who describes an engine at a terminal, and what is asked again?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import click

from enginesim.base.readings import unquoted

if TYPE_CHECKING:
    from collections.abc import Mapping

    from enginesim.base.errors import CaseError
    from enginesim.case import Case
    from enginesim.case.facts import Field

#: Option: the field that it gives, and what a person is asked.
QUESTIONS: Final = {
    "name": ("name", "Name of the engine"),
    "cylinders": ("block.n_cylinders", "Number of cylinders"),
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
# Field, and another one that spares the question.
_INSTEAD: Final = {
    "block.compression_ratio": "block.chamber_volume",
    "throttle.flow": "throttle.diameter",
}


def interview(given: Mapping[str, str], others: Mapping[str, str], name: str) -> Case:
    """
    Case of what was given and what is answered at the terminal.

    Parameters
    ----------
    given : mapping of str to str
        Field to answer, as far as options gave it.
    others : mapping of str to str
        Any other field or part to its value.
    name : str
        Of the engine, unless another is answered.

    Returns
    -------
    Case
        Complete: what does not fit is asked again, field by field.

    Raises
    ------
    CaseError
        If something is wrong that no answer can put right.
    """
    from dataclasses import replace

    from enginesim.base.errors import CaseError
    from enginesim.case import assemble
    from enginesim.case.facts import walk
    from enginesim.case.tree import Case

    fields = {path: field for path, field in walk(Case) if field.part is None}
    besides = _taken_in(others)
    usual = {"name": name, "block.n_cylinders": fields["block.n_cylinders"].facts.default}
    entries: dict[str, Any] = {}
    for path, _ in QUESTIONS.values():
        if path in given or (path not in besides and _is_needed(path, fields, besides | entries)):
            entries[path] = _answer(path, fields, given.get(path), usual.get(path))
    entries |= others
    while True:
        try:
            return assemble(entries, "new")
        except CaseError as error:
            doubtful = _named(error, fields, entries)
            if not doubtful:
                raise
            click.echo("What does not fit is asked again:", err=True)
            for problem in error.problems:
                click.echo(f"  {replace(problem, place='')}", err=True)
        for path in doubtful:
            before = entries.pop(path, None)  # the new answer comes after any part file
            entries[path] = _answer(path, fields, None, before)
        for path, _ in QUESTIONS.values():
            if path not in doubtful and not _is_needed(path, fields, besides | entries):
                entries.pop(path, None)


def settled(given: Mapping[str, str]) -> dict[str, Any]:
    """
    Answers as they go into the file: whole numbers and the program's own words.

    Parameters
    ----------
    given : mapping of str to str
        Field to answer.

    Returns
    -------
    dict of str to object
        The same; what does not fit stays as it is, for the reader of the case to refuse.
    """
    from enginesim.case.facts import walk
    from enginesim.case.quantities import Unfit
    from enginesim.case.tree import Case

    fields = dict(walk(Case))
    entries: dict[str, Any] = {}
    for path, answer in given.items():
        try:
            entries[path] = _fitting(path, fields, answer)
        except Unfit:
            entries[path] = answer
    return entries


def _taken_in(others: Mapping[str, str]) -> dict[str, Any]:
    """Fields that are given already, those of part files too."""
    from pathlib import Path

    from enginesim.base.errors import CaseError
    from enginesim.case.document import Document

    document = Document("new", Path())
    document.override([f"{path}={value}" for path, value in others.items()], "--set")
    if document.problems:
        raise CaseError(document.problems)
    return document.entries


def _is_needed(path: str, fields: Mapping[str, Field], entries: Mapping[str, Any]) -> bool:
    """Whether a question makes sense after those before it."""
    if _INSTEAD.get(path) in entries:
        return False
    if path == "throttle.kind":
        return _word("intake.layout", fields, entries) in ("single plenum", "divided plenum")
    if path == "throttle.flow":
        words = [_word(p, fields, entries) for p in ("intake.layout", "throttle.kind")]
        return words[0] != "open stacks" and words[1] != "none"
    if path == "exhaust.primary_diameter":
        return _word("exhaust.layout", fields, entries) != "log"
    return True


def _word(path: str, fields: Mapping[str, Field], entries: Mapping[str, Any]) -> str:
    """What was chosen, in the program's own word; empty if nothing fits."""
    from enginesim.case.quantities import Unfit
    from enginesim.case.values import convert

    try:
        return str(convert(fields[path], entries.get(path)).value)
    except Unfit:
        return ""


def _named(error: CaseError, fields: Mapping[str, Field], entries: Mapping[str, Any]) -> list[str]:
    """Fields to ask for again, each once; for what stands after @, the field before it."""
    owners = {
        _sibling(path, fields[path]): path
        for path, answer in entries.items()
        if path in fields and fields[path].facts.at and "@" in str(answer)
    }
    paths = (owners.get(problem.path, problem.path) for problem in error.problems)
    return list(dict.fromkeys(path for path in paths if path in fields))


def _sibling(path: str, field: Field) -> str:
    return f"{path.rpartition('.')[0]}.{field.facts.at}"


def _answer(path: str, fields: Mapping[str, Field], given: str | None, usual: Any) -> Any:
    """Answer that the field can take; asked again until it is."""
    from enginesim.case.quantities import Unfit
    from enginesim.case.text import plain

    field = fields[path]
    question = dict(QUESTIONS.values()).get(path, plain(field.facts.help))
    if field.choices:
        question += f"; one of {', '.join(field.choices)}"
    while True:
        answer = click.prompt(question, default=usual) if given is None else given
        given = None
        try:
            return _fitting(path, fields, unquoted(str(answer)))
        except Unfit as error:
            hint = f" ({error.hint})" if error.hint else ""
            allowed = error.allowed.removesuffix(", in quotes")  # needed in a file only
            click.echo(f"  {error.found}: allowed is {allowed}{hint}", err=True)


def _fitting(path: str, fields: Mapping[str, Field], answer: str) -> Any:
    """Answer as it goes into the file; `Unfit` if the field, or that after @, cannot take it."""
    from enginesim.case.quantities import sibling_value
    from enginesim.case.values import convert

    field = fields[path]
    converted = convert(field, answer)
    if converted.at is not None:
        sibling_value(fields[_sibling(path, field)].facts, converted.at, answer)
    return converted.value if field.kind in ("choice", "integer") else answer
