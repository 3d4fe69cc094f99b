"""What was written of a study, in a file and on the command line, still as text."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from enginesim.base import text_file
from enginesim.base.characters import quoted
from enginesim.base.errors import CaseError, Problem
from enginesim.base.names import nearest
from enginesim.case.lines import BrokenToml, key_lines, parsed

#: Keys of a study file and what each holds.
KEYS: Final = {
    "name": "a text",
    "notes": "a text",
    "case": "the name of a case file",
    "vehicle": "the name of a vehicle file",
    "set": "a list of overrides",
    "rpm": "engine speeds",
    "samples": "a whole number",
    "points": "a whole number",
    "batch": "a whole number",
    "seed": "a whole number",
    "aim": "one or two texts",
    "limits": "a list of texts",
    "show": "a list of texts",
    "vary": "a table",
    "links": "a table",
    "conditions": "a table of tables",
}
_TABLES: Final = ("vary", "links")


@dataclass(frozen=True, slots=True)
class Written:
    """
    One value as it was written.

    Attributes
    ----------
    value : object
        As TOML or the command line has it.
    place : str
        ``file:line``, or the option.
    """

    value: Any
    place: str


@dataclass(slots=True)
class StudyDocument:
    """
    Everything that was written.

    Attributes
    ----------
    label : str
        Name of the study file, or of the case.
    folder : Path
        Where case and part files are looked for.
    top : dict
        Keys of the file's top, and lists of options.
    vary, links, conditions : dict
        Contents of the tables.
    problems : list of Problem
        What went wrong so far.
    """

    label: str
    folder: Path
    top: dict[str, Written] = field(default_factory=dict)
    vary: dict[str, Written] = field(default_factory=dict)
    links: dict[str, Written] = field(default_factory=dict)
    conditions: dict[str, Written] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def report(self, place: str, path: str, found: str, allowed: str, hint: str = "") -> None:
        """Note a problem; an option that is the place already says which key is meant."""
        if place.startswith("--") and path.rstrip("s") == place[2:]:
            path = ""
        self.problems.append(Problem(place, path, found, allowed, hint))

    def add_text(self, text: str) -> None:
        """Take in the text of a study file."""
        try:
            table = parsed(text)
        except BrokenToml as error:
            hint = 'a value with a unit is written in quotes: "8:20:1 in"'
            self.report(f"{self.label}:{error.line}", "", error.found, "valid TOML", hint)
            return
        lines = key_lines(text)
        for key, value in table.items():
            place = _place(self.label, lines, key)
            if key not in KEYS:
                near = nearest(key, KEYS)
                hint = f"did you mean {near}?" if near else "known: " + ", ".join(KEYS)
                self.report(place, key, "an unknown key", "a key of a study", hint)
            elif key in ("vary", "links", "conditions"):
                self._add_table(key, value, place, lines)
            else:
                self.top[key] = Written(value, place)

    def _add_table(self, key: str, value: Any, place: str, lines: dict[str, int]) -> None:
        if not isinstance(value, dict):
            self.report(place, key, quoted(value), KEYS[key], f"write it below [{key}]")
            return
        into: dict[str, Written] = getattr(self, key)
        found = _flat(value) if key in _TABLES else value
        for name, inner in found.items():
            into[name] = Written(inner, _place(self.label, lines, f"{key}.{name}"))


def _flat(table: dict[str, Any], prefix: str = "") -> dict[str, Any]:
    """Dotted names of the leaves: a key may be quoted or not."""
    found: dict[str, Any] = {}
    for key, value in table.items():
        if isinstance(value, dict):
            found |= _flat(value, f"{prefix}{key}.")
        else:
            found[f"{prefix}{key}"] = value
    return found


def _place(label: str, lines: dict[str, int], path: str) -> str:
    while path:
        if path in lines:
            return f"{label}:{lines[path]}"
        path = path.rpartition(".")[0]
    return label


def content(path: Path) -> str:
    """
    Text of a case or study file.

    Parameters
    ----------
    path : Path
        Where it is.

    Returns
    -------
    str
        Its text.

    Raises
    ------
    CaseError
        If it cannot be read.
    """
    try:
        return text_file.content(path)
    except text_file.UnreadableFile as error:
        problem = Problem(str(path), "", error.found, "a TOML file", error.hint)
        raise CaseError([problem]) from None


def is_study(text: str) -> bool:
    """
    Whether a text is a study rather than a case.

    Parameters
    ----------
    text : str
        TOML; broken TOML counts as a case, whose reader says what is wrong with it.

    Returns
    -------
    bool
        True where it names a case or something to vary.
    """
    try:
        table = parsed(text)
    except BrokenToml:
        return False
    return "vary" in table or isinstance(table.get("case"), str)
