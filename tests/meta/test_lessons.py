"""Has every lesson its question, command, picture and reason, and does the index know it?"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from docs.pictures.lessons import PAGES
from docs.pictures.results import commands, lessons
from tests.meta.tree import ROOT

OTHERS = {"index", "words", "class"}
LESSONS = sorted(path for path in PAGES.glob("*.md") if path.stem not in OTHERS)
PARTS = ("Guess first", "Run it", "What comes out", "Why", "How sure")
SUBJECTS = {
    "lift", "duration", "lobe-separation", "advance", "runner-length", "primary-size",
    "compression",
}  # fmt: skip

_SECTION = re.compile(r"^## ([^\n]+)\n(.*?)(?=^## |\Z)", re.MULTILINE | re.DOTALL)
_FIGURE = re.compile(r"^```\{figure\} (\S+)\n:alt: (.+)\n```$", re.MULTILINE)
_INCLUDE = re.compile(r"^```\{include\} (\S+)\n```$", re.MULTILINE)
_QUOTED = re.compile(r"\{\{(.*?)\}\}")

each_lesson = pytest.mark.parametrize("page", LESSONS, ids=lambda path: path.stem)


def sections(page: Path) -> dict[str, str]:
    return dict(_SECTION.findall(page.read_text("utf-8")))


def test_there_is_a_lesson_on_each_subject() -> None:
    assert {page.stem for page in LESSONS} == SUBJECTS


@each_lesson
def test_parts_in_their_order(page: Path) -> None:
    found = sections(page)
    assert tuple(found) == PARTS
    assert "?" in found["Guess first"]
    assert commands(found["Run it"])[0][0] == "compare"
    assert next(Path(path).name for path, _ in _FIGURE.findall(found["What comes out"])) == (
        "compare.svg"
    )
    assert re.search(r"why-[B-F]\.svg", found["Why"])
    assert len(found["Why"].split()) > 100
    assert len(found["How sure"].split()) > 30


@each_lesson
def test_the_answer_is_not_given_away(page: Path) -> None:
    """Before the command only what is changed may be seen, and no figure of a result."""
    before = sections(page)["Guess first"]
    assert {Path(path).name for path, _ in _FIGURE.findall(before)} <= {"lobes.svg"}
    assert [q for q in _QUOTED.findall(before) if "compression_ratio" not in q] == []


@each_lesson
def test_pictures_and_numbers_are_of_its_own_command(page: Path) -> None:
    text = page.read_text("utf-8")
    names = {lesson.name for lesson in lessons(PAGES) if lesson.name.startswith(page.stem)}
    shown = [path for path, _ in _FIGURE.findall(text)] + _INCLUDE.findall(text)
    assert shown
    assert {Path(path).parent.name for path in shown} <= names
    assert {str(Path(path).parent.parent) for path in shown} == {"../_build/lessons"}
    quoted = {key.strip().split(".")[0] for key in _QUOTED.findall(text)}
    assert quoted <= {name.replace("-", "_") for name in names}


@each_lesson
def test_no_result_is_written_by_hand(page: Path) -> None:
    """A figure of torque or power in the reason comes from the build; others name their source."""
    why = sections(page)["Why"]
    assert re.findall(r"\d+ (?:lb-ft|hp|N m|kW)\b", _QUOTED.sub("", why)) == []


def test_the_index_knows_every_page() -> None:
    index = (PAGES / "index.md").read_text("utf-8")
    tree = re.search(r"```\{toctree\}\n(.*?)```", index, re.DOTALL)
    assert tree is not None
    listed = {line for line in tree.group(1).splitlines() if line and not line.startswith(":")}
    assert listed == {page.stem for page in PAGES.glob("*.md")} - {"index"}
    for page in PAGES.glob("*.md"):
        assert page.stem == "index" or f"]({page.name})" in index
    assert "lessons/index\n" in (ROOT / "docs" / "index.md").read_text("utf-8")


def test_the_words_of_the_lessons_are_explained() -> None:
    words = (PAGES / "words.md").read_text("utf-8")
    for subject in SUBJECTS - {"primary-size", "runner-length", "compression"}:
        assert f"| {subject.replace('-', ' ')} |" in words
