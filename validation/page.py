"""The page that shows every check: `README.md`, made from what the checks found last."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from enginesim.report.files import write
from validation import ledger
from validation.folder import ROOT, Folder, every
from validation.judgement import FAILED, MISS, WITHIN, Row

_HEAD = """\
# How far can a prediction be trusted?

<!-- Written by `python -m validation`; do not edit. -->

Every check of the program against something that it did not make itself: exact solutions,
independent programs, published tables and bands, standards. A test in `tests/` must pass. A check
here may fall short, and then it stays in the table as a miss, with what we think the cause is.
Limits come from the uncertainty of what is compared with, never from what happened to be found;
nothing is tuned for a single check.

`python -m validation` runs all of this again; `--only NAME` one check, `--fast` a quick part that
writes nothing. Each check's folder has its sources, data, limits and notes.
"""


def text(folders: Sequence[Folder], found: Mapping[str, ledger.Entry]) -> str:
    """The page as Markdown."""
    rows = [row for folder in folders if folder.name in found for row in found[folder.name].rows]
    parts = [_HEAD, _summary(folders, found, rows), _table(folders, found)]
    parts += [_misses(folders, rows), _charts(folders, found), _sources(folders)]
    return "\n".join(part for part in parts if part)


def made() -> str:
    """The page as it should be now."""
    folders = every()
    kept = {folder.name: ledger.load(folder.path) for folder in folders}
    return text(folders, {name: entry for name, entry in kept.items() if entry is not None})


def save() -> None:
    """Write the page, whole or not at all."""
    write(ROOT / "README.md", made())


def _cell(words: str) -> str:
    return " ".join(words.split()).replace("|", "\\|")


def _summary(
    folders: Sequence[Folder], found: Mapping[str, ledger.Entry], rows: Sequence[Row]
) -> str:
    count = Counter(row.verdict for row in rows)
    lines = [
        f"**{count[WITHIN]} of {len(rows)} rows are within their limits, {count[MISS]} miss"
        + (f", {count[FAILED]} did not run" if count[FAILED] else "")
        + "**.\n",
        "| Check | Question | Within | Miss | Found on |",
        "|---|---|---|---|---|",
    ]
    for folder in folders:
        if folder.name not in found:
            lines.append(f"| {folder.title} | {_cell(folder.question)} | | | not yet run |")
            continue
        entry = found[folder.name]
        here = Counter(row.verdict for row in entry.rows)
        when = entry.date + (f" with physics {entry.physics}, now older" if entry.is_stale else "")
        lines.append(
            f"| [{folder.title}](#{folder.name.replace('_', '-')}) | {_cell(folder.question)} "
            f"| {here[WITHIN]} | {here[MISS] + here[FAILED]} | {when} |"
        )
    return "\n".join(lines) + "\n"


def _table(folders: Sequence[Folder], found: Mapping[str, ledger.Entry]) -> str:
    lines = [
        "## The table\n",
        "| Check | Source | Expected | Found | Limit | Why that limit | Verdict |",
        "|---|---|---|---|---|---|---|",
    ]
    for folder in folders:
        for row in found[folder.name].rows if folder.name in found else ():
            source = folder.sources[row.source].short if row.source in folder.sources else ""
            verdict = row.verdict if row.verdict == WITHIN else f"**{row.verdict}**"
            cells = (
                f"{folder.title}: {row.what}",
                *(source, row.expected, row.found, row.limit, row.why, verdict),
            )
            lines.append("| " + " | ".join(_cell(cell) for cell in cells) + " |")
    return "\n".join(lines) + "\n"


def _misses(folders: Sequence[Folder], rows: Sequence[Row]) -> str:
    missed = [row for row in rows if row.verdict != WITHIN]
    if not missed:
        return ""
    known = {folder.name: folder for folder in folders}
    lines = ["## The misses, and what we think causes each\n"]
    for row in missed:
        # What is thought of it may change without a new run.
        limit = known[row.check].limits.get(row.measure)
        thought = (limit.cause if limit is not None else "") or row.cause
        cause = _cell(thought) or f"See [notes]({row.check}/notes.md)."
        name = f"{known[row.check].title}: {row.what}"
        lines.append(f"- **{name}**: found {row.found}, limit {row.limit}. {cause}")
    return "\n".join(lines) + "\n"


def _charts(folders: Sequence[Folder], found: Mapping[str, ledger.Entry]) -> str:
    lines = ["## Each check in a chart\n"]
    for folder in folders:
        if folder.name in found:
            anchor = folder.name.replace("_", "-")
            lines += [
                f'<a id="{anchor}"></a>\n',
                f"### {folder.title}\n",
                f"{folder.question} [Notes]({folder.name}/notes.md)\n",
                f"![{folder.title}]({folder.name}/figure.png)\n",
            ]
    return "\n".join(lines)


def _sources(folders: Sequence[Folder]) -> str:
    known = {source.in_words() for folder in folders for source in folder.sources.values()}
    return "\n".join(["## Sources\n", *(f"- {words}" for words in sorted(known))]) + "\n"
