"""
Do the quick parts of the checks in `validation/` still say what their table says?

A check may miss: that is published. What may not happen unnoticed is that a row which was within
its limit no longer is.
"""

from __future__ import annotations

import pytest

from validation import ledger, runner
from validation.folder import Folder, every
from validation.judgement import FAILED, WITHIN, Row

FOLDERS = every()


@pytest.fixture(scope="module")
def rows() -> dict[str, list[Row]]:
    found: dict[str, list[Row]] = {folder.name: [] for folder in FOLDERS}
    for row in runner.run(FOLDERS, fast=True, jobs=2, keep=False):
        found[row.check].append(row)
    return found


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_quick_part_is_no_worse_than_the_table(folder: Folder, rows: dict[str, list[Row]]) -> None:
    kept = ledger.load(folder.path)
    assert kept is not None, f"python -m validation --only {folder.name}"
    table = {(row.measure, row.of): row.verdict for row in kept.rows}
    for row in rows[folder.name]:
        assert row.verdict != FAILED, row.found
        assert (row.measure, row.of) in table
        if table[row.measure, row.of] == WITHIN:
            assert row.verdict == WITHIN, f"{row.what}: {row.found}, limit {row.limit}"
