"""The glossary is that of the fields, and the equations that are cited exist."""

from __future__ import annotations

import re
from pathlib import Path

from enginesim.report.glossary import glossary

ROOT = Path(__file__).parents[3]


def test_the_page_is_current() -> None:
    # If not: python -m enginesim.report.glossary docs
    assert (ROOT / "docs" / "glossary.md").read_text("utf-8") == glossary()


def test_every_equation_cited_is_on_the_page() -> None:
    page = (ROOT / "docs" / "theory" / "results.md").read_text("utf-8")
    labels = re.findall(r"^\$\$ \(([\w-]+)\)$", page, re.MULTILINE)
    assert len(labels) == len(set(labels))
    cited = set()
    for path in sorted((ROOT / "enginesim" / "performance").glob("*.py")):
        head = path.read_text("utf-8").split('"""')[1]
        for part in re.findall(r"[Ee]quations?\s(.*?)docs/theory", head, re.DOTALL):
            cited |= set(re.findall(r"`([\w-]+)`", part))
    assert len(cited) > 6
    assert cited <= set(labels)
