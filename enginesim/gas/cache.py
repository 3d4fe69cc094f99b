"""
Where are finished tables kept, and when may a kept one be trusted?

A file's name is a digest of everything that decides its contents: what was asked for, the
sources of this room, and the installed Cantera. So nothing is ever stale, only unused.
"""

from __future__ import annotations

import contextlib
import hashlib
import zipfile
import zlib
from collections.abc import Callable, Mapping
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from enginesim.base.folders import cache_root
from enginesim.base.replacement import replacing

Arrays = dict[str, NDArray[np.float64]]

_ROOM = Path(__file__).resolve().parent
_KEEP = 500  # files of about 50 kB each
_UNREADABLE = (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile, zlib.error)


def fetched(
    request: str, shapes: Mapping[str, tuple[int, ...]], build: Callable[[], Arrays]
) -> Arrays:
    """
    Arrays from the cache, or built and put there.

    Parameters
    ----------
    request : str
        What is asked for, exactly; part of the file's name.
    shapes : mapping of str to tuple of int
        Names and shapes that a good file holds. [-]
    build : callable
        Makes the arrays when no good file is there.

    Returns
    -------
    dict of str to ndarray
        The arrays.

    Notes
    -----
    A file that is damaged is made anew. A folder that cannot be written costs time, nothing
    else. Several processes may write at once: each writes aside and renames. Source: own design.
    """
    path = cache_root() / "gas" / f"{digest(request)}.npz"
    arrays = _read(path, shapes)
    if arrays is None:
        arrays = build()
        with contextlib.suppress(OSError):
            _write(path, arrays)
    return arrays


def digest(request: str) -> str:
    """
    Name of the file that answers a request.

    Parameters
    ----------
    request : str
        What is asked for, exactly.

    Returns
    -------
    str
        First 32 hexadecimal digits of a SHA-256 over request, sources and Cantera.

    Notes
    -----
    Source: own design.
    """
    return hashlib.sha256(f"{request}\n{_stamp()}".encode()).hexdigest()[:32]


@lru_cache(maxsize=1)
def _stamp() -> str:
    """Digest of the sources of this room, the constants, and Cantera's version and data."""
    found = hashlib.sha256()
    for path in (*sorted(_ROOM.glob("*.py")), _ROOM.parent / "base" / "constants.py"):
        found.update(path.name.encode())
        found.update(path.read_bytes())
    # Found without importing it: that would take thirty times as long as reading a table.
    cantera = find_spec("cantera")
    if cantera is not None and cantera.origin is not None:
        package = Path(cantera.origin).parent
        installed = sorted(path.name for path in package.parent.glob("cantera-*.dist-info"))
        found.update(repr(installed).encode())
        found.update((package / "data" / "nasa_gas.yaml").read_bytes())
    return found.hexdigest()


def _read(path: Path, shapes: Mapping[str, tuple[int, ...]]) -> Arrays | None:
    try:
        with path.open("rb") as file, np.load(file, allow_pickle=False) as stored:
            arrays = {name: np.asarray(stored[name], dtype=np.float64) for name in shapes}
    except _UNREADABLE:
        return None
    is_good = all(
        arrays[name].shape == shape and np.isfinite(arrays[name]).all()
        for name, shape in shapes.items()
    )
    return arrays if is_good else None


def _write(path: Path, arrays: Arrays) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    with replacing(path) as aside, aside.open("wb") as file:
        np.savez(file, **arrays)  # type: ignore[arg-type]  # numpy's stub: `allow_pickle`
    _drop_oldest(path.parent)


def _drop_oldest(folder: Path) -> None:
    by_age = sorted(folder.glob("*.npz"), key=lambda path: path.stat().st_mtime)
    for path in by_age[:-_KEEP]:
        path.unlink(missing_ok=True)
