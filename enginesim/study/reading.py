"""From a study file, or a case and options, to a study; or everything that is wrong with it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TypeVar

from enginesim.base.characters import quoted
from enginesim.base.errors import CaseError
from enginesim.base.units import BARE
from enginesim.case import words
from enginesim.case.examples import located
from enginesim.case.quantities import Unfit
from enginesim.cycle.speeds import FASTEST, SLOWEST
from enginesim.cycle.speeds import parse as parse_speeds
from enginesim.study import checks, limits, links, measures
from enginesim.study.definition import BATCH, POINTS, Condition, Study, Variable
from enginesim.study.document import StudyDocument, Written, content, is_study
from enginesim.study.fields import known_fields, resolved
from enginesim.study.values import Amount
from enginesim.study.values import parse as parse_values

if TYPE_CHECKING:
    from enginesim.case import Case
    from enginesim.vehicle import Vehicle

#: Speeds of the curve of each engine unless told otherwise.
SPEEDS: Final = "2000:6000:500"
#: Most engines of one study.
MOST_POINTS: Final = 100_000
_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class Options:
    """
    What the command line says besides the file.

    Attributes
    ----------
    vary, link, limit, aim, show, overrides : tuple of str
        As typed.
    rpm, vehicle : str
        As typed; empty for what the file says.
    samples, points, batch, seed : int or None
        None for what the file says.
    """

    vary: tuple[str, ...] = ()
    link: tuple[str, ...] = ()
    limit: tuple[str, ...] = ()
    aim: tuple[str, ...] = ()
    show: tuple[str, ...] = ()
    overrides: tuple[str, ...] = ()
    rpm: str = ""
    vehicle: str = ""
    samples: int | None = None
    points: int | None = None
    batch: int | None = None
    seed: int | None = None


_NO_OPTIONS: Final = Options()


@dataclass(frozen=True, slots=True)
class Plan:
    """
    A study and the engine that it begins with.

    Attributes
    ----------
    study : Study
        Complete.
    base : Case
        The case with what holds for all engines.
    vehicle : Vehicle or None
        Whose times are asked about.
    """

    study: Study
    base: Case = field(compare=False)
    vehicle: Vehicle | None = field(default=None, compare=False)


def load(path: str | Path, options: Options = _NO_OPTIONS) -> Plan:
    """
    Study of a file: a study, or a case with all that is varied among the options.

    Parameters
    ----------
    path : str or Path
        TOML file.
    options : Options
        From the command line; they add to the file, or stand in place of what it says.

    Returns
    -------
    Plan
        Checked against the case.

    Raises
    ------
    CaseError
        With every problem, if there is any.
    """
    path = located(path)
    text = content(path)
    document = StudyDocument(str(path), path.parent)
    if is_study(text):
        document.add_text(text)
    else:
        document.top["case"] = Written(path.name, str(path))
    return _plan(document, options)


def loads(text: str, folder: str | Path = ".", options: Options = _NO_OPTIONS) -> Plan:
    """
    Study of a text.

    Parameters
    ----------
    text : str
        TOML.
    folder : str or Path
        Where the case file is looked for.
    options : Options
        As in `load`.

    Returns
    -------
    Plan
        Checked against the case.

    Raises
    ------
    CaseError
        With every problem, if there is any.
    """
    document = StudyDocument("study", Path(folder))
    document.add_text(text)
    return _plan(document, options)


def _plan(document: StudyDocument, options: Options) -> Plan:
    reader = _Reader(document)
    _add_options(document, options)
    study = reader.study()
    base = checks.base_case(document, study) if study.case else None
    vehicle = checks.vehicle(document, study)
    if base is not None:
        checks.check(document, study, base)
    if document.problems or base is None:
        problems = sorted(dict.fromkeys(document.problems), key=_order)
        if any(problem.found.startswith("broken TOML") for problem in problems):
            # What it seems to lack may stand where it could not be read.
            problems = [p for p in problems if not p.found.startswith("nothing")]
        raise CaseError(problems)
    return Plan(study, base, vehicle)


def _order(problem: Any) -> tuple[str, int]:
    file, _, line = problem.place.rpartition(":")
    return (file, int(line)) if line.isdigit() else (problem.place, 0)


def _add_options(document: StudyDocument, options: Options) -> None:
    for option, texts, into in (
        ("--vary", options.vary, document.vary),
        ("--link", options.link, document.links),
    ):
        for text in texts:
            name, mark, value = (part.strip() for part in text.partition("="))
            if not mark or not name or not value:
                example = "cam.lobe_separation=106:116:2" if option == "--vary" else (
                    '"cam.intake_centreline=cam.lobe_separation - 5 deg"'
                )  # fmt: skip
                document.report(option, "", quoted(text), f"FIELD=VALUES, such as {example}")
            elif name in into and into[name].place == option:
                document.report(option, name, "the same name twice", "each name once")
            else:
                into[name] = Written(value, option)
    for option, key, more in (
        ("--set", "set", options.overrides),
        ("--limit", "limits", options.limit),
        ("--show", "show", options.show),
    ):
        for text in more:
            document.top[f"{key}+{option}+{text}"] = Written(text, option)
    if options.aim:
        document.top["aim"] = Written(list(options.aim), "--aim")
    if options.rpm:
        document.top["rpm"] = Written(options.rpm, "--rpm")
    if options.vehicle:
        # From where the command is given, not from where the study file is.
        place = located(options.vehicle).absolute()
        document.top["vehicle"] = Written(str(place), "--vehicle")
    for key in ("samples", "points", "batch", "seed"):
        number = getattr(options, key)
        if number is not None:
            document.top[key] = Written(number, f"--{key}")


class _Reader:
    """Turns what was written into a study, noting every problem on the way."""

    def __init__(self, document: StudyDocument) -> None:
        self.document = document

    def study(self) -> Study:
        document = self.document
        case = self._text("case")
        if not case and "case" not in document.top:
            hint = 'write case = "my-engine.toml" at the top'
            document.report(document.label, "case", "nothing", "the name of a case file", hint)
        return Study(
            case=case,
            folder=document.folder,
            name=self._text("name"),
            notes=self._text("notes"),
            vehicle=self._text("vehicle"),
            overrides=tuple(self._texts("set")),
            speeds=self._speeds(),
            samples=self._count("samples", 0, MOST_POINTS, 0),
            points=self._count("points", 1, MOST_POINTS, POINTS),
            batch=self._count("batch", 1, 1000, BATCH),
            seed=self._count("seed", 0, 2**32 - 1, 1),
            aims=tuple(self._each("aim", limits.aim)),
            constraints=tuple(self._each("limits", limits.constraint)),
            shown=tuple(self._each("show", measures.parse)),
            variables=tuple(self._variables()),
            links=tuple(self._links()),
            conditions=tuple(self._conditions()),
        )

    def _text(self, key: str) -> str:
        written = self.document.top.get(key)
        if written is None:
            return ""
        if not isinstance(written.value, str):
            self.document.report(written.place, key, quoted(written.value), "a text in quotes")
            return ""
        if key not in ("name", "notes"):  # a path is looked at where it is read
            return written.value
        try:
            return words.text(written.value, has_lines=key == "notes")
        except Unfit as error:
            self.document.report(written.place, key, error.found, error.allowed, error.hint)
            return ""

    def _items(self, key: str) -> list[Written]:
        """Items of a list in the file (one alone may stand without brackets) and of options."""
        found: list[Written] = []
        for name, written in self.document.top.items():
            if name == key or name.startswith(f"{key}+"):
                value = written.value if isinstance(written.value, list) else [written.value]
                found += [Written(item, written.place) for item in value]
        return found

    def _texts(self, key: str) -> list[str]:
        texts = []
        for written in self._items(key):
            if isinstance(written.value, str):
                texts.append(written.value)
            else:
                self.document.report(written.place, key, quoted(written.value), "texts in quotes")
        return texts

    def _each(self, key: str, convert: Callable[[Any], _T]) -> list[_T]:
        found: list[_T] = []
        for written in self._items(key):
            try:
                item = convert(written.value)
            except Unfit as error:
                self.document.report(written.place, key, error.found, error.allowed, error.hint)
                continue
            if item in found:
                self.document.report(
                    written.place, key, f"{quoted(written.value)} twice", "each once"
                )
            else:
                found.append(item)
        return found

    def _count(self, key: str, low: int, high: int, otherwise: int) -> int:
        written = self.document.top.get(key)
        if written is None:
            return otherwise
        value = written.value
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            allowed = f"a whole number, {low} to {high}"
            self.document.report(written.place, key, quoted(value), allowed)
            return otherwise
        return value

    def _speeds(self) -> tuple[float, ...]:
        written = self.document.top.get("rpm", Written(SPEEDS, ""))
        value = written.value
        if isinstance(value, int | float) and not isinstance(value, bool):
            value = [value]
        if isinstance(value, list):
            if all(_is_number(item) for item in value) and value:
                value = ",".join(repr(item) for item in value)
            else:
                allowed = 'speeds, such as "2000:4000:500" or [2000, 2500]'
                self.document.report(written.place, "rpm", quoted(written.value), allowed)
                return ()
        if not isinstance(value, str):
            self.document.report(written.place, "rpm", quoted(value), "speeds in quotes")
            return ()
        try:
            return parse_speeds(value, written.place).rpm
        except CaseError as error:
            self.document.problems += error.problems
            return ()

    def _variables(self) -> list[Variable]:
        document = self.document
        found: list[Variable] = []
        fields = known_fields()
        if not document.vary and not any(p.place == "--vary" for p in document.problems):
            hint = "--vary FIELD=VALUES, or a table [vary] in a study file"
            document.report(document.label, "vary", "nothing to vary", "one variable or more", hint)
        for name, written in document.vary.items():
            path = resolved(name)
            if path is None:
                if "." in name or not name.isidentifier():
                    checks.report_unknown(document, written.place, name)
                    continue
                path = name  # a name of its own, which links must refer to
            spot = fields.get(path)
            is_numeric = spot is None or spot.kind in ("value", "values", "integer")
            try:
                is_paired = spot is not None and spot.kind == "pairs"
                values = parse_values(written.value, is_numeric=is_numeric, is_paired=is_paired)
            except Unfit as error:
                document.report(written.place, path, error.found, error.allowed, error.hint)
                continue
            if any(known.name == path for known in found):
                document.report(written.place, path, "the same field twice", "each once")
                continue
            found.append(Variable(path, checks.with_unit(values, spot)))
        return found

    def _links(self) -> list[links.Link]:
        document, found = self.document, []
        fields = known_fields()
        for name, written in document.links.items():
            path = resolved(name)
            if path is None:
                checks.report_unknown(document, written.place, name)
                continue
            if not isinstance(written.value, str):
                document.report(written.place, path, quoted(written.value), links.ALLOWED)
                continue
            try:
                link = links.parse(path, written.value)
            except Unfit as error:
                document.report(written.place, path, error.found, error.allowed, error.hint)
                continue
            source = resolved(link.source) or link.source
            offset, spot = link.offset, fields[path]
            if offset.number and not offset.unit:
                offset = Amount(offset.number, BARE.get(spot.facts.dimension, ""))
            found.append(links.Link(path, source, link.factor, offset, link.at))
        return found

    def _conditions(self) -> list[Condition]:
        document, found = self.document, []
        for name, written in document.conditions.items():
            path = f"conditions.{name}"
            table = written.value
            if not isinstance(table, dict) or not name.isidentifier():
                document.report(written.place, path, quoted(table), "a table below a plain name")
                continue
            for key in sorted(set(table) - {"rpm", "set"}):
                document.report(written.place, f"{path}.{key}", "an unknown key", "rpm and set")
            speed: Any = table.get("rpm")
            more = table.get("set", [])
            more = [more] if isinstance(more, str) else more
            if not _is_number(speed) or not SLOWEST <= speed <= FASTEST:
                allowed = f"one speed, {SLOWEST:g} to {FASTEST:g} rpm, as a number"
                shown = "nothing" if speed is None else quoted(speed)
                document.report(written.place, f"{path}.rpm", shown, allowed)
                continue
            if not isinstance(more, list) or not all(isinstance(text, str) for text in more):
                document.report(written.place, f"{path}.set", quoted(more), "a list of overrides")
                continue
            found.append(Condition(name, float(speed), tuple(more)))
        return found


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
