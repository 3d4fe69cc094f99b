"""
What is doubtful about the engines of a study, each thing once?

Source: warnings of the cases, and what their results say of knock.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from enginesim.study.trials import Outcome

_NUMBER = re.compile(r"[-+]?\d+(?:[.,]\d+)*")


def grouped(outcome: Outcome) -> tuple[str, ...]:
    """
    Warn of each thing once, and say of how many engines it holds.

    Parameters
    ----------
    outcome : Outcome
        The engines; those that were ruled out or not reached have no say.

    Returns
    -------
    tuple of str
        Warnings that differ in their numbers alone are one: that of the first engine stands for it.
    """
    trials = [t for t in outcome.trials if t.status not in ("ruled out", "unfinished")]
    first: dict[str, str] = {}
    texts: dict[str, set[str]] = {}
    count: dict[str, int] = {}
    for trial in trials:
        for text in dict.fromkeys(trial.warnings):
            key = _NUMBER.sub("#", text)
            first.setdefault(key, text)
            texts.setdefault(key, set()).add(text)
            count[key] = count.get(key, 0) + 1
    lines = []
    for key, text in first.items():
        n = count[key]
        if len(trials) == 1:
            lines.append(text)
        elif len(texts[key]) > 1:
            more = f"{n - 1} more engine{'s' if n > 2 else ''}, with other figures"
            lines.append(f"{text} - and {more}")
        else:
            who = "all engines" if n == len(trials) else f"{n} engine{'s' if n > 1 else ''}"
            lines.append(f"{text} - {who}")
    return tuple(lines)
