"""From a case file to a case, or to the list of everything that is wrong with it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

from enginesim.base.errors import CaseError
from enginesim.case import checks, redundancy, rockers
from enginesim.case.defaults import COMPLETIONS, RULES
from enginesim.case.document import Document
from enginesim.case.draft import Draft
from enginesim.case.examples import located
from enginesim.case.facts import fields_of, walk
from enginesim.case.text import in_si
from enginesim.case.tree import Case

if TYPE_CHECKING:
    from enginesim.case.facts import Field, Part
    from enginesim.case.tree import Assumed

#: Fields to change: a mapping of path to value, or texts ``path=value``.
Changes: TypeAlias = Mapping[str, Any] | str | Iterable[str]


def load(
    path: str | Path,
    overrides: Changes = (),
    *,
    swaps: Changes = (),
    is_lenient: bool = False,
) -> Case:
    """
    Case of a file.

    Parameters
    ----------
    path : str or Path
        TOML file; part files are looked for beside it. ``example:NAME`` is an engine that comes
        with the program, such as ``example:lake-boat-v8``.
    overrides : mapping, str or iterable of str
        What replaces the file's values: ``{"cam.lobe_separation": "112 deg"}``, with text as in
        a case file or a number in SI; or texts ``path=value``, such as
        ``cam.lobe_separation=112`` or ``cam=parts/touring.toml``. A part file is looked for
        beside the case, then in the current folder.
    swaps : mapping, str or iterable of str
        More of the same, on top: they also replace what `overrides` say of the same thing in
        another way.
    is_lenient : bool
        Whether a cam card that contradicts itself gives a warning instead of an error.

    Returns
    -------
    Case
        Complete, in SI.

    Raises
    ------
    CaseError
        With every problem, if there is any.

    Examples
    --------
    >>> load("example:lake-boat-v8", ["cam=parts/cam-228.toml"]).block.n_cylinders
    8
    """
    path = located(path)
    document = Document(str(path), path.parent, is_lenient=is_lenient)
    document.add_file(path)
    if not document.problems or document.entries:
        _override(document, _texts(overrides), "--set")
        _override(document, _texts(swaps), "--set")
    return _case(document)


def loads(
    text: str,
    overrides: Changes = (),
    *,
    label: str = "case",
    folder: str | Path = ".",
) -> Case:
    """
    Case of a text.

    Parameters
    ----------
    text : str
        TOML.
    overrides : mapping, str or iterable of str
        As in `load`.
    label : str
        What messages call the text.
    folder : str or Path
        Where part files are looked for.

    Returns
    -------
    Case
        Complete, in SI.

    Raises
    ------
    CaseError
        With every problem, if there is any.
    """
    document = Document(label, Path(folder))
    document.add_text(text, label)
    if not document.problems or document.entries:
        _override(document, _texts(overrides), "--set")
    return _case(document)


def amend(case: Case, changes: Mapping[str, Any], *, is_lenient: bool = False) -> Case:
    """
    The same engine with some fields given anew; defaults follow them.

    Parameters
    ----------
    case : Case
        Where to begin.
    changes : mapping of str to object
        Dotted path to text as in a case file, or to a number in SI (angles in radians).
    is_lenient : bool
        As in `load`.

    Returns
    -------
    Case
        A new one.

    Raises
    ------
    CaseError
        With every problem, if there is any.
    """
    document = Document(case.name or "case", Path(), is_lenient=is_lenient)
    document.add_entries(case.given, document.label)
    document.overridden |= case.overridden
    # A value that is moved within its band stands beside all that was given.
    _override(document, _texts(changes), "amend", is_replacing=not is_lenient)
    return _case(document)


def _override(
    document: Document, texts: list[str], place: str, *, is_replacing: bool = True
) -> None:
    """Take in changes: each replaces what it contradicts, and lifts go with rocker ratios."""
    named = {text.partition("=")[0].strip() for text in texts}
    is_timing = any(path in redundancy.CAM for path in named)
    before = redundancy.timing(document, _draft) if is_timing else None
    for text in texts:
        path, _, value = (part.strip() for part in text.partition("="))
        if is_replacing:
            redundancy.replace(document, path, value, named, place, _draft)
        if rockers.is_touched(path):
            rockers.change(document, text, named, place, _draft)
        else:
            document.override([text], place)
    after = redundancy.timing(document, _draft) if before else None
    if before and after:
        redundancy.tell_timing(document, named, place, before, after)


def _draft(document: Document) -> Draft:
    return Draft(document, RULES, COMPLETIONS)


def _texts(changes: Changes) -> list[str]:
    """Changes as ``path=value``, numbers with the SI unit of their field."""
    if isinstance(changes, str):
        return [changes]
    if not isinstance(changes, Mapping):
        return list(changes)
    known = dict(walk(Case))
    return [f"{path}={_text(known.get(path), value)}" for path, value in changes.items()]


def _text(spot: Field | None, value: Any) -> str:
    is_number = spot is not None and spot.kind in ("value", "values", "pairs")
    if spot is None or not is_number or isinstance(value, (str, bool)):
        return str(value)
    return in_si(spot, value)


def assemble(entries: Mapping[str, Any], label: str = "case") -> Case:
    """
    Case of dotted paths and what a file would say there.

    Parameters
    ----------
    entries : mapping of str to object
        Path to value, as `Case.given` holds them.
    label : str
        What messages call them.

    Returns
    -------
    Case
        Complete, in SI.

    Raises
    ------
    CaseError
        With every problem, if there is any.
    """
    known = {path: spot for path, spot in walk(Case) if spot.part is None}
    document = Document(label, Path())
    for path, value in entries.items():
        if path in known:
            document.add_entries({path: value}, label)
        else:
            document.override([f"{path}={value}"], label)
    return _case(document)


def _case(document: Document) -> Case:
    if document.problems and not document.entries:
        raise CaseError(document.problems)
    draft = _draft(document)
    draft.resolve_all()
    checks.run(draft)
    return Case(
        **finished(draft),
        assumed=assumptions(draft),
        bands=draft.bands,
        warnings=(*document.notes, *draft.warnings),
        given=dict(document.entries),
        overridden=frozenset(document.overridden) & document.entries.keys(),
    )


def finished(draft: Draft) -> dict[str, Any]:
    """
    Values of a draft, part in part.

    Parameters
    ----------
    draft : Draft
        Resolved and checked.

    Returns
    -------
    dict of str to object
        By attribute of the draft's model. [SI]

    Raises
    ------
    CaseError
        With every problem, if there is any.
    """
    if draft.problems:
        raise CaseError(sorted(draft.problems, key=_order))
    return _nested(draft.document.model, draft.resolve_all(), "")


def assumptions(draft: Draft) -> tuple[Assumed, ...]:
    """
    Every default that was used.

    Parameters
    ----------
    draft : Draft
        Resolved.

    Returns
    -------
    tuple of Assumed
        In the order of the file.
    """
    order = {path: i for i, (path, _) in enumerate(walk(draft.document.model))}
    return tuple(draft.assumed[path] for path in sorted(draft.assumed, key=order.__getitem__))


def _order(problem: Any) -> tuple[str, int, str]:
    file, _, line = problem.place.rpartition(":")
    return (file, int(line), "") if line.isdigit() else (problem.place, 0, "")


def _nested(model: type[Part], values: Mapping[str, Any], prefix: str) -> dict[str, Any]:
    """Values of a part by attribute; parts that nobody gave stay None."""
    tree: dict[str, Any] = {}
    for key, spot in fields_of(model).items():
        path = f"{prefix}{key}"
        if spot.part is None:
            tree[spot.name] = values[path]
            continue
        inner = _nested(spot.part, values, f"{path}.")
        absent = spot.optional and all(value is None for value in inner.values())
        tree[spot.name] = None if absent else spot.part(**inner)
    return tree
