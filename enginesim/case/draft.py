"""A case in the making: what was given, in SI, and the rules that fill in the rest."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from enginesim.base.errors import Problem
from enginesim.base.readings import read
from enginesim.base.units import UnitError, unit
from enginesim.case.facts import fields_of, walk
from enginesim.case.quantities import Unfit, sibling_value
from enginesim.case.text import described, plain
from enginesim.case.tree import Assumed
from enginesim.case.values import convert, wanted

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from enginesim.case.document import Document
    from enginesim.case.facts import Field
    from enginesim.case.quantities import Band


class Unresolved(Exception):
    """A value that is wanted and missing or wrong; the problem is noted already."""


#: Source of a default that is not the usual one, because that would refuse what was given.
GIVES_WAY = "gives way to what was given; usual would be {}"


@dataclass(frozen=True, slots=True)
class Default:
    """
    What a rule gives.

    Attributes
    ----------
    value : object
        As the code sees it. [SI]
    source, band : str or None
        In place of the field's own.
    implied : bool
        Whether it follows from what was given, so that nothing was assumed.
    """

    value: Any
    source: str | None = None
    band: str | None = None
    implied: bool = False


class Draft:
    """
    Values by path: given ones first, then defaults when they are asked for.

    Parameters
    ----------
    document : Document
        What was given.
    rules : mapping of str to callable
        Path to the rule for its default.
    completions : mapping of str to callable
        Path to what becomes of a given value (one runner length stands for all, ...).
    """

    def __init__(
        self,
        document: Document,
        rules: Mapping[str, Callable[[Draft], Default]],
        completions: Mapping[str, Callable[[Draft, Any], Any]],
    ) -> None:
        self.document = document
        self.problems: list[Problem] = list(document.problems)
        self.warnings: list[Problem] = []
        self.assumed: dict[str, Assumed] = {}
        self.bands: dict[str, Band] = {}
        spots = dict(walk(document.model))
        self._fields = {path: spot for path, spot in spots.items() if spot.part is None}
        self._parts = {path: spot.part for path, spot in spots.items() if spot.part is not None}
        self._rules, self._completions = rules, completions
        self._given: dict[str, Any] = {}
        self._done: dict[str, Any] = {}
        self._broken: set[str] = {problem.path for problem in document.problems}
        for path, value in document.entries.items():
            self._convert(path, value)

    def _convert(self, path: str, value: Any) -> None:
        spot = self._fields[path]
        try:
            converted = convert(spot, value)
        except Unfit as error:
            self._broken.add(path)
            self.report(path, error.found, error.allowed, error.hint)
            return
        self._given[path] = converted.value
        if converted.sigma is not None:
            self.bands[path] = converted.sigma
        if converted.at is not None:
            sibling = f"{path.rpartition('.')[0]}.{spot.facts.at}"
            try:
                after = sibling_value(self._fields[sibling].facts, converted.at, value)
            except Unfit as error:
                self._broken.add(sibling)
                self.report(path, error.found, error.allowed, error.hint)
                return
            if sibling in self.document.entries:
                hint = f"{sibling} is given too"
                self.report(path, "a value after @", "one statement of the same thing", hint)
            self._given[sibling] = after.value
            if after.sigma is not None:
                self.bands[sibling] = after.sigma

    def given(self, path: str) -> bool:
        """Whether a path was given, rightly or wrongly."""
        return path in self._given or path in self.document.entries

    def given_under(self, path: str) -> bool:
        """Whether anything in a part was given."""
        return any(key.startswith(path + ".") for key in self.document.entries)

    def get(self, path: str) -> Any:
        """
        Value at a path, its default worked out if need be.

        Parameters
        ----------
        path : str
            Dotted field.

        Returns
        -------
        object
            As the code sees it. [SI]

        Raises
        ------
        Unresolved
            If there is none; the problem is noted.
        """
        if path in self._done:
            return self._done[path]
        if self._is_broken(path):
            raise Unresolved(path)
        try:
            value = self._given_value(path) if path in self._given else self._default(path)
        except Unresolved:
            self._broken.add(path)
            raise
        self._done[path] = value
        return value

    def part(self, path: str) -> Any:
        """
        Part of the case at a path, every value of it worked out.

        Parameters
        ----------
        path : str
            Dotted part, such as ``head.intake``.

        Returns
        -------
        Part
            As the code sees it. [SI]

        Raises
        ------
        Unresolved
            If a value of it is missing or wrong.
        """
        model = self._parts[path]
        values = {
            inner.name: self.get(f"{path}.{key}")
            if inner.part is None
            else self.part(f"{path}.{key}")
            for key, inner in fields_of(model).items()
        }
        return model(**values)

    def _is_broken(self, path: str) -> bool:
        """Whether there was a problem with a field or with a part around it."""
        while path:
            if path in self._broken:
                return True
            path = path.rpartition(".")[0]
        return False

    def maybe(self, path: str) -> Any:
        """Given value at a path, or None if it was not given (or is wrong)."""
        return self.get(path) if path in self._given and not self._is_broken(path) else None

    def _given_value(self, path: str) -> Any:
        value = self._given[path]
        if self._fields[path].facts.per_cylinder and len(value) == 1:
            value *= self.get("block.n_cylinders")
        complete = self._completions.get(path)
        return value if complete is None else complete(self, value)

    def _default(self, path: str) -> Any:
        spot = self._fields[path]
        facts = spot.facts
        rule = self._rules.get(path)
        if rule is not None:
            default = rule(self)
        elif facts.default is not None:
            default = Default(convert(spot, facts.default).value)
        elif spot.optional:
            return None
        else:
            raise self.missing(path)
        if default.value not in (None, "") and not default.implied:
            band = facts.band if default.band is None else default.band
            source = facts.source if default.source is None else default.source
            texts = (described(spot, default.value), described(spot, default.value, "si"))
            self.assume(path, texts, source, band, numbers_of(spot, default.value))
        return default.value

    def assume(
        self, path: str, texts: tuple[str, str], source: str, band: str, number: Any = None
    ) -> None:
        """Note that a value was assumed; its text is given in US and in metric units."""
        sigma = _sigma(band, number) if isinstance(number, float | tuple) else None
        self.assumed[path] = Assumed(path, texts[0], source, band, sigma, texts[1])

    def missing(self, path: str, needed: str = "") -> Unresolved:
        """Note that a value must be given."""
        if self._is_broken(path):
            return Unresolved(path)
        spot = self._fields[path]
        self.report(path, "nothing", needed or wanted(spot), f"needed: {plain(spot.facts.help)}")
        self._broken.add(path)
        return Unresolved(path)

    def report(self, path: str, found: str, allowed: str, hint: str = "") -> None:
        """Note a problem."""
        shown = found if found.strip() else repr(found)
        self.problems.append(Problem(self.document.place(path), path, shown, allowed, hint))

    def warn(self, path: str, found: str, allowed: str, hint: str = "") -> None:
        """Note something doubtful."""
        self.warnings.append(Problem(self.document.place(path), path, found, allowed, hint))

    def field(self, path: str) -> Field:
        """Field at a path."""
        return self._fields[path]

    def resolve_all(self) -> dict[str, Any]:
        """
        Every value that can be had.

        Returns
        -------
        dict of str to object
            Path to value; broken ones are left out.
        """
        for path in self._fields:
            if path not in self._done:
                try:
                    self.get(path)
                except Unresolved:
                    continue
        return dict(self._done)


def numbers_of(spot: Field, value: Any) -> Any:
    """
    What a band of a field belongs to: of pairs, what stands before the ``@``.

    Parameters
    ----------
    spot : Field
        The field.
    value : object
        As the code sees it. [SI]

    Returns
    -------
    object
        The value itself where it is no list of pairs. [SI]
    """
    if spot.kind != "pairs":
        return value
    return tuple(pair[1 if spot.facts.at_first else 0] for pair in value)


def _sigma(band: str, value: float | tuple[float, ...]) -> Band | None:
    """Band of a default in SI."""
    if isinstance(value, tuple):
        each = [_sigma(band, number) for number in value if isinstance(number, float)]
        found = [sigma for sigma in each if isinstance(sigma, float)]
        return tuple(found) if found and len(found) == len(value) else None
    if not band:
        return None
    try:
        reading = read(band)
        if reading.unit_text == "%":
            return abs(reading.numbers[0] * 0.01 * value)
        return reading.numbers[0] * unit(reading.unit_text).factor
    except UnitError:
        return None
