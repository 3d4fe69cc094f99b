"""On which line of a TOML text does a dotted key stand?"""

from __future__ import annotations

import re

_KEY_PART = r"""(?:[A-Za-z0-9_-]+|"[^"\n]*"|'[^'\n]*')"""
_KEY = rf"{_KEY_PART}(?:\s*\.\s*{_KEY_PART})*"
_TABLE = re.compile(rf"\s*\[\[?\s*({_KEY})\s*\]\]?\s*(?:#.*)?$")
_PAIR = re.compile(rf"\s*({_KEY})\s*=(.*)$", re.DOTALL)
_INLINE = re.compile(rf"[{{,]\s*({_KEY})\s*=")
_STRING = re.compile(
    r"""\"{3}.*?\"{3}|'{3}.*?'{3}|\"(?:\\.|[^\"\\\n])*\"|'[^'\n]*'|#[^\n]*""",
    re.DOTALL,
)
_LONG_QUOTES = ('"""', "'''")


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
        Dotted key to line number, from 1. Keys of an inline table on one line are included.

    Examples
    --------
    >>> key_lines('name = "a"\n[block]\nbore = "4 in"\n')["block.bore"]
    3
    """
    lines: dict[str, int] = {}
    prefix = ""
    rows = text.splitlines()
    i = 0
    while i < len(rows):
        table, pair = _TABLE.match(rows[i]), _PAIR.match(rows[i])
        start = i
        if table:
            prefix = _plain(table.group(1)) + "."
            lines.setdefault(prefix[:-1], i + 1)
        elif pair:
            path = prefix + _plain(pair.group(1))
            lines.setdefault(path, i + 1)
            value = pair.group(2)
            while _is_open(value) and i + 1 < len(rows):
                i += 1
                value += "\n" + rows[i]
            if value.lstrip().startswith("{"):
                for inner in _INLINE.finditer(_without_strings(value)):
                    row = start + value.count("\n", 0, inner.start()) + 1
                    lines.setdefault(f"{path}.{_plain(inner.group(1))}", row)
        i += 1
    return lines


def _plain(key: str) -> str:
    """Key without quotes and spaces."""
    parts = re.findall(_KEY_PART, key)
    return ".".join(part.strip("\"'") for part in parts)


def _without_strings(value: str) -> str:
    """Value with every string and comment blanked, each as long as it was."""
    return _STRING.sub(lambda match: re.sub(r"[^\n]", " ", match.group()), value)


def _is_open(value: str) -> bool:
    """Whether a value goes on in the next line."""
    for quotes in _LONG_QUOTES:
        if value.lstrip().startswith(quotes):
            return value.count(quotes) < 2
    rest = _without_strings(value)
    return sum(rest.count(c) for c in "[{") > sum(rest.count(c) for c in "]}")
