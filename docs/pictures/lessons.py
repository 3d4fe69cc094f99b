"""
Are the lessons' pictures and numbers there, and those of today? What is not is made.

Loaded by Sphinx as an extension. Each lesson shows a command; what comes of it is kept below
`docs/_build/lessons`, with the key of what it was made from. What is quoted in a page as
`{{ lift.B.gain_6000 }}` comes from there too, so that no number of the text can be out of date.
"""

from __future__ import annotations

import hashlib
import json
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from docs.pictures.results import ROOT, Lesson, draw, lessons, numbers, outcome

if TYPE_CHECKING:
    from sphinx.application import Sphinx
    from sphinx.config import Config

    from enginesim.cli.contest import Contest

PAGES: Final = ROOT / "docs" / "lessons"
MADE: Final = ROOT / "docs" / "_build" / "lessons"
_STAMP: Final = "made.json"
#: Whatever decides what a picture or a sentence looks like, once the results are there.
_DRAWING: Final = ("enginesim/report", "enginesim/study", "enginesim/performance", "docs/pictures")


def drawing_digest() -> str:
    """Digest of the drawing code."""
    import matplotlib as mpl

    digest = hashlib.sha256(mpl.__version__.encode())
    for folder in _DRAWING:
        for path in sorted((ROOT / folder).glob("*.py")):
            digest.update(path.read_bytes())
    return digest.hexdigest()


def key(lesson: Lesson, contest: Contest, drawing: str) -> str:
    """
    Digest of everything that a lesson's pictures are made from.

    Parameters
    ----------
    lesson : Lesson
        The lesson.
    contest : Contest
        What its command asks for.
    drawing : str
        Digest of the drawing code.

    Returns
    -------
    str
        It changes with the command, a case, the physics, or the drawing.
    """
    from enginesim.base.provenance import PHYSICS_VERSION

    digests = [entrant.case.digest for entrant in contest.entry.entrants]
    what = [lesson.words, digests, PHYSICS_VERSION, drawing]
    return hashlib.sha256(json.dumps(what).encode()).hexdigest()


def make(pages: Path = PAGES, made: Path = MADE) -> dict[str, dict[str, dict[str, str]]]:
    """
    Make what is missing or out of date.

    Parameters
    ----------
    pages : Path
        Folder of the lessons.
    made : Path
        Where their pictures are kept.

    Returns
    -------
    dict
        For each lesson the numbers that it may quote; a dash in its name becomes an underscore.

    Raises
    ------
    EngineSimError
        If a command is wrong.
    RuntimeError
        If a lesson's engine does not become periodic at every speed.
    """
    drawing = drawing_digest()
    found = {}
    for lesson in lessons(pages):
        contest = lesson.contest()
        wanted = key(lesson, contest, drawing)
        folder = made / lesson.name
        kept = _kept(folder, wanted)
        if kept is None:
            kept = _make(lesson, contest, folder, wanted, made / "results.sqlite")
        found[lesson.name.replace("-", "_")] = kept
    return found


def _kept(folder: Path, wanted: str) -> dict[str, dict[str, str]] | None:
    """Numbers of a lesson that was made from the same, all of whose files are still there."""
    try:
        stamp: dict[str, Any] = json.loads((folder / _STAMP).read_text("utf-8"))
        if stamp["key"] != wanted or not all((folder / name).exists() for name in stamp["files"]):
            return None
        numbers: dict[str, dict[str, str]] = stamp["numbers"]
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return numbers


def _make(
    lesson: Lesson, contest: Contest, folder: Path, wanted: str, results: Path
) -> dict[str, dict[str, str]]:
    from docs.pictures.lobes import differ, draw_lobes
    from enginesim.report import files
    from enginesim.study.store import Store

    begun = time.monotonic()
    results.parent.mkdir(parents=True, exist_ok=True)
    with Store.open(results) as store:
        compared = outcome(lesson, contest, store)
    draw(compared, folder)
    if differ(compared.entrants):
        draw_lobes(compared.entrants, compared.title, folder / "lobes", lesson.system)
    quoted = numbers(compared)
    names = sorted(p.name for p in folder.iterdir() if p.suffix in (".svg", ".png", ".md"))
    stamp = {"key": wanted, "files": names, "numbers": quoted}
    files.write(folder / _STAMP, json.dumps(stamp, indent=1))
    _log(f"lesson {lesson.name}: made in {time.monotonic() - begun:.1f} s")
    return quoted


def _log(text: str) -> None:
    from sphinx.util import logging

    logging.getLogger(__name__).info(text)


def _fill_in(_app: Sphinx, config: Config) -> None:
    config.myst_substitutions = {**config.myst_substitutions, **make()}


def setup(app: Sphinx) -> dict[str, bool]:
    """
    Have Sphinx make the pictures before it reads the pages.

    Parameters
    ----------
    app : Sphinx
        The build.

    Returns
    -------
    dict
        That reading and writing may go in parallel.
    """
    app.connect("config-inited", _fill_in, priority=400)
    return {"parallel_read_safe": True, "parallel_write_safe": True}
