"""Which engines are compared: several cases, or one with parts exchanged?"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from enginesim.base.characters import excerpt, quoted
from enginesim.base.errors import CaseError, Problem
from enginesim.case import load
from enginesim.case.text import described
from enginesim.study.case_numbers import field_value
from enginesim.study.comparison import LETTERS
from enginesim.study.fields import known_fields

if TYPE_CHECKING:
    from collections.abc import Sequence

    from enginesim.case import Case

#: No more engines than this in one comparison: a chart of more cannot be read.
MOST = 8
_FORM = "PART=FILE or PATH=VALUE, such as intake=parts/long-runner.toml"


@dataclass(frozen=True, slots=True)
class Entrant:
    """
    One engine that takes part.

    Attributes
    ----------
    letter : str
        By which it is called.
    label : str
        What it is, in a few words.
    case : Case
        The engine.
    """

    letter: str
    label: str
    case: Case


@dataclass(frozen=True, slots=True)
class Entry:
    """
    All engines of a comparison.

    Attributes
    ----------
    entrants : tuple of Entrant
        The first is the one that the others are compared with.
    has_sum : bool
        Whether they are a base, each swap alone, and all swaps together as the last.
    """

    entrants: tuple[Entrant, ...]
    has_sum: bool = False


def entry(paths: Sequence[Path], swaps: Sequence[str], overrides: Sequence[str]) -> Entry:
    """
    Engines of a comparison, from what was typed.

    Parameters
    ----------
    paths : sequence of Path
        Case files: two or more, or one with swaps.
    swaps : sequence of str
        ``PART=FILE`` or ``PATH=VALUE``, each against the one case.
    overrides : sequence of str
        ``PATH=VALUE`` for every engine.

    Returns
    -------
    Entry
        The engines. With several swaps of different parts the last has all of them.

    Raises
    ------
    CaseError
        With every problem of every case and swap.
    """
    problems = _form(paths, swaps)
    if problems:
        raise CaseError(problems)
    if swaps:
        return _swapped(paths[0], swaps, overrides)
    cases = [_load(path, overrides, problems) for path in paths]
    found = [case for case in cases if case is not None]
    if problems or len(found) < len(paths):
        raise CaseError(dict.fromkeys(problems))
    labels = [case.name or path.stem for case, path in zip(found, paths, strict=True)]
    if len(set(labels)) < len(labels):
        labels = [path.stem for path in paths]
    if len(set(labels)) < len(labels):
        labels = [str(path) for path in paths]
    return Entry(_lettered(labels, found))


def _form(paths: Sequence[Path], swaps: Sequence[str]) -> list[Problem]:
    problems: list[Problem] = []
    count = len(paths) + len(swaps)
    if not paths or count < 2:
        found = f"{len(paths)} case{'s' if len(paths) != 1 else ''} and no --swap"
        allowed = "two cases or more, or one with --swap PART=FILE"
        problems.append(Problem("cases", "", found, allowed))
    elif len(paths) > 1 and swaps:
        allowed = "one case with --swap, or several without"
        problems.append(Problem("cases", "", f"{len(paths)} cases with --swap", allowed))
    elif count > MOST:
        problems.append(Problem("cases", "", f"{count} engines", f"at most {MOST} at a time"))
    if len(set(paths)) < len(paths):
        same = next(path for path in paths if paths.count(path) > 1)
        problems.append(Problem("cases", "", f"{same} twice", "each case once"))
    for swap in swaps:
        path, mark, value = swap.partition("=")
        if not (path.strip() and mark and value.strip()):
            problems.append(Problem("--swap", "", quoted(swap), _FORM))
    if len(set(swaps)) < len(swaps):
        twice = next(swap for swap in swaps if swaps.count(swap) > 1)
        problems.append(Problem("--swap", "", f"{quoted(twice)} twice", "each swap once"))
    return problems


def _swapped(path: Path, swaps: Sequence[str], overrides: Sequence[str]) -> Entry:
    problems: list[Problem] = []
    base = _load(path, overrides, problems)
    if base is None:
        raise CaseError(problems)
    names = [swap.partition("=")[0].strip() for swap in swaps]
    has_sum = len(swaps) > 1 and not _overlap(names)
    cases = [_load(path, overrides, problems, f"--swap {swap}", (swap,)) for swap in swaps]
    if has_sum and not problems:
        together = f"--swap {' --swap '.join(swaps)}"
        cases.append(_load(path, overrides, problems, together, swaps))
    if problems:
        raise CaseError(dict.fromkeys(problems))
    labels = ["as it is", *map(_label, swaps), *(["all together"] if has_sum else [])]
    found = [base, *(case for case in cases if case is not None)]
    return Entry(_lettered(labels, found), has_sum)


def _overlap(names: Sequence[str]) -> bool:
    """Whether two swaps change the same part, so that they cannot be made together."""
    return any(
        i != j and (one == other or other.startswith(f"{one}."))
        for i, one in enumerate(names)
        for j, other in enumerate(names)
    )


def _label(swap: str) -> str:
    path, _, value = (text.strip() for text in swap.partition("="))
    if not value.endswith(".toml"):
        return f"{path} = {excerpt(value)}"
    name = Path(value).stem
    return name if name.startswith(path) else f"{path} {name}"


def _load(
    path: Path,
    overrides: Sequence[str],
    problems: list[Problem],
    place: str = "",
    swaps: Sequence[str] = (),
) -> Case | None:
    try:
        return load(path, overrides, swaps=swaps)
    except CaseError as error:
        misplaced = _misplaced(place, error.problems)
        if misplaced is not None:
            problems.append(misplaced)
            return None
        problems += [
            Problem(place, p.path, p.found, p.allowed, p.hint)
            if place and p.place == "--set"
            else p
            for p in error.problems
        ]
        return None


def _misplaced(place: str, problems: Sequence[Problem]) -> Problem | None:
    """A part's file given to another part, told by its keys, in place of all that follows."""
    table, _, value = place.removeprefix("--swap ").partition("=")
    keys = {
        tuple(problem.path.split("."))[1]
        for problem in problems
        if problem.found == "an unknown key" and problem.path.startswith(f"{table}.")
    }
    if len(keys) < 2 or not value.endswith(".toml"):
        return None
    from enginesim.case.facts import walk
    from enginesim.case.tree import Case as Tree

    fields = {tuple(path.split(".")[:2]) for path, _ in walk(Tree)}
    for other in sorted({path[0] for path in fields} - {table}):
        if all((other, key) in fields for key in keys):
            hint = f"did you mean {other}={value}?"
            found, allowed = f"a file with fields of {other}", f"one with fields of {table}"
            return Problem(place, table, found, allowed, hint)
    return None


