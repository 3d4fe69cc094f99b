"""Can what was asked for be written, and would it overwrite what is read or written besides?"""

from __future__ import annotations

import os
import unicodedata
from pathlib import Path
from typing import TYPE_CHECKING, Final, NamedTuple

import click

from enginesim.base.characters import LONGEST_PATH, excerpt, harmful, quoted
from enginesim.base.text_file import files_read

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

_LONGEST: Final = 255  # bytes of one name, on every common file system


class _Output(NamedTuple):
    """
    A file that a command is going to write.

    Attributes
    ----------
    option : str
        What asks for it.
    path : Path
        Where it will be.
    content : str
        What it will hold; two outputs of the same content may be one file.
    """

    option: str
    path: Path
    content: str


def require_writable(option: str, path: Path | None) -> None:
    """
    Refuse a place that could only fail after all the work; folders on the way are made later.

    Parameters
    ----------
    option : str
        Where it was typed.
    path : Path or None
        A file, or with ``--out`` a folder; None if nothing is to be written.

    Raises
    ------
    UsageError
        If nothing can be written there.
    """
    if path is None:
        return
    require_name(option, path)
    # The first that is there already: the folder itself, or one above it.
    place = path if option == "--out" and path.exists() else path.absolute().parent
    while not place.exists() and place != place.parent:
        place = place.parent
    if not place.is_dir():
        raise click.UsageError(f"{option} {path}: {place} is a file, not a folder")
    if not os.access(place, os.W_OK | os.X_OK):
        raise click.UsageError(f"{option} {path}: folder {place} cannot be written to")


def require_name(option: str, path: Path) -> None:
    """
    Refuse a name that no file can have, or that would do harm where it is shown.

    Parameters
    ----------
    option : str
        Where it was typed.
    path : Path
        As typed.

    Raises
    ------
    UsageError
        If a part of it is over 255 bytes, or a character steers a terminal or is none.
    """
    number = harmful(str(path))
    if number:
        raise click.UsageError(f"{option} {quoted(str(path))}: a name with the character {number}")
    longest = max((len(os.fsencode(part)) for part in path.parts), default=0)
    if longest > _LONGEST:
        raise click.UsageError(
            f"{option} {quoted(str(path))}: a name of {longest} bytes; allowed {_LONGEST}"
        )


def require_apart(
    files: Mapping[str, Path | None],
    *,
    out: Path | None = None,
    names: Sequence[str] = (),
    store: Path | None = None,
    no_store: bool = False,
) -> None:
    """
    Refuse to overwrite what was read, or one output by another, before anything is run.

    Parameters
    ----------
    files : mapping of str to Path or None
        Option of each file that is written, and where it was said to be.
    out : Path or None
        Folder of ``--out``.
    names : sequence of str
        Files of figures that are written into it.
    store : Path or None
        What was named with ``--store``; None for the usual one.
    no_store : bool
        Whether there is none.

    Raises
    ------
    UsageError
        With every clash. Links are followed, and names that differ in capitals alone count as
        one, as they do on many disks. The same figures may go to one file twice.
    """
    outputs = [] if no_store else _store_files(store)
    outputs += [
        _Output(option, path, option.removeprefix("--")) for option, path in files.items() if path
    ]
    if out is not None:
        outputs += [_Output("--out", out / name, Path(name).suffix[1:]) for name in names]
    found: list[str] = []
    for i, output in enumerate(outputs):
        shown = excerpt(str(output.path), LONGEST_PATH)
        if any(_is_one_file(output.path, file) for file in files_read()):
            found.append(
                f"{output.option}: {shown} would be written over a file that this command reads; "
                f"name another{_proposal(output)}"
            )
            continue
        others = [other for other in outputs[:i] if other.content != output.content]
        other = next((each for each in others if _is_same(each.path, output.path)), None)
        if other is not None:
            found.append(
                f"{other.option} and {output.option}: both would write {shown}; name a file for "
                "each"
            )
    if found:
        raise click.UsageError("\n".join(dict.fromkeys(found)))


def _store_files(store: Path | None) -> list[_Output]:
    """The store, and what SQLite puts beside it while it is open."""
    from enginesim.study.store_file import store_path

    path = store_path(store)
    option = "--store" if store is not None else "the store"
    return [_Output(option, Path(f"{path}{end}"), "store") for end in ("", "-wal", "-shm")]


def _proposal(output: _Output) -> str:
    """A name that is free, where the option takes that of a file."""
    free = output.path.with_name(f"{output.path.stem}-result.{output.content}")
    if output.option not in ("--json", "--csv", "--log") or free.exists():
        return ""
    return f", such as {output.option} {excerpt(str(free), LONGEST_PATH)}"


def _is_one_file(path: Path, other: Path) -> bool:
    """Whether two names lead to one file that is there."""
    try:
        return path.samefile(other)
    except OSError:
        return False


def _is_same(path: Path, other: Path) -> bool:
    return _is_one_file(path, other) or _key(path) == _key(other)


def _key(path: Path) -> str:
    """What two names of a file that is not there yet have in common."""
    try:
        place = path.resolve()
    except (OSError, RuntimeError):  # a ring of links
        place = path.absolute()
    return unicodedata.normalize("NFC", str(place)).casefold()
