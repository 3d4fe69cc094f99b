"""What was given, by whom and where: case file, part files and overrides, still as text."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from enginesim.base.characters import quoted
from enginesim.base.errors import Problem
from enginesim.base.names import nearest
from enginesim.base.readings import unquoted
from enginesim.base.text_file import UnreadableFile, content, is_file
from enginesim.case.facts import Part, fields_of, walk
from enginesim.case.lines import BrokenToml, key_lines, parsed
from enginesim.case.tree import Case

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

_MOST_ADVISED: Final = 100  # problems that are looked into for what was meant


@dataclass(slots=True)
class Document:
    """
    Everything that was given.

    Attributes
    ----------
    label : str
        Name of the case file, for messages.
    folder : Path
        Where part files are looked for.
    model : type of Part
        Tree of fields that may stand in it.
    is_lenient : bool
        Whether a cam card that contradicts itself is doubtful rather than wrong.
    entries : dict
        Dotted path of a leaf to its value, as TOML gave it.
    places : dict
        Dotted path of a leaf or table to ``file:line``.
    problems : list of Problem
        What went wrong so far.
    notes : list of Problem
        What was changed along with what was asked for.
    overridden : set of str
        Leaves that were given one by one, over what files say.
    """

    label: str
    folder: Path
    model: type[Part] = Case
    is_lenient: bool = False
    entries: dict[str, Any] = field(default_factory=dict)
    places: dict[str, str] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    notes: list[Problem] = field(default_factory=list)
    overridden: set[str] = field(default_factory=set)

    @property
    def _noun(self) -> str:
        return self.model.__name__.lower()

    def place(self, path: str) -> str:
        """Place of a path, or of the nearest table around it."""
        while path:
            if path in self.places:
                return self.places[path]
            path = path.rpartition(".")[0]
        return self.label

    def add_file(self, path: Path) -> None:
        """Take in a whole case file."""
        found = self._table(path, self.label, "")
        if found is not None:
            table, text = found
            self._add_table(
                self.model, table, "", _Origin(self.label, self.folder, key_lines(text))
            )

    def add_text(self, text: str, label: str) -> None:
        """Take in the text of a whole case."""
        table = self._parsed(text, label, "")
        if table is not None:
            self._add_table(self.model, table, "", _Origin(label, self.folder, key_lines(text)))

    def add_entries(self, entries: Mapping[str, Any], place: str) -> None:
        """Take in leaves that were read before."""
        for path, value in entries.items():
            self.entries[path] = value
            self.places[path] = place

    def override(self, texts: Iterable[str], place: str) -> None:
        """Take in ``path=value`` texts, the later one winning."""
        known = dict(walk(self.model))
        for text in texts:
            path, mark, value = (part.strip() for part in text.partition("="))
            spot = known.get(path)
            if not mark or not value:
                self._report(place, path, quoted(text), "path=value", "")
            elif spot is None:
                near = _namesake(path, known) or nearest(path, known)
                hint = f"did you mean {near}?" if near else "the manual lists all fields"
                self._report(place, path, "an unknown field", f"a field of the {self._noun}", hint)
            elif spot.part is not None:
                for old in [key for key in self.entries if key.startswith(path + ".")]:
                    del self.entries[old]
                    self.overridden.discard(old)
                self._add_part(spot.part, value, path, _Origin(place, self._folder_of(value), {}))
            else:
                self.entries[path] = unquoted(value)
                self.places[path] = place
                self.overridden.add(path)

    def _folder_of(self, name: str) -> Path:
        """Where a part file of the command line is: beside the case, or where the user stands."""
        is_beside = is_file(self.folder / name) or not is_file(Path(name))
        return self.folder if is_beside else Path()

    def _add_table(
        self, model: type[Part], table: Mapping[str, Any], prefix: str, origin: _Origin
    ) -> None:
        fields = fields_of(model)
        for key, value in table.items():
            path = f"{prefix}{key}"
            place = origin.place(path)
            spot = fields.get(key)
            if spot is None:
                near = nearest(key, fields) if len(self.problems) < _MOST_ADVISED else None
                hint = f"did you mean {near}?" if near else "known here: " + ", ".join(fields)
                self._report(place, path, "an unknown key", f"a field of the {self._noun}", hint)
                continue
            self.places[path] = place
            if spot.part is None:
                self.entries[path] = value
            elif isinstance(value, dict):
                self._add_table(spot.part, value, f"{path}.", origin)
            elif isinstance(value, str):
                self._add_part(spot.part, value, path, origin)
            else:
                allowed = "a table, or the name of a part file"
                self._report(place, path, quoted(value), allowed, spot.facts.help)

    def _add_part(self, model: type[Part], name: str, path: str, origin: _Origin) -> None:
        file = origin.folder / name
        found = self._table(file, origin.place(path), path)
        if found is not None:
            table, text = found
            lines = {f"{path}.{key}": line for key, line in key_lines(text).items()}
            self.places[path] = str(file)
            self._add_table(model, table, f"{path}.", _Origin(str(file), file.parent, lines))

    def _table(self, file: Path, place: str, path: str) -> tuple[dict[str, Any], str] | None:
        """Table and text of a file, or None once the problem is noted."""
        try:
            text = content(file)
        except UnreadableFile as error:
            self._report(place, path, error.found, "a TOML file", error.hint)
            return None
        table = self._parsed(text, str(file) if path else self.label, path)
        return None if table is None else (table, text)

    def _parsed(self, text: str, label: str, path: str) -> dict[str, Any] | None:
        try:
            table = parsed(text)
        except BrokenToml as error:
            hint = 'a value with a unit is written in quotes: bore = "4.03 in"'
            self._report(f"{label}:{error.line}", path, error.found, "valid TOML", hint)
            return None
        if not table:
            hint = "see `enginesim new`" if self.model is Case else "the manual lists all fields"
            self._report(label, path, "an empty file", f"fields of the {self._noun}", hint)
        return table

    def _report(self, place: str, path: str, found: str, allowed: str, hint: str = "") -> None:
        self.problems.append(Problem(place, path, found, allowed, hint))


@dataclass(frozen=True, slots=True)
class _Origin:
    """A text that is being read: its name, its folder and where its keys stand."""

    label: str
    folder: Path
    lines: Mapping[str, int]

    def place(self, path: str) -> str:
        while path:
            if path in self.lines:
                return f"{self.label}:{self.lines[path]}"
            path = path.rpartition(".")[0]
        return self.label


def _namesake(path: str, known: Iterable[str]) -> str | None:
    """Whole path of a field that was called by its last name; None if several are called so."""
    found = [whole for whole in known if whole.endswith(f".{path}")]
    return found[0] if len(found) == 1 else None