def _lettered(labels: Sequence[str], cases: Sequence[Case]) -> tuple[Entrant, ...]:
    return tuple(
        Entrant(letter, label, case)
        for letter, label, case in zip(LETTERS, labels, cases, strict=False)
    )


def changes(a: Case, b: Case) -> tuple[tuple[str, str, str], ...]:
    """
    Fields in which two engines differ, defaults that follow them included.

    Parameters
    ----------
    a, b : Case
        Engines.

    Returns
    -------
    tuple of (str, str, str)
        Field, its value in `a` and in `b` as they were given or assumed, or as they follow from
        what was given; a dash where a field has none.
    """
    texts = [
        {item.path: item.value for item in case.assumed}
        | {path: str(value) for path, value in case.given.items()}
        for case in (a, b)
    ]
    skipped = {"name", "notes"}
    return tuple(
        (path, texts[0].get(path) or _implied(a, path), texts[1].get(path) or _implied(b, path))
        for path in dict.fromkeys([*texts[0], *texts[1]])
        if path not in skipped
        and texts[0].get(path) != texts[1].get(path)
        and (all(path in text for text in texts) or _implied(a, path) != _implied(b, path))
    )


def _implied(case: Case, path: str) -> str:
    """Value that follows from what was given, as people read it."""
    value = field_value(case, path)
    return "-" if value is None else described(known_fields()[path], value)
