"""Does the manual show only what there is, and all that there is?"""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

import enginesim
from tests.meta.tree import ROOT

PAGES = sorted(
    [ROOT / "README.md", ROOT / "DEVELOPERS.md"]
    + [p for p in (ROOT / "docs").rglob("*.md") if "_build" not in p.parts]
)
FUNCTIONS = sorted(set(enginesim.__all__) - {"__version__"})

_FENCE = re.compile(r"^```(\w*)\n(.*?)^```", re.MULTILINE | re.DOTALL)
_INLINE = re.compile(r"(?<!`)`(enginesim [^`\n]+)`(?!`)")
_LINK = re.compile(r"\]\(([^)#:\s]+)(?:#[^)\s]*)?\)")


def commands(text: str) -> list[list[str]]:
    """Every call of `enginesim` in a code block or between backticks, as words."""
    shown = list(_INLINE.findall(text))
    for language, block in _FENCE.findall(text):
        if language in ("", "sh", "bash", "console", "text"):
            joined = block.replace("\\\n", " ")
            shown += [part for line in joined.splitlines() for part in re.split(r"&&|\|", line)]
    found = []
    for line in shown:
        match = re.match(r"\s*(?:\$ )?(?:\S*/)?(enginesim .*)", line)
        if match:
            found.append(shlex.split(match.group(1), comments=True)[1:])
    return found


@cache
def help_text(*command: str) -> str:
    program = "import sys; from enginesim.cli.main import main; sys.exit(main())"
    shown = subprocess.run(
        [sys.executable, "-c", program, *command, "--help"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    return shown.stdout if shown.returncode == 0 else ""


def faults(words: list[str]) -> list[str]:
    """What is wrong with a command that the manual shows."""
    if not words or words[0].startswith("-"):
        name, text = "enginesim", help_text()
    else:
        name, text = words[0], help_text(words[0])
        if not text:
            return [f"no command {name!r}"]
        if "Commands:" in text and len(words) > 1 and re.fullmatch(r"[a-z]+", words[1]):
            name, text = " ".join(words[:2]), help_text(*words[:2])
            if not text:
                return [f"no command {name!r}"]
    wrong = []
    for word in words:
        option = word.split("=")[0]
        if re.fullmatch(r"--?[a-z][a-z-]*", option) and option != "--help":
            if not re.search(rf"(?<![\w-]){re.escape(option)}(?![\w-])", text):
                wrong.append(f"{name} has no option {option}")
        elif word.startswith("cases/") and not (ROOT / word).exists():
            wrong.append(f"no file {word}")
    return wrong


@pytest.mark.parametrize("page", PAGES, ids=lambda p: str(p.relative_to(ROOT)))
def test_every_command_shown_exists(page: Path) -> None:
    wrong = [fault for words in commands(page.read_text("utf-8")) for fault in faults(words)]
    assert wrong == []


def test_the_check_of_commands_can_fail() -> None:
    assert commands("`enginesim fly cases/a.toml`") == [["fly", "cases/a.toml"]]
    assert commands("```sh\n.venv/bin/pip install . && .venv/bin/enginesim run x.toml\n```") == [
        ["run", "x.toml"]
    ]
    assert faults(["fly"]) == ["no command 'fly'"]
    assert faults(["store", "fly"]) == ["no command 'store fly'"]
    assert faults(["store", "list", "--failures"]) == []
    assert faults(["store", "list", "--no-such"]) == ["store list has no option --no-such"]
    assert faults(["run", "cases/no-such.toml", "--no-such-option"]) == [
        "no file cases/no-such.toml",
        "run has no option --no-such-option",
    ]


@pytest.mark.parametrize("page", PAGES, ids=lambda p: str(p.relative_to(ROOT)))
def test_every_link_leads_somewhere(page: Path) -> None:
    targets = _LINK.findall(_FENCE.sub("", page.read_text("utf-8")))
    assert [t for t in targets if not (page.parent / t).exists()] == []


@pytest.mark.parametrize("name", FUNCTIONS)
def test_every_public_name_is_in_the_manual(name: str) -> None:
    reference = (ROOT / "docs" / "api.md").read_text("utf-8")
    assert re.search(rf"^\.\. autofunction:: enginesim\.{name}$", reference, re.MULTILINE)


@pytest.mark.parametrize("name", FUNCTIONS)
def test_every_public_name_can_be_fetched(name: str) -> None:
    assert callable(getattr(enginesim, name))


def test_unknown_public_name() -> None:
    with pytest.raises(AttributeError, match="no attribute 'simulat'"):
        enginesim.simulat  # noqa: B018  the access is what is tested
    assert set(FUNCTIONS) <= set(dir(enginesim))
