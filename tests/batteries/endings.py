"""What is wrong with how a call ends?"""

from __future__ import annotations

import contextlib
import csv
import hashlib
import io
import os
import signal
import traceback
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from types import FrameType

from enginesim.cli.main import main
from tests.batteries.malformed_calls import Call
from tests.patience import PATIENCE

#: Documented: done, a file that could not be written, wrong input, no result.
CODES = {0, 1, 2, 3}
MOST = 30_000  # characters that a refusal may take: 20 problems in full, quoted input cut


class _HangError(BaseException):
    """Out of reach of `except Exception`."""


@contextlib.contextmanager
def _guarded() -> Iterator[None]:
    def give_up(_number: int, _frame: FrameType | None) -> None:
        raise _HangError

    before = signal.signal(signal.SIGALRM, give_up)
    signal.alarm(int(PATIENCE))
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def faults(made: Call, folder: Path) -> list[str]:
    """Make a call in a folder of its own; everything that is wrong with how it ended, in words."""
    for name, data in made.files.items():
        (folder / name).write_bytes(data)
    if made.has_pipe:
        os.mkfifo(folder / "pipe")
    words = [word.replace("{}", str(folder)) for word in made.words]
    quiet, found = io.StringIO(), []
    code: object = None
    before, here = _contents(folder), Path.cwd()
    try:
        os.chdir(folder)
        with _guarded(), contextlib.redirect_stdout(quiet), contextlib.redirect_stderr(quiet):
            code = main(words)
    except _HangError:
        return [f"no end within {PATIENCE:g} s"]
    except BaseException as error:  # noqa: BLE001 - a traceback of any kind is a fault
        place = traceback.extract_tb(error.__traceback__)[-1]
        what = f"{type(error).__name__}: {str(error)[:200]}"
        return [f"traceback: {what} [{place.filename}:{place.lineno}]"]
    finally:
        os.chdir(here)
    said = quiet.getvalue()
    if code not in CODES:
        found.append(f"exit code {code}")
    if "Traceback (most recent call last)" in said:
        found.append("shows a traceback")
    if code == 2 and len(said) > MOST:
        found.append(f"{len(said)} characters of refusal")
    if code == 2 and not said.strip():
        found.append("refused without a word")
    if any(sign in said for sign in "\x1b\x7f\x85\x00"):
        found.append("control characters reach the terminal")
    after = _contents(folder)
    targets = _targets(made.words)
    free = {name for name in targets if not _is_input(made.words, name)}
    if code == 0 and len(targets) > len(set(targets)):
        found.append(f"wrote {', '.join(targets)}")
    if made.words[0] == "run":
        free.add("empty.sqlite")  # a new store may begin in an empty file
    changed = [n for n, digest in before.items() if after.get(n) != digest and n not in free]
    if changed:
        found.append(f"changed {', '.join(changed)}")
    new = after.keys() - before.keys()
    found += [
        f"a formula in {name}"
        for name in new
        if name.endswith(".csv") and _has_formula(folder / name)
    ]
    if code == 2 and new:
        found.append(f"refused, and left {', '.join(sorted(new))[:100]}")
    return found


def _has_formula(path: Path) -> bool:
    """Whether a spreadsheet would calculate a cell instead of showing it."""
    with path.open(encoding="utf-8", newline="") as file:
        cells = [cell for row in csv.reader(file) for cell in row]
    return any(cell[:1] in "=@+-\t\r" and not _is_number(cell) for cell in cells if cell)


def _is_number(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True


def _targets(words: list[str]) -> list[str]:
    """Files that a call names as places of its results."""
    options = ("--json", "--csv", "--log", "export")
    return [_name(word) for before, word in pairwise(words) if before in options]


def _is_input(words: list[str], name: str) -> bool:
    """Whether a call reads a file, so that it may not replace it."""
    others = [
        _name(b) for a, b in pairwise(words) if a not in ("--json", "--csv", "--log", "export")
    ]
    if "study.toml" in others:
        others.append("case.toml")
    return any(word.partition("=")[2] == name or word == name for word in others)


def _name(word: str) -> str:
    return word.replace("{}/", "").removeprefix("./")


def _contents(folder: Path) -> dict[str, str]:
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.rglob("*")
        if path.is_file()
    }
