"""The file of pins: reading, writing, and whether new numbers may take the place of old ones."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tests.regression.measured import Measured, Row, moves

FILE = Path(__file__).with_name("pins.json")

Results = dict[str, dict[str, Row]]


@dataclass
class Pins:
    """
    What is pinned.

    Attributes
    ----------
    physics : int
        `PHYSICS_VERSION` of the results.
    results : dict
        By engine and speed.
    keys : dict
        Keys of the files that commands write, by file.
    codes : dict
        Exit codes of commands.
    """

    physics: int
    results: Results = field(default_factory=dict)
    keys: dict[str, list[str]] = field(default_factory=dict)
    codes: dict[str, int] = field(default_factory=dict)


class RefusedError(Exception):
    """The new numbers may not be written; the text says why and what to do."""


def read(path: Path = FILE) -> Pins:
    """The pins of a file; none, of no version, where there is no file."""
    if not path.exists():
        return Pins(physics=0)
    return Pins(**json.loads(path.read_text("utf-8")))


def write(pins: Pins, path: Path = FILE) -> None:
    """Write pins, a line for each speed and each list, so that a difference can be read."""
    lines = [f'"physics": {pins.physics}', f'"codes": {_block(pins.codes)}']
    lines += [f'"keys": {_block(pins.keys)}']
    engines = {name: _Text(_block(rows)) for name, rows in sorted(pins.results.items())}
    lines += [f'"results": {_block(engines)}']
    text = "{\n" + ",\n".join(lines) + "\n}\n"
    json.loads(text)
    path.write_text(text, "utf-8")


class _Text(str):
    """Is JSON already."""


def _block(members: Mapping[str, Any]) -> str:
    inner = (
        f"{json.dumps(key)}: {value if isinstance(value, _Text) else json.dumps(value)}"
        for key, value in members.items()
    )
    return "{\n" + ",\n".join(inner) + "\n}"


def moved(pins: Pins, measured: Mapping[str, Mapping[str, Measured]]) -> list[str]:
    """Every number that has moved, in words; what is not pinned yet cannot."""
    return [
        f"{name}, {rpm} rpm: {text}"
        for name, speeds in measured.items()
        for rpm, new in speeds.items()
        for text in moves(pins.results.get(name, {}).get(rpm, {}), new)
        if rpm in pins.results.get(name, {})
    ]


def rewritten(
    pins: Pins, measured: Mapping[str, Mapping[str, Measured]], physics: int
) -> tuple[Results, list[str]]:
    """
    Results as they are to be pinned, and what has moved.

    What has not moved keeps its pin to the last digit, so that small steps add up until they show.

    Raises
    ------
    RefusedError
        If numbers moved under the version that is pinned, or none did under another one.
    """
    found = moved(pins, measured)
    if physics == pins.physics and found:
        raise RefusedError(
            "\n".join(found) + f"\n\n{len(found)} numbers have moved, and PHYSICS_VERSION is still "
            f"{physics}: nothing was written.\nIf they moved on purpose, raise PHYSICS_VERSION in "
            "enginesim/base/provenance.py by one, say in the change log which, by how much and "
            "why, and run this again.\nIf not, something moves results that should not."
        )
    if pins.results and physics != pins.physics and not found:
        raise RefusedError(
            f"No pinned number has moved, but PHYSICS_VERSION is {physics} and the pins are of "
            f"{pins.physics}: nothing was written.\nPut PHYSICS_VERSION back to {pins.physics}. If "
            "the change moves an engine that is not pinned, first pin that one under version "
            f"{pins.physics}, with the code as it was."
        )
    results: Results = {}
    for name, speeds in measured.items():
        old = pins.results.get(name, {})
        results[name] = {
            rpm: new.row
            if rpm not in old or moves(old[rpm], new) or new.row.keys() != old[rpm].keys()
            else old[rpm]
            for rpm, new in speeds.items()
        }
    return results, found
