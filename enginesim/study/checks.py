"""Does a study fit its case? Every problem is noted, none is raised."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from enginesim.base.errors import CaseError
from enginesim.base.names import nearest
from enginesim.base.units import BARE, DIMENSIONS, dimension_name, unit
from enginesim.case import amend
from enginesim.case import load as load_case
from enginesim.case.quantities import Unfit, a
from enginesim.case.values import convert
from enginesim.study.case_numbers import MEASURED
from enginesim.study.fields import known_fields
from enginesim.study.values import Span, Steps, Words

if TYPE_CHECKING:
    from enginesim.case import Case
    from enginesim.case.facts import Field
    from enginesim.study.definition import Study, Variable
    from enginesim.study.document import StudyDocument
    from enginesim.study.links import Link
    from enginesim.study.values import Values
    from enginesim.vehicle import Vehicle

_MOST_AIMS: Final = 2


def report_unknown(document: StudyDocument, place: str, name: str) -> None:
    """
    Note a field that does not exist.

    Parameters
    ----------
    document : StudyDocument
        Takes the problem.
    place, name : str
        Where it stands, and what stands there.
    """
    known = known_fields()
    namesakes = [path for path in known if path.endswith(f".{name}")]
    near = namesakes[0] if len(namesakes) == 1 else nearest(name, known)
    hint = f"did you mean {near}?" if near else "see docs/case.md for all fields"
    document.report(place, name, "an unknown field", "a field or part of the case", hint)


def with_unit(values: Values, spot: Field | None) -> Values:
    """
    Values with the unit that may be left out filled in.

    Parameters
    ----------
    values : Values
        As written.
    spot : Field or None
        The field; None for a variable with a name of its own.

    Returns
    -------
    Values
        Angles in degrees and speeds in rev/min where no unit stands.
    """
    if spot is None or values.unit or isinstance(values, Words):
        return values
    name = BARE.get(spot.facts.dimension, "")
    if isinstance(values, Span):
        return Span(values.low, values.high, name, values.at)
    return Steps(values.numbers, name, values.at)


def base_case(document: StudyDocument, study: Study) -> Case | None:
    """
    The case with what holds for all engines.

    Parameters
    ----------
    document : StudyDocument
        Takes the problems.
    study : Study
        As read.

    Returns
    -------
    Case or None
        None if it cannot be read.
    """
    try:
        return load_case(study.file, study.overrides)
    except CaseError as error:
        document.problems += error.problems
        return None


def vehicle(document: StudyDocument, study: Study) -> Vehicle | None:
    """
    The vehicle whose times are asked about.

    Parameters
    ----------
    document : StudyDocument
        Takes the problems.
    study : Study
        As read.

    Returns
    -------
    Vehicle or None
        None if there is none, or it cannot be read.
    """
    asked = [measure.text for measure in study.measures if measure.origin == "vehicle"]
    if not study.vehicle:
        if asked:
            hint = 'vehicle = "vehicles/estate.toml" at the top, or --vehicle'
            found = f"nothing, and {asked[0]} is asked for"
            document.report(document.label, "vehicle", found, "a vehicle file", hint)
        return None
    from enginesim.vehicle import load

    try:
        return load(study.folder / study.vehicle)
    except CaseError as error:
        document.problems += error.problems
        return None


def check(document: StudyDocument, study: Study, base: Case) -> None:
    """
    Note everything in a study that does not fit.

    Parameters
    ----------
    document : StudyDocument
        Takes the problems.
    study : Study
        As read.
    base : Case
        What it begins with.
    """
    for variable in study.variables:
        _check_variable(document, study, variable, base)
    for link in study.links:
        _check_link(document, study, link)
    for condition in study.conditions:
        _check_overrides(document, study, condition.name, condition.overrides, base)
    _check_measures(document, study, base)
    if len(study.aims) > _MOST_AIMS:
        place = document.top["aim"].place
        document.report(place, "aim", f"{len(study.aims)} aims", "one or two")


def _place(document: StudyDocument, table: str, name: str) -> str:
    """Place of a variable or link, however its field was spelled."""
    from enginesim.study.fields import resolved

    for written, value in getattr(document, table).items():
        if (resolved(written) or written) == name:
            return str(value.place)
    return document.label


def _check_variable(document: StudyDocument, study: Study, variable: Variable, base: Case) -> None:
    name, values = variable.name, variable.values
    place = _place(document, "vary", name)
    spot = known_fields().get(name)
    if spot is None:
        if not any(link.source == name for link in study.links):
            hint = f"no link uses it: write [links] some.field = {name!r}, or name a field"
            document.report(place, name, "a variable that drives nothing", "a field", hint)
        if isinstance(values, Words):
            document.report(place, name, "words", "numbers: only links refer to it")
        return
    if spot.part is not None:
        _check_parts(document, study, variable, base, place)
        return
    if spot.kind == "text":
        document.report(place, name, "a text, which changes no result", "a field of the engine")
        return
    texts = (
        [variable.shown(end) for end in (values.low, values.high)]
        if isinstance(values, Span)
        else [variable.shown(item) for item in values.items]
    )
    if isinstance(values, Span) and spot.kind == "integer":
        document.report(place, name, values.text, "whole numbers, such as 1:4:1")
        return
    for text in texts:
        try:
            convert(spot, text)
        except Unfit as error:
            document.report(place, name, error.found, error.allowed, error.hint)
            break  # the others are most likely wrong in the same way


def _check_parts(
    document: StudyDocument, study: Study, variable: Variable, base: Case, place: str
) -> None:
    """Each part file alone with the case: there, readable, and fitting."""
    for word in variable.values.items if isinstance(variable.values, Words) else ():
        try:
            amend(base, {variable.name: str((study.file.parent / word).absolute())})
        except CaseError as error:
            for problem in error.problems:
                document.report(
                    f"{place}: {word}",
                    problem.path if problem.path != variable.name else "",
                    problem.found,
                    problem.allowed,
                    problem.hint,
                )
    if not isinstance(variable.values, Words):
        allowed = 'a list of part files, such as ["parts/a.toml", "parts/b.toml"]'
        document.report(place, variable.name, variable.values.text, allowed)


def _check_link(document: StudyDocument, study: Study, link: Link) -> None:
    place = _place(document, "links", link.target)
    spot = known_fields()[link.target]
    if spot.kind not in ("value", "values", "pairs"):
        document.report(place, link.target, f"a link of a {spot.kind}", "a field with a number")
        return
    if any(variable.name == link.target for variable in study.variables):
        document.report(place, link.target, "a field that is varied too", "one or the other")
    source = next((v for v in study.variables if v.name == link.source), None)
    if source is None:
        near = nearest(link.source, [v.name for v in study.variables])
        hint = f"did you mean {near}?" if near else "[vary] lists the variables"
        document.report(place, link.target, f"no variable {link.source}", "a variable", hint)
        return
    if not source.is_numeric:
        document.report(place, link.target, f"{link.source}, which has words", "numbers to follow")
        return
    if spot.kind == "pairs" and not (link.at or source.values.at):
        found = f"{link.text}, without a height" if spot.facts.at_first else link.text
        example = f'"{link.text} @ 0.050 in"' if spot.facts.at_first else f'"{link.text} @ 0"'
        document.report(place, link.target, found, f"what stands after @, such as {example}")
        return
    _check_dimensions(document, place, link, source, spot)


def _check_dimensions(
    document: StudyDocument, place: str, link: Link, source: Variable, spot: Field
) -> None:
    wanted = DIMENSIONS[spot.facts.dimension]
    factor = unit(link.factor.unit).exponents
    own = unit(source.values.unit).exponents
    product = tuple(x + y for x, y in zip(factor, own, strict=True))
    noun = a(spot.facts.dimension)
    if product != wanted:
        name = dimension_name(product)  # type: ignore[arg-type]
        found = f"{link.text}: factor times variable is {a(name)}"
        hint = "the factor may have a unit: 12 in * scale"
        document.report(place, link.target, found, noun, hint)
    if link.offset.number and unit(link.offset.unit).exponents != wanted:
        found = f"an offset of {link.offset.text}"
        document.report(place, link.target, found, f"{noun} with its unit")


def _check_overrides(
    document: StudyDocument, study: Study, name: str, overrides: tuple[str, ...], base: Case
) -> None:
    written = document.conditions[name]
    try:
        amend(base, changes_of(overrides, study))
    except CaseError as error:
        for problem in error.problems:
            document.report(
                f"{written.place}: conditions.{name}.set",
                problem.path,
                problem.found,
                problem.allowed,
                problem.hint,
            )


def changes_of(overrides: tuple[str, ...], study: Study) -> dict[str, str]:
    """
    Overrides as changes for `case.amend`, part files beside the case.

    Parameters
    ----------
    overrides : tuple of str
        ``path=value`` texts.
    study : Study
        Says where the case is.

    Returns
    -------
    dict of str to str
        Path to value.
    """
    found = {}
    for text in overrides:
        path, _, value = (part.strip() for part in text.partition("="))
        spot = known_fields().get(path)
        if spot is not None and spot.part is not None:
            value = str((study.file.parent / value).absolute())
        found[path] = value
    return found


def _check_measures(document: StudyDocument, study: Study, base: Case) -> None:
    names = [condition.name for condition in study.conditions]
    keyed = [
        *(("aim", aim.measure) for aim in study.aims),
        *(("limits", limit.measure) for limit in study.constraints),
        *(("show", measure) for measure in study.shown),
    ]
    for key, measure in keyed:
        place = document.top[key].place if key in document.top else f"--{key.removesuffix('s')}"
        if measure.condition and measure.condition not in names:
            near = nearest(measure.condition, names)
            hint = f"did you mean {near}?" if near else "a table [conditions.idle] says how to run"
            found = f"no condition {measure.condition}"
            document.report(place, key, found, "a speed or a condition of the study", hint)
        field = MEASURED.get(measure.number)
        if field is not None and getattr(base.clearances, field.rpartition(".")[2]) is None:
            hint = "how far the shut valve can be pushed down with the piston at the top"
            document.report(str(study.file), field, "nothing", "a length, measured", hint)
        _check_speeds(document, study, key, measure.low, measure.high, place)


def _check_speeds(
    document: StudyDocument,
    study: Study,
    key: str,
    low: float | None,
    high: float | None,
    place: str,
) -> None:
    """A window must be covered by the speeds, at least its ends and one between."""
    if low is None or high is None or not study.speeds:
        return
    first, last = study.speeds[0], study.speeds[-1]
    if not (first <= low and high <= last):
        document.report(
            place,
            key,
            f"a window of {low:g} to {high:g} rpm",
            f"within {first:g} to {last:g} rpm",
            f"ask for more speeds: --rpm {low:g}:{high:g}:250",
        )


def check_plan(document_label: str, study: Study, *, is_search: bool) -> CaseError | None:
    """
    What a sweep or a search needs that the other does not.

    Parameters
    ----------
    document_label : str
        Where the study was written.
    study : Study
        Otherwise sound.
    is_search : bool
        Whether it is to be searched.

    Returns
    -------
    CaseError or None
        With every problem.
    """
    from enginesim.base.errors import Problem

    problems = []
    if is_search and not study.aims:
        hint = 'aim = "average torque 2000-4000" in the file, or --aim'
        problems.append(Problem(document_label, "aim", "nothing", "one or two aims", hint))
    if not is_search and not study.samples:
        for variable in study.variables:
            if isinstance(variable.values, Span):
                text = re.sub(r"(\d)( |$)", r"\1:STEP\2", variable.values.text, count=0)
                problems.append(
                    Problem(
                        document_label,
                        variable.name,
                        f"{variable.values.text}, without a step",
                        f"first:last:step, such as {text.replace('STEP', _step(variable.values))}",
                        "or ask for samples: --samples 64",
                    )
                )
        total = study.combinations()
        if total > 100_000:
            found = f"{total} combinations"
            hint = "larger steps, or --samples"
            problems.append(Problem(document_label, "vary", found, "at most 100000", hint))
    return CaseError(problems) if problems else None


def _step(span: Span) -> str:
    return f"{(span.high - span.low) / 8:.2g}"
