"""How is a file that somebody named read: whole, small, an ordinary file, as text?"""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from pathlib import Path
from typing import Final

from enginesim.base.characters import LONGEST_PATH, excerpt, harmful
from enginesim.base.names import nearest_file

#: Largest file of a case, part, vehicle, study or histogram; each is a few thousand. [B]
LARGEST: Final = 1_000_000

_READ: ContextVar[list[Path] | None] = ContextVar("files read", default=None)


class UnreadableFile(Exception):
    """
    A file that gives no text.

    Parameters
    ----------
    found, hint : str
        As in `base.errors.Problem`.
    """

    def __init__(self, found: str, hint: str = "") -> None:
        super().__init__(found)
        self.found, self.hint = found, hint


@contextmanager
def recording() -> Iterator[list[Path]]:
    """
    Note which files are read.

    Yields
    ------
    list of Path
        Grows while the block runs.
    """
    files: list[Path] = []
    token = _READ.set(files)
    try:
        yield files
    finally:
        _READ.reset(token)


def files_read() -> tuple[Path, ...]:
    """
    Files that were read since the recording began.

    Returns
    -------
    tuple of Path
        In that order; none without a recording.
    """
    return tuple(_READ.get() or ())


def content(path: Path) -> str:
    """
    Text of a file.

    Parameters
    ----------
    path : Path
        Any place; what is no ordinary file is never waited for.

    Returns
    -------
    str
        Its text, without a byte-order mark.

    Raises
    ------
    UnreadableFile
        If its name has a harmful character, it is not there, no ordinary file, larger than
        `LARGEST`, no UTF-8 text, or cannot be read for another reason.
    """
    shown = excerpt(str(path), LONGEST_PATH)
    number = harmful(str(path))
    if number:
        raise UnreadableFile(f"{shown}, a name with the character {number}", "rename the file")
    try:
        with open(path, "rb", opener=_opened) as stream:
            mode = os.fstat(stream.fileno()).st_mode
            if not stat.S_ISREG(mode):
                raise UnreadableFile(f"{shown}, which is no ordinary file")
            data = stream.read(LARGEST + 1)
        if len(data) > LARGEST:
            raise UnreadableFile(f"{shown}, which is larger than {LARGEST} bytes")
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise UnreadableFile(f"{shown}, which is no UTF-8 text", "save it as UTF-8") from None
    except IsADirectoryError:
        raise UnreadableFile(f"a folder, {shown}") from None
    except (FileNotFoundError, NotADirectoryError):
        raise UnreadableFile(f"no file {shown}", _neighbor(path)) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise UnreadableFile(f"{shown}, which cannot be read", reason) from None
    read = _READ.get()
    if read is not None and path not in read:
        read.append(path)
    return text


def is_file(path: Path) -> bool:
    """
    Whether there is an ordinary file.

    Parameters
    ----------
    path : Path
        Any place, even one whose name no file can have.

    Returns
    -------
    bool
        False too where that cannot be found out.
    """
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False


def _opened(path: str, flags: int) -> int:
    # A pipe that nobody writes to would be waited for without end.
    return os.open(path, flags | getattr(os, "O_NONBLOCK", 0))


def _neighbor(path: Path) -> str:
    """Name in the same folder that looks like the wanted one."""
    try:
        names = [entry.name for entry in path.parent.iterdir()]
    except OSError:
        return f"there is no folder {excerpt(str(path.parent), LONGEST_PATH)}"
    near = nearest_file(path.name, names)
    return f"did you mean {excerpt(str(path.with_name(near)), LONGEST_PATH)}?" if near else ""
