"""Where are the engines, studies and vehicles that come with the program, and what do they need?"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final

from enginesim.base.errors import CaseError, Problem
from enginesim.base.names import nearest
from enginesim.base.replacement import replacing

#: What a file's name begins with where an example is meant.
MARK: Final = "example:"
_FOLDERS: Final = ("", "studies", "vehicles")  # parts belong to the engines that name them
_FILE: Final = re.compile(r"[\w./-]+\.toml")


def root() -> Path:
    """
    Folder of the examples.

    Returns
    -------
    Path
        Within the package where that was installed from a wheel, beside it among the sources.

    Raises
    ------
    CaseError
        If there is none.
    """
    package = Path(__file__).resolve().parents[1]
    for place in (package, package.parent):
        if (place / "cases" / "vehicles").is_dir():
            return place / "cases"
    missing = str(package / "cases")
    raise CaseError([Problem(missing, "", "no folder", "the examples", "install enginesim anew")])


def examples() -> dict[str, Path]:
    """
    Everything that can be called by its name alone.

    Returns
    -------
    dict of str to Path
        Name of an engine, study or vehicle, and its file.

    Raises
    ------
    CaseError
        If this installation has none.

    Examples
    --------
    >>> "teaching-single" in examples()
    True
    """
    folder = root()
    files = [file for name in _FOLDERS for file in sorted((folder / name).glob("*.toml"))]
    return {file.stem: file for file in files}


def located(path: str | Path) -> Path:
    """
    File that a path or the name of an example means.

    Parameters
    ----------
    path : str or Path
        A path, or ``example:NAME``.

    Returns
    -------
    Path
        The example's file; any other path as it is.

    Raises
    ------
    CaseError
        If there is no such example; it lists those that there are.

    Examples
    --------
    >>> located("example:teaching-single").name
    'teaching-single.toml'
    """
    text = str(path)
    return example(text.removeprefix(MARK), text) if text.startswith(MARK) else Path(path)


def example(name: str, place: str) -> Path:
    """
    File of an example.

    Parameters
    ----------
    name : str
        Such as ``lake-boat-v8``.
    place : str
        Where it was named, for messages.

    Returns
    -------
    Path
        Its file.

    Raises
    ------
    CaseError
        If there is no such example; it lists those that there are.
    """
    known = examples()
    if name in known:
        return known[name]
    near = nearest(name, known)
    hint = f"did you mean {near}?" if near else ""
    found = f"no example called {name!r}" if name else "no name"
    raise CaseError([Problem(place, "", found, ", ".join(known), hint)])


def needed(file: Path) -> tuple[Path, ...]:
    """
    An example's file and every file that it names, comments included, and so on.

    Parameters
    ----------
    file : Path
        Within the folder of the examples.

    Returns
    -------
    tuple of Path
        Files, the example's first: its parts, and those that a comment proposes in their place.
    """
    folder = root()
    found, waiting = [file], [file]
    while waiting:
        one = waiting.pop(0)
        for name in _FILE.findall(one.read_text(encoding="utf-8")):
            # A study names its case from its own folder, and parts from that of the case.
            for beginning in (one.parent, folder):
                other = (beginning / name).resolve()
                if other.is_file() and other not in found:
                    found.append(other)
                    waiting.append(other)
    return tuple(found)


def copy(name: str, folder: Path, place: str, *, is_forced: bool = False) -> tuple[Path, ...]:
    """
    Copy an example with the files that it names.

    Parameters
    ----------
    name : str
        Such as ``lake-boat-v8``.
    folder : Path
        Where to; it is made if it is not there. The files lie in it as they do among the examples.
    place : str
        Where the name was written, for messages.
    is_forced : bool
        Whether files that are there already are replaced.

    Returns
    -------
    tuple of Path
        The copies that were written, the example's first.

    Raises
    ------
    CaseError
        If there is no such example, or one of the files is there already with another text.
        Nothing is written then.
    OSError
        If the folder cannot be written. What had been copied is taken away again.
    """
    above = root()
    first, *others = needed(example(name, place))
    copies = {folder / file.relative_to(above): file.read_bytes() for file in (first, *others)}
    if not is_forced:
        target = folder / first.relative_to(above)
        # A part that another example brought along is as good as a copy of it.
        copies = {
            copy: content
            for copy, content in copies.items()
            if copy == target or not (copy.is_file() and copy.read_bytes() == content)
        }
        there = [copy for copy in copies if copy.exists()]
        if there:
            raise CaseError(
                Problem(str(copy), "", "a file that is there already", "", "--force replaces it")
                for copy in there
            )
    written: list[Path] = []
    try:
        for copy, content in copies.items():
            is_new = not copy.exists()
            copy.parent.mkdir(parents=True, exist_ok=True)
            with replacing(copy) as aside:
                aside.write_bytes(content)
            if is_new:
                written.append(copy)
    except OSError:
        for copy in written:
            copy.unlink(missing_ok=True)
        raise
    return tuple(copies)
