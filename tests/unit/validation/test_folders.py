"""Has every check what it must have, and is the page what the checks found?"""

from __future__ import annotations

import statistics
from dataclasses import replace

import pytest

from tests.meta.tree import python_files, tracked_files
from validation import ledger, page
from validation.folder import ROOT, Folder, every
from validation.judgement import MISS, WITHIN, EvidenceError, Limit

FOLDERS = every()
each = pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)


def test_there_are_checks() -> None:
    assert len(FOLDERS) >= 10


@each
def test_folder_is_complete(folder: Folder) -> None:
    for name in ("source.toml", "check.toml", "check.py", "notes.md", "found.json", "figure.png"):
        assert (folder.path / name).is_file(), name
    assert (folder.path / "figure.png").stat().st_size < 300_000
    assert folder.question.endswith("?")
    tracked = tracked_files()
    if tracked is not None:
        assert f"validation/{folder.name}/found.json" in tracked


@each
def test_every_limit_is_used_and_every_source_named(folder: Folder) -> None:
    kept = ledger.load(folder.path)
    assert kept is not None
    assert {row.measure for row in kept.rows} == set(folder.limits)
    assert {limit.source for limit in folder.limits.values()} == set(folder.sources)


@each
def test_kept_rows_are_those_of_the_limits(folder: Folder) -> None:
    """A limit that was changed afterwards asks for a new run."""
    kept = ledger.load(folder.path)
    assert kept is not None
    for row in kept.rows:
        limit = folder.limit(row.measure)
        assert (row.limit, row.why) == (limit.in_words(), limit.why), row.what
        assert row.verdict in (WITHIN, MISS)


@each
def test_no_limit_admits_everything(folder: Folder) -> None:
    for limit in folder.limits.values():
        assert not (limit.admits(-1e30, 1.0) and limit.admits(1e30, 1.0))


def test_page_is_what_the_checks_found() -> None:
    """`python -m validation` writes it; nobody edits it."""
    assert (ROOT / "README.md").read_text("utf-8") == page.made()


def test_misses_stay_on_the_page() -> None:
    folder = FOLDERS[0]
    kept = ledger.load(folder.path)
    assert kept is not None
    bad = replace(kept.rows[0], verdict=MISS, found="7", cause="a hot | spot")
    text = page.text([folder], {folder.name: replace(kept, rows=(bad,), physics=0)})
    assert "0 of 1 rows are within their limits, 1 miss" in text
    assert "**miss**" in text
    assert "found 7" in text
    assert "a hot \\| spot" in text
    assert "now older" in text


def test_check_never_run_is_on_the_page() -> None:
    assert "not yet run" in page.text([FOLDERS[0]], {})


def test_wrong_limit_or_source_is_refused() -> None:
    with pytest.raises(EvidenceError, match="no limit for 'speed'"):
        FOLDERS[0].limit("speed")
    with pytest.raises(EvidenceError, match="one of"):
        Limit.read("x", {"what": "a", "why": "b"})


def test_files_stay_small() -> None:
    sizes = {path: len(path.read_text("utf-8").splitlines()) for path in python_files(ROOT)}
    assert {path: n for path, n in sizes.items() if n >= 400} == {}
    assert statistics.median(sizes.values()) <= 200
