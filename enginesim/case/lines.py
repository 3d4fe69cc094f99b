"""Which table is a TOML text, and on which line does each dotted key stand?"""

from __future__ import annotations

import re
import tomllib
from collections import deque
from typing import Any, Final

#: Most parts of a dotted key, and most tables and lists within one another.
DEEPEST: Final = 32

_TOKEN: Final = re.compile(
    r"""
    (?P<text>\"{3}(?:\\.|[^\\])*?(?:\"{3,5}|\Z) | '{3}.*?(?:'{3,5}|\Z)
           | \"(?:\\.|[^\"\\\n])*\"? | '[^'\n]*'?)
    | (?P<comment>\#[^\n]*) | (?P<end>\n) | (?P<mark>[\[\]{}=,.]) | (?P<word>[A-Za-z0-9_-]+)
    | (?P<blank>[^\S\n]+) | (?P<other>.)
    """,
    re.DOTALL | re.VERBOSE,
)
_AT_LINE: Final = re.compile(r" \(at line (\d+), column \d+\)$")
_LONG_INTEGER: Final = re.compile(r"[0-9_]{4000}")
_TOO_LARGE: Final = "a whole number of more than 64 bits"


class BrokenToml(ValueError):
    """
    Text that is no TOML, or none that a person wrote.

    Parameters
    ----------
    found : str
        What is wrong with it.
    line : int
        Where, from 1.
    """

    def __init__(self, found: str, line: int) -> None:
        super().__init__(found)
        self.found, self.line = found, line


def parsed(text: str) -> dict[str, Any]:
    """
    Table of a TOML text.

    Parameters
    ----------
    text : str
        A whole file.

    Returns
    -------
    dict of str to object
        As TOML has it.

    Raises
    ------
    BrokenToml
        If it is no TOML, has a whole number of more than 64 bits, or keys, tables or lists lie
        deeper than `DEEPEST`.
    """
    deep = _deep_line(text)
    if deep:
        raise BrokenToml(f"broken TOML: more than {DEEPEST} levels of names or brackets", deep)
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        reason = str(error)
        at = _AT_LINE.search(reason)
        last = text.count("\n") + 1 if "end of document" in reason else 1
        raise BrokenToml(f"broken TOML: {reason}", int(at[1]) if at else last) from None
    except ValueError:  # an integer that Python itself refuses
        long = _LONG_INTEGER.search(text)
        line = text.count("\n", 0, long.start()) + 1 if long else 1
        raise BrokenToml(f"broken TOML: {_TOO_LARGE}", line) from None
    key = _beyond_64_bits(table)
    if key:
        raise BrokenToml(f"broken TOML: {key}: {_TOO_LARGE}", key_lines(text).get(key, 1))
    return table


def _beyond_64_bits(table: dict[str, Any]) -> str:
    """Key of the first whole number that TOML does not have; empty if there is none."""
    waiting: deque[tuple[str, Any]] = deque(table.items())
    while waiting:
        key, value = waiting.popleft()
        if isinstance(value, dict):
            waiting.extend([(f"{key}.{name}", inner) for name, inner in value.items()])
        elif isinstance(value, list):
            waiting.extend([(key, inner) for inner in value])
        elif isinstance(value, int) and not -(2**63) <= value < 2**63:
            return key
    return ""


def _deep_line(text: str) -> int:
    """First line with names or brackets that lie too deep; 0 if there is none."""
    line, names, brackets = 1, 0, 0
    for token in _TOKEN.finditer(text):
        kind, found = token.lastgroup, token.group()
        if kind == "mark" and found == ".":
            names += 1
        elif kind not in ("word", "text", "blank"):
            names = 0
        if kind == "mark":
            brackets = max(brackets + (found in "[{") - (found in "]}"), 0)
        if max(names, brackets) > DEEPEST:
            return line
        line += found.count("\n")
    return 0


def key_lines(text: str) -> dict[str, int]:
    r"""
    Line of every table and key of a TOML text.

    Parameters
    ----------
    text : str
        A text that is valid TOML (of another one the result is of no use, but there is one).

    Returns
    -------
    dict of str to int
        Dotted key to line number, from 1. Keys of inline tables are included.

    Examples
    --------
    >>> key_lines('name = "a"\n[block]\nbore = "4 in"\n')["block.bore"]
    3
    """
    found: dict[str, int] = {}
    table = ""  # that of the last header
    around: list[str | None] = []  # of each open bracket of a value: its table, None for a list
    key: list[str] = []
    prefix, start, line = "", 1, 1
    is_header, is_key = False, True
    for token in _TOKEN.finditer(text):
        kind, mark = token.lastgroup, token.group()
        if kind == "end" and not around:
            is_header, is_key, key, prefix = False, True, [], table
        elif is_key and kind in ("word", "text"):
            if not key:
                start = line
            key.append(_plain(mark))
        elif kind == "mark":
            if is_key and mark == "[" and not key and not around:
                is_header = True
            elif is_header and mark == "]":
                if key:
                    table = _joined("", key)
                    found.setdefault(table, start)
                is_key, key = False, []
            elif is_key and mark == "=":
                if key:
                    prefix = _joined(prefix, key)
                    found.setdefault(prefix, start)
                is_key, key = False, []
            elif not is_key or mark in "]}":
                prefix, is_key = _within_value(mark, around, prefix)
                key = []
        line += mark.count("\n")
    return found


def _within_value(mark: str, around: list[str | None], prefix: str) -> tuple[str, bool]:
    """Path of the table that a mark leads to, and whether a key comes next."""
    if mark == "{":
        around.append(prefix)
        return prefix, True
    if mark == "[":
        around.append(None)
    elif mark in "]}" and around:
        around.pop()
    elif mark == "," and around and around[-1] is not None:
        return around[-1], True
    return prefix, False


def _joined(prefix: str, key: list[str]) -> str:
    path = ".".join(key)
    return f"{prefix}.{path}" if prefix else path


def _plain(key: str) -> str:
    """Key without its quotes."""
    return key[1:-1] if key[:1] in ("'", '"') else key
